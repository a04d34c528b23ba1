"""A felling plan as one JSON object in and out; keys carry their units.

In: the keys of `FIELDS` with `notch` and `species_group`; `wind_ms` is the gust against the fall, heights are above the
ground, leans are those of the centre of mass, `green_mass_kg` wins over the species group. An `anchor_height_m` and an
`anchor_distance_m` of null with a `pull_n` of 0 mean that there is no line.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from removals.cut import DBH_TO_CUT_HIGH, DBH_TO_CUT_LOW, NotchKind
from removals.felling_input import (
    DESIGN_FACTOR,
    ZONE_MULTIPLE,
    FellingInput,
    Health,
    PullLine,
    Site,
    drag_range,
)
from removals.felling_result import FellingPlanResult, Forces
from removals.lines import line_by_force
from removals.weight import GROUPS, GreenMass, entered_mass, group_named, mass_by_moisture
from removals.woods import MOR_SPREAD


@dataclass(frozen=True, slots=True)
class Field:
    """A number: possible values lie from `low` (itself left out when `above`) to `high`."""

    key: str
    low: float
    high: float
    above: bool = False
    required: bool = True

    def allows(self, value: float) -> bool:
        return (value > self.low if self.above else value >= self.low) and value <= self.high

    def words(self) -> str:
        return f"{'more than' if self.above else 'at least'} {self.low:g} and at most {self.high:g}"


FIELDS = (
    Field("diameter_cm", 0, 1000, above=True),
    Field("height_m", 0, 130, above=True),
    Field("crown_spread_m", 0, 100),
    Field("crown_base_m", 0, 130),
    Field("green_mass_kg", 0, 500_000, above=True, required=False),
    Field("moisture_pct", 0, 400, required=False),
    Field("back_lean_m", -100, 100),
    Field("side_lean_m", -100, 100),
    Field("notch_share", 0, 1, above=True),
    Field("opening_deg", 0, 180, above=True),
    Field("hinge_share", 0, 1, above=True),
    Field("cut_height_m", 0, 100),
    Field("mor_mpa", 0, 300, above=True),
    Field("wind_ms", 0, 120),
    Field("crown_area_m2", 0, 5000),
    Field("drag", 0, 3),
    Field("crown_centre_m", 0, 130),
    Field("anchor_height_m", 0, 130, above=True),
    Field("anchor_distance_m", 0, 1000, above=True),
    Field("pull_n", 0, 1_000_000),
    Field("design_factor", 1, 10),
    Field("com_height_m", 0, 130, above=True, required=False),
    Field("puller_height_m", -100, 100, required=False),
    Field("lay_deg", 0, 360, required=False),
    Field("zone_multiple", 0, 20, above=True, required=False),
)
LINE_KEYS = ("anchor_height_m", "anchor_distance_m")
FORCE_KEYS = (
    *("weight_moment_nm", "wind_force_n", "wind_moment_nm", "hinge_moment_nm"),
    *("line_angle_deg", "lever_arm_m", "needed_n"),
)
KEYS = frozenset({field.key for field in FIELDS} | {"notch", "species_group"})

Numbers = Mapping[str, float]


def input_from_json(data: object) -> FellingInput | list[str]:
    """The input of a plan, or one sentence for each field that is missing or impossible."""
    if not isinstance(data, dict):
        return ["The input must be one JSON object."]
    errors = [*_field_errors(data)]
    if errors:
        return errors
    numbers = {field.key: float(data[field.key]) for field in FIELDS if data.get(field.key) is not None}
    errors = [*_contradictions(numbers)]
    return errors or _input(numbers, NotchKind(data["notch"]), data.get("species_group"))


def _field_errors(data: Mapping[str, object]) -> Iterator[str]:
    yield from (f"{key} is not a key of a felling plan." for key in data if key not in KEYS)
    for field in FIELDS:
        yield from _number_errors(field, data)
    yield from _notch_errors(data.get("notch"))
    yield from _group_errors(data)


def _number_errors(field: Field, data: Mapping[str, object]) -> Iterator[str]:
    value = data.get(field.key)
    if value is None:
        if field.required and not (field.key in LINE_KEYS and _without_line(data)):
            yield f"{field.key} is missing."
    elif not _is_number(value):
        yield f"{field.key} must be a number, not {value!r}."
    elif not field.allows(float(value)):  # type: ignore[arg-type]
        yield f"{field.key} is {value}; it must be {field.words()}."


def _is_number(value: object) -> bool:
    """A finite number; True and False are none, though Python counts with them."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return abs(value) < 1e300 and math.isfinite(value)


def _without_line(data: Mapping[str, object]) -> bool:
    given = all(key in data and data[key] is None for key in LINE_KEYS)
    return given and data.get("pull_n") == 0


def _notch_errors(value: object) -> Iterator[str]:
    kinds = ", ".join(NotchKind)
    if value is None:
        yield f"notch is missing; it is one of: {kinds}."
    elif value not in list(NotchKind):
        yield f"notch is {value!r}; it must be one of: {kinds}."


def _group_errors(data: Mapping[str, object]) -> Iterator[str]:
    group = data.get("species_group")
    if group is not None and not (isinstance(group, str) and group.strip().lower() in GROUPS):
        names = ", ".join(row.name for row in GROUPS.values())
        yield f"species_group is {group!r}; it must be one of: {names}."
    if data.get("green_mass_kg") is not None:
        return
    for key in ("species_group", "moisture_pct"):
        if data.get(key) is None:
            yield f"{key} is missing; without green_mass_kg the weight is taken from species_group and moisture_pct."


def _contradictions(numbers: Numbers) -> Iterator[str]:
    """Fields that are possible alone and impossible together."""
    height_m, cut_m = numbers["height_m"], numbers["cut_height_m"]
    for key in ("crown_base_m", "cut_height_m", "com_height_m"):
        if numbers.get(key, 0.0) >= height_m:
            yield f"{key} is {numbers[key]:g}; it must be less than height_m, {height_m:g}."
    for key in ("crown_centre_m", "anchor_height_m"):
        if numbers.get(key, 0.0) > height_m:
            yield f"{key} is {numbers[key]:g}; it cannot be above height_m, {height_m:g}."
    for key in ("crown_centre_m", "anchor_height_m", "com_height_m"):
        if numbers.get(key, math.inf) <= cut_m:
            yield f"{key} is {numbers[key]:g}; it must be above cut_height_m, {cut_m:g}."
    if numbers["notch_share"] + numbers["hinge_share"] >= 1:
        yield "notch_share and hinge_share leave nothing for the back cut."


def _input(numbers: Numbers, notch: NotchKind, species_group: str | None) -> FellingInput:
    mor_pa, drag = 1e6 * numbers["mor_mpa"], numbers["drag"]
    drag_low, drag_high = drag_range(drag)
    return FellingInput(
        diameter_m=numbers["diameter_cm"] / 100,
        notch=notch,
        notch_share=numbers["notch_share"],
        opening_deg=numbers["opening_deg"],
        hinge_share=numbers["hinge_share"],
        cut_height_m=numbers["cut_height_m"],
        height_m=numbers["height_m"],
        crown_spread_m=numbers["crown_spread_m"],
        crown_base_m=numbers["crown_base_m"],
        mass=_mass(numbers, species_group),
        back_lean_m=numbers["back_lean_m"],
        side_lean_m=numbers["side_lean_m"],
        mor_pa=mor_pa,
        mor_low_pa=(1 - MOR_SPREAD) * mor_pa,
        mor_high_pa=(1 + MOR_SPREAD) * mor_pa,
        wind_against_ms=numbers["wind_ms"],
        crown_area_m2=numbers["crown_area_m2"],
        drag=drag,
        drag_low=drag_low,
        drag_high=drag_high,
        crown_centre_m=numbers["crown_centre_m"],
        line=_line(numbers),
        design_factor=numbers.get("design_factor", DESIGN_FACTOR),
        com_height_m=numbers.get("com_height_m"),
        health=Health(splits_easily=species_group is None or not group_named(species_group).softwood),
        site=Site(lay_deg=numbers.get("lay_deg"), zone_multiple=numbers.get("zone_multiple", ZONE_MULTIPLE)),
    )


def _mass(numbers: Numbers, species_group: str | None) -> GreenMass:
    entered_kg = numbers.get("green_mass_kg")
    if entered_kg is not None or species_group is None:
        return entered_mass(numbers["green_mass_kg"])
    # One diameter is given and stands for both; where the stem swells at the cut this is heavy, and the range says how far.
    return mass_by_moisture(
        group_named(species_group),
        numbers["diameter_cm"],
        numbers["height_m"],
        numbers["moisture_pct"],
        (1 / DBH_TO_CUT_HIGH, 1.0, 1 / DBH_TO_CUT_LOW),
    )


def _line(numbers: Numbers) -> PullLine | None:
    if "anchor_height_m" not in numbers or "anchor_distance_m" not in numbers:
        return None
    return line_by_force(
        numbers["pull_n"],
        numbers["anchor_height_m"],
        numbers["anchor_distance_m"],
        numbers.get("puller_height_m", 0.0),
    )


def result_to_json(result: FellingPlanResult) -> dict[str, Any]:
    """The figures of a plan by their keys; a figure that does not hold is None."""
    cut, mass, forces = result.cut, result.mass, result.forces
    return {
        "notch_depth_cm": cut and 100 * cut.notch_depth_m,
        "hinge_thickness_cm": cut and 100 * cut.hinge_thickness_m,
        "hinge_length_cm": cut and 100 * cut.hinge_length_m,
        "back_cut_cm": cut and 100 * cut.back_cut_m,
        "back_cut_height_cm": cut and 100 * cut.back_cut_height_m,
        "green_mass_kg": mass and mass.kg,
        "weight_n": mass and mass.weight_n,
        "stem_behind_hinge_m": cut and cut.stem_behind_hinge_m,
        **_forces_json(forces),
        "available_n": result.available_n.nominal,
        "stop_wind_ms": forces and forces.stop_wind.nominal_ms,
        "stop_wind_printed_ms": forces and forces.stop_wind.printed_ms,
        "verdict": str(result.verdict),
        "reasons": _reasons(result),
        "drop_zone_m": result.place.drop_zone_m,
        "retreat_bearings_deg": [retreat.bearing_deg for retreat in result.place.retreats] or None,
    }


def _reasons(result: FellingPlanResult) -> list[str]:
    instead = [f"Instead: {way[:1].lower()}{way[1:]}" for way in result.alternatives]
    return [*result.reasons, *result.changes, *instead, *result.conditions]


def _forces_json(forces: Forces | None) -> dict[str, float | None]:
    if forces is None:
        return dict.fromkeys(FORCE_KEYS)
    by_line = forces.line_angle_deg is not None
    return {
        "weight_moment_nm": forces.weight_moment_nm,
        "wind_force_n": forces.wind_force_n,
        "wind_moment_nm": forces.wind_moment_nm,
        "hinge_moment_nm": forces.hinge_moment_nm,
        "line_angle_deg": forces.line_angle_deg,
        "lever_arm_m": forces.arm_m if by_line else None,
        "needed_n": forces.needed_n.nominal if by_line else None,
    }
