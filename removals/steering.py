"""How well a city's crews steer: planned lays beside the bearings the trees really took.

The errors become the half-angle of the next plan's swath. Until twelve fellings are known it is never narrower than the
default; after that never narrower than a compass is read. All three numbers are this program's own.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from removals.felling_input import STEERING_ERROR_DEG

OUTCOMES_ENOUGH = 12
COVERED_SHARE = 0.95
COMPASS_DEG = 5.0


@dataclass(frozen=True, slots=True)
class Outcome:
    """One felling: its order, the lay that was planned and the bearing of the stem on the ground, true north."""

    order: str
    planned_deg: float
    actual_deg: float

    @property
    def error_deg(self) -> float:
        return signed_error_deg(self.planned_deg, self.actual_deg)


@dataclass(frozen=True, slots=True)
class PlotRow:
    """An outcome for the plot: `actual_deg` may exceed 0 to 360, so that it lies beside its plan, not across the page."""

    order: str
    planned_deg: float
    actual_deg: float
    error_deg: float
    within: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Steering:
    """What the outcomes say. `mean_deg` is positive when trees fall to the right of the lay; None without outcomes.

    `covering_deg` is the error that 95 % of fellings stay within; `error_deg` what a plan takes by default.
    """

    count: int
    mean_deg: float | None
    covering_deg: float | None
    error_deg: float
    sentence: str
    rows: tuple[PlotRow, ...]


def signed_error_deg(planned_deg: float, actual_deg: float) -> float:
    """From the lay to the bearing it took, over −180 up to and with 180; positive clockwise, to the right."""
    turn = (actual_deg - planned_deg) % 360.0
    return turn - 360.0 if turn > 180.0 else turn


def steering(outcomes: Sequence[Outcome], default_deg: float = STEERING_ERROR_DEG) -> Steering:
    """The city's own steering error from all outcomes that are known."""
    errors = [outcome.error_deg for outcome in outcomes]
    covering_deg = covering(errors) if errors else None
    error_deg = max(default_deg if len(errors) < OUTCOMES_ENOUGH else COMPASS_DEG, covering_deg or 0.0)
    return Steering(
        count=len(errors),
        mean_deg=mean_on_circle_deg(errors),
        covering_deg=covering_deg,
        error_deg=error_deg,
        sentence=_sentence(len(errors), error_deg, default_deg),
        rows=tuple(_row(outcome, error_deg) for outcome in outcomes),
    )


def mean_on_circle_deg(errors_deg: Sequence[float]) -> float | None:
    """Direction of the sum of unit vectors; None without errors, or when they cancel out."""
    east = sum(math.sin(math.radians(each)) for each in errors_deg)
    north = sum(math.cos(math.radians(each)) for each in errors_deg)
    if math.hypot(east, north) < 1e-9:
        return None
    return math.degrees(math.atan2(east, north))


def covering(errors_deg: Sequence[float]) -> float:
    """The size of error that the next felling stays within in 95 of 100 cases.

    The order statistic of rank 0.95 (n + 1), rounded up: distribution-free, as for a one-sided prediction interval
    (Wilks 1941). Under 19 errors that rank lies beyond them, and the largest one stands in.
    """
    sizes = sorted(abs(each) for each in errors_deg)
    # Rounded first: 0.95 times 20 is a hair over 19 in binary.
    rank = math.ceil(round(COVERED_SHARE * (len(sizes) + 1), 9))
    return sizes[min(rank, len(sizes)) - 1]


def _row(outcome: Outcome, error_deg: float) -> PlotRow:
    error = outcome.error_deg
    beside_deg = outcome.planned_deg + error
    return PlotRow(outcome.order, outcome.planned_deg, beside_deg, error, abs(error) <= error_deg)


def _sentence(count: int, error_deg: float, default_deg: float) -> str:
    if count < OUTCOMES_ENOUGH:
        return (
            f"{error_deg:.0f}° to either side: {count} of the {OUTCOMES_ENOUGH} outcomes are known that an error of the "
            f"city's own takes; until then it is never under {default_deg:.0f}°."
        )
    return (
        f"{error_deg:.0f}° to either side: 95 % of this city's {count} known fellings stay within it; "
        f"never under {COMPASS_DEG:.0f}°, as a compass is read."
    )
