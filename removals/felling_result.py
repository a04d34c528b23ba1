"""What a felling plan says: its figures, its verdict and the sentences for the manager and the crew."""

from dataclasses import dataclass
from enum import StrEnum

from removals.cut import CutGeometry
from removals.place import Place
from removals.weight import GreenMass


class Verdict(StrEnum):
    ADEQUATE = "adequate"
    MARGINAL = "marginal"
    NOT_ADEQUATE = "not adequate"
    OUTSIDE = "outside the method"


@dataclass(frozen=True, slots=True)
class Interval:
    """Low and high are the ends of the uncertain inputs taken together."""

    low: float
    nominal: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StopWind:
    """Gusts at which the plan just holds, m/s.

    `nominal_ms`: against the fall at the crown's centre, where the pull is just enough; `low_ms`: the same at the
    unfavourable ends; `across_ms`: across the fall, where the hinge just holds sideways at those ends. `printed_ms`: the
    least of the two ends, for an instrument held at 2 m. None when still air is already too much; the first three also
    when no wind counts there: no crown area is given (`counted` False), or no wind across is reckoned with.
    """

    counted: bool
    nominal_ms: float | None
    low_ms: float | None
    printed_ms: float | None
    across_ms: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Forces:
    """Figures about the hinge, nominal unless they are an interval. Without a line they are those of wedges or a jack.

    `line_off_lay_deg` and `line_side_moment_nm` are positive to the right of the lay.
    """

    weight_moment_nm: float
    wind_force_n: float
    wind_moment_nm: float
    hinge_moment_nm: float
    arm_m: float
    line_angle_deg: float | None
    needed_n: Interval
    needed_without_hinge_n: float
    needed_thicker_hinge_n: float
    stop_wind: StopWind
    side_moment_nm: float
    side_capacity_nm: float
    side_holds_at_ends: bool
    held_share: float
    wedge_lift_m: float | None
    line_off_lay_deg: float = 0.0
    line_side_moment_nm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LineRating:
    """Least working load limit of line and gear, and the load on a redirect where the angle of its legs is known, N."""

    least_working_load_n: float
    redirect_load_n: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FellingPlanResult:
    """A plan. A figure is None when it does not hold: the forces hold only inside the method."""

    method_version: str
    verdict: Verdict
    reasons: tuple[str, ...]
    changes: tuple[str, ...]
    conditions: tuple[str, ...]
    alternatives: tuple[str, ...]
    caution: str
    cut: CutGeometry | None
    mass: GreenMass | None
    forces: Forces | None
    available_n: Interval
    rating: LineRating | None
    place: Place
    butt: str
