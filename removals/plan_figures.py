"""The figures of a kept plan as a page shows them: in both units, the reader's first, each with its formula."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from inventory import units as u
from inventory.units import M_PER_FT, N_PER_LBF, Units
from removals.felling_json import result_to_json
from removals.felling_result import FellingPlanResult
from removals.felling_steps import Step
from removals.place import RETREAT_DISTANCE_M

Show = Callable[[float, Units], str]


@dataclass(frozen=True, slots=True)
class Figure:
    """``figure`` is in the reader's unit, ``other`` in the other one, empty when there is only one."""

    label: str
    figure: str
    other: str = ""
    formula: str = ""
    steps: tuple[str, ...] = ()

    @property
    def both(self) -> str:
        return f"{self.figure} ({self.other})" if self.other else self.figure


@dataclass(frozen=True, slots=True)
class Chapter:
    heading: str
    figures: tuple[Figure, ...]


def moment(nm: float, units: Units) -> str:
    return f"{nm / N_PER_LBF / M_PER_FT:,.0f} lbf·ft" if units is Units.US else f"{nm:,.0f} N·m"


def arm(m: float, units: Units) -> str:
    return f"{m / M_PER_FT:.1f} ft" if units is Units.US else f"{m:.2f} m"


def metres_small(m: float, units: Units) -> str:
    return u.small_length(100 * m, units)


def angle(deg: float, units: Units) -> str:
    return f"{deg:.0f}°"


def turn(deg: float, units: Units) -> str:
    return f"{deg:.1f}°"


def percent(share: float, units: Units) -> str:
    return f"{share:.1f} %"


CHAPTERS: dict[str, dict[str, Show]] = {
    "The cut": {
        "notch_depth_cm": u.small_length,
        "hinge_thickness_cm": u.small_length,
        "hinge_length_cm": u.small_length,
        "back_cut_cm": u.small_length,
        "back_cut_height_cm": u.small_length,
        "stem_behind_hinge_m": metres_small,
    },
    "The weight": {"green_mass_kg": u.mass, "weight_n": u.force},
    "The forces": {
        "weight_moment_nm": moment,
        "wind_force_n": u.force,
        "wind_moment_nm": moment,
        "hinge_moment_nm": moment,
        "line_off_lay_deg": turn,
        "line_angle_deg": angle,
        "lever_arm_m": arm,
        "needed_n": u.force,
        "line_side_moment_nm": moment,
        "side_moment_nm": moment,
    },
    "The line and its gear": {
        "available_n": u.force,
        "held_share_pct": percent,
        "least_working_load_n": u.force,
        "redirect_load_n": u.force,
    },
    "The wind": {"stop_wind_ms": u.speed, "stop_wind_printed_ms": u.speed},
    "The ground": {
        "drop_zone_m": u.distance,
        "top_distance_m": u.distance,
        "top_side_m": u.distance,
        "keep_clear_m": u.distance,
        "approach_m": u.distance,
        "puller_least_m": u.distance,
        "retreat_distance_m": u.distance,
    },
}


def chapters(result: FellingPlanResult, steps: tuple[Step, ...], units: Units) -> tuple[Chapter, ...]:
    """Every figure that has steps, by chapter; a chapter without any is left out."""
    values, opened = _values(result), {step.key: step for step in steps}
    made = (
        Chapter(
            heading,
            tuple(_figure(opened[key], values[key], show, units) for key, show in kinds.items() if key in opened),
        )
        for heading, kinds in CHAPTERS.items()
    )
    return tuple(chapter for chapter in (*made, _retreats(result, opened)) if chapter.figures)


def both_units(value: float, show: Show, units: Units) -> tuple[str, str]:
    """In the reader's unit and in the other one; the other is empty when they read the same."""
    other = Units.METRIC if units is Units.US else Units.US
    mine, theirs = show(value, units), show(value, other)
    return mine, "" if mine == theirs else theirs


def at_a_glance(result: FellingPlanResult, units: Units) -> tuple[Figure, ...]:
    """What the crew needs in its hands: the cut, the pull, the wind, the distances; only what holds."""
    values, forces = _values(result), result.forces
    rows: list[tuple[str, float | None, Show]] = [
        ("Notch depth", values["notch_depth_cm"], u.small_length),
        ("Hinge thickness", values["hinge_thickness_cm"], u.small_length),
        ("Hinge length", values["hinge_length_cm"], u.small_length),
        ("Back cut", values["back_cut_cm"], u.small_length),
        ("Back cut raised by", values["back_cut_height_cm"], u.small_length),
        ("Pull needed", forces.needed_n.nominal if forces else None, u.force),
        ("Pull needed at worst", forces.needed_n.high if forces else None, u.force),
        ("Pull available", values["available_n"] if forces else None, u.force),
        ("Stop wind, held at 2 m", values["stop_wind_printed_ms"], u.speed),
        ("Green weight", values["green_mass_kg"], u.mass),
        ("Drop zone for people", values["drop_zone_m"], u.distance),
    ]
    return tuple(Figure(label, *both_units(value, show, units)) for label, value, show in rows if value is not None)


@dataclass(frozen=True, slots=True)
class Ends:
    """A figure at the ends of the uncertain inputs taken together and at their nominal values, in both units."""

    label: str
    low: str
    nominal: str
    high: str


def at_both_ends(result: FellingPlanResult, units: Units) -> tuple[Ends, ...]:
    """Weight, needed and available pull; empty where nothing holds. Needed without the hinge and with a thicker one too."""
    rows: list[tuple[str, float, float, float, Show]] = []
    if result.mass:
        rows.append(("Green weight", result.mass.low_kg, result.mass.kg, result.mass.high_kg, u.mass))
    if forces := result.forces:
        needed, available = forces.needed_n, result.available_n
        rows.append(("Pull needed", needed.low, needed.nominal, needed.high, u.force))
        rows.append(("Pull available", available.low, available.nominal, available.high, u.force))
    return tuple(
        Ends(label, *(_both(value, show, units) for value in (low, nominal, high)))
        for label, low, nominal, high, show in rows
    )


def hinge_words(result: FellingPlanResult, units: Units) -> str:
    """What the hinge costs: the pull without it and with one centimetre more."""
    if result.forces is None:
        return ""
    bare, thicker = result.forces.needed_without_hinge_n, result.forces.needed_thicker_hinge_n
    return (
        f"Without the strength of the hinge {_both(bare, u.force, units)} would do; "
        f"a hinge 1 cm thicker needs {_both(thicker, u.force, units)}."
    )


def _both(value: float, show: Show, units: Units) -> str:
    mine, theirs = both_units(value, show, units)
    return f"{mine} ({theirs})" if theirs else mine


def _values(result: FellingPlanResult) -> dict[str, Any]:
    values = result_to_json(result)
    if result.forces:
        values["needed_n"] = result.forces.needed_n.nominal
        values["side_moment_nm"] = result.forces.side_moment_nm
        values["line_off_lay_deg"] = result.forces.line_off_lay_deg
        values["line_side_moment_nm"] = result.forces.line_side_moment_nm
        values["held_share_pct"] = 100 * result.forces.held_share
    if result.rating:
        values["least_working_load_n"] = result.rating.least_working_load_n
        values["redirect_load_n"] = result.rating.redirect_load_n
    place = result.place
    names = ("top_distance_m", "top_side_m", "keep_clear_m", "approach_m", "puller_least_m")
    return {**values, **{name: getattr(place, name) for name in names}, "retreat_distance_m": RETREAT_DISTANCE_M}


def _figure(step: Step, value: float, show: Show, units: Units) -> Figure:
    return Figure(step.label, *both_units(value, show, units), step.formula, (step.numbers,))


def _retreats(result: FellingPlanResult, opened: dict[str, Step]) -> Chapter:
    step = opened.get("retreat_bearings_deg")
    if step is None:
        return Chapter("The retreat", ())
    return Chapter("The retreat", (Figure(step.label, retreat_words(result), "", step.formula, (step.numbers,)),))


def retreat_words(result: FellingPlanResult) -> str:
    """Both bearings; the side the tree leans to is named."""
    ways = (
        f"{way.bearing_deg:.0f}°{' (the tree leans to this side)' if way.lean_side else ''}"
        for way in result.place.retreats
    )
    return " and ".join(ways)
