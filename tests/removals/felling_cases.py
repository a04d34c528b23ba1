"""The invented tree of the felling tests, and small changes of it."""

from dataclasses import replace
from typing import Any

from removals.cut import NotchKind
from removals.felling_input import FellingInput
from removals.lines import line_by_force
from removals.weight import entered_mass

JSON_TREE: dict[str, Any] = {
    "diameter_cm": 36,
    "height_m": 15,
    "crown_spread_m": 6,
    "crown_base_m": 4,
    "green_mass_kg": 1100,
    "back_lean_m": 0,
    "side_lean_m": 0,
    "notch": "conventional",
    "notch_share": 1 / 3,
    "opening_deg": 60,
    "hinge_share": 0.1,
    "cut_height_m": 0.8,
    "mor_mpa": 66,
    "wind_ms": 5,
    "crown_area_m2": 30,
    "drag": 0.6,
    "crown_centre_m": 10,
    "anchor_height_m": 9,
    "anchor_distance_m": 22.5,
    "pull_n": 2000,
    "design_factor": 1.5,
    "lay_deg": 90,
}


def json_tree(**changes: Any) -> dict[str, Any]:
    return {**JSON_TREE, **changes}


def json_without(*keys: str) -> dict[str, Any]:
    return {key: value for key, value in JSON_TREE.items() if key not in keys}


STRAIGHT = FellingInput(
    diameter_m=0.36,
    notch=NotchKind.CONVENTIONAL,
    notch_share=1 / 3,
    opening_deg=60.0,
    hinge_share=0.10,
    cut_height_m=0.8,
    height_m=15.0,
    crown_spread_m=6.0,
    crown_base_m=4.0,
    mass=entered_mass(1100.0),
    back_lean_m=0.0,
    side_lean_m=0.0,
    mor_pa=66e6,
    mor_low_pa=0.7 * 66e6,
    mor_high_pa=1.3 * 66e6,
    wind_against_ms=5.0,
    crown_area_m2=30.0,
    drag=0.6,
    drag_low=0.35,
    drag_high=0.8,
    crown_centre_m=10.0,
    line=line_by_force(2000.0, 9.0, 22.5),
)


def tree(**changes: Any) -> FellingInput:
    return replace(STRAIGHT, **changes)


def tree_with_line(pull_n: float = 2000.0, **changes: Any) -> FellingInput:
    return replace(STRAIGHT, line=replace(line_by_force(pull_n, 9.0, 22.5), **changes))


def tree_with_site(**changes: Any) -> FellingInput:
    return replace(STRAIGHT, site=replace(STRAIGHT.site, **changes))


def tree_with_health(**changes: Any) -> FellingInput:
    return replace(STRAIGHT, health=replace(STRAIGHT.health, **changes))
