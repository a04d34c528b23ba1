"""A refusal for every bound of the method, and none just inside it."""

import math
from dataclasses import replace
from typing import Any

import pytest

from removals.bounds import METHOD_BOUNDS, Area, Bounds, Range, approach_distance_m, outside_reasons
from removals.cut import NotchKind
from removals.felling_input import FellingInput, Haul, Refusal
from tests.removals.felling_cases import STRAIGHT, tree, tree_with_health, tree_with_line, tree_with_site

COM_Z_M = 0.45 * 15 - 0.8


def leaning(back_deg: float = 0.0, side_deg: float = 0.0, **changes: Any) -> FellingInput:
    back_m, side_m = (COM_Z_M * math.tan(math.radians(angle)) for angle in (back_deg, side_deg))
    return tree(back_lean_m=back_m, side_lean_m=side_m, **changes)


def sentences(inp: FellingInput, bounds: Bounds = METHOD_BOUNDS) -> str:
    return " ".join(reason.sentence for reason in outside_reasons(inp, bounds))


def test_the_invented_tree_lies_inside() -> None:
    assert outside_reasons(STRAIGHT) == ()


RANGES = [
    ("diameter_m", (0.15, 1.00), (0.149, 1.001), "diameter"),
    ("height_m", (4.0, 40.0), (3.99, 40.01), "high"),
    ("notch_share", (0.20, 1 / 3, 1 / 3 + 9e-10), (0.199, 0.3334), "notch share"),
    ("hinge_share", (0.10, 0.15), (0.099, 0.151), "hinge share"),
    ("opening_deg", (45.0, 70.0), (44.9, 70.1), "opening"),
    ("cut_height_m", (0.1, 1.2), (0.09, 1.21), "cut height"),
    ("wind_against_ms", (0.0, 9.0), (9.1,), "gust"),
    ("wind_side_ms", (9.0,), (9.1,), "gust"),
    ("gust_ms", (9.0,), (9.1,), "gust"),
]


@pytest.mark.parametrize(("field", "value"), [(field, value) for field, inside, _, _ in RANGES for value in inside])
def test_the_ends_of_each_range_belong_to_the_method(field: str, value: float) -> None:
    assert outside_reasons(tree(**{field: value})) == ()


@pytest.mark.parametrize(
    ("field", "value", "word"), [(field, value, word) for field, _, beyond, word in RANGES for value in beyond]
)
def test_beyond_each_range_is_outside(field: str, value: float, word: str) -> None:
    assert word in sentences(tree(**{field: value}))


@pytest.mark.parametrize(("opening_deg", "inside"), [(69.9, False), (70.0, True), (90.0, True), (90.1, False)])
def test_open_face_has_its_own_opening(opening_deg: float, inside: bool) -> None:
    assert (outside_reasons(tree(notch=NotchKind.OPEN_FACE, opening_deg=opening_deg)) == ()) is inside


@pytest.mark.parametrize(
    ("inp", "word"),
    [
        (leaning(back_deg=10.1), "back lean"),
        (leaning(back_deg=-15.1), "forward lean"),
        (leaning(side_deg=10.1), "side lean"),
        (leaning(side_deg=-10.1), "side lean"),
    ],
)
def test_too_much_lean_is_outside(inp: FellingInput, word: str) -> None:
    assert word in sentences(inp)


@pytest.mark.parametrize("inp", [leaning(back_deg=9.9), leaning(back_deg=-14.9), leaning(side_deg=9.9)])
def test_lean_within_the_method_is_inside(inp: FellingInput) -> None:
    assert outside_reasons(inp) == ()


@pytest.mark.parametrize(("haul", "inside"), [(Haul.HANDS, False), (Haul.WINCH, True), (Haul.UNSTATED, True)])
def test_hands_may_not_pull_a_back_lean_over_five_degrees(haul: Haul, inside: bool) -> None:
    inp = leaning(back_deg=5.5, line=tree_with_line(haul=haul).line)
    assert (outside_reasons(inp) == ()) is inside


def test_hands_may_pull_a_back_lean_of_less() -> None:
    assert outside_reasons(leaning(back_deg=4.9, line=tree_with_line(haul=Haul.HANDS).line)) == ()


@pytest.mark.parametrize(
    ("forward_deg", "splits", "bored", "inside"),
    [
        (5.5, False, False, False),
        (5.5, False, True, True),
        (4.5, False, False, True),
        (3.5, True, False, False),
        (3.5, True, None, True),
        (2.5, True, False, True),
    ],
)
def test_forward_lean_takes_a_bored_cut(forward_deg: float, splits: bool, bored: bool | None, inside: bool) -> None:
    health = replace(STRAIGHT.health, splits_easily=splits)
    inp = leaning(back_deg=-forward_deg, health=health, bored_back_cut=bored)
    assert (outside_reasons(inp) == ()) is inside


@pytest.mark.parametrize("refusal", Refusal)
def test_every_condition_seen_at_a_look_is_refused(refusal: Refusal) -> None:
    assert str(refusal) in sentences(tree_with_health(refusals=(refusal,)))


@pytest.mark.parametrize("refusal", [Refusal.PALM, Refusal.SEVERAL_STEMS])
def test_weight_does_not_hold_for_another_build(refusal: Refusal) -> None:
    assert outside_reasons(tree_with_health(refusals=(refusal,)))[0].area is Area.WEIGHT


@pytest.mark.parametrize(
    ("health", "inside"),
    [
        ({"sound_shell_share": 0.30}, True),
        ({"sound_shell_share": 0.29}, False),
        ({"hinge_decayed": True}, False),
        ({"dead": True, "months_dead": 12.0}, True),
        ({"dead": True, "months_dead": 12.1}, False),
        ({"dead": True}, False),
        ({"genus": "Fraxinus", "dieback_share": 0.5}, False),
        ({"genus": "Ulmus", "dieback_share": 0.5, "months_dead": 3.0}, True),
        ({"genus": "Fraxinus", "dieback_share": 0.49}, True),
        ({"genus": "Quercus", "dieback_share": 0.8}, True),
        ({"genus": "Fraxinus"}, True),
    ],
)
def test_decay_and_death(health: dict[str, Any], inside: bool) -> None:
    assert (outside_reasons(tree_with_health(**health)) == ()) is inside


@pytest.mark.parametrize(
    ("site", "inside"),
    [
        ({"zone_multiple": 1.0}, True),
        ({"zone_multiple": 0.9}, False),
        ({"slope_pct": 35.0}, True),
        ({"slope_pct": 36.0}, False),
        ({"clear_length_m": 16.5}, True),
        ({"clear_length_m": 16.4}, False),
        ({"wire_distance_m": 22.5}, True),
        ({"wire_distance_m": 22.4}, False),
        ({"wire_gap_m": 3.1, "wire_kv": 11.0}, True),
        ({"wire_gap_m": 3.0, "wire_kv": 11.0}, False),
        ({"wire_gap_m": 50.0}, False),
    ],
)
def test_room_slope_and_wires(site: dict[str, Any], inside: bool) -> None:
    assert (outside_reasons(tree_with_site(**site)) == ()) is inside


def test_small_drop_zone_takes_away_the_place() -> None:
    assert outside_reasons(tree_with_site(zone_multiple=0.5))[0].area is Area.PLACE


def test_every_broken_bound_has_its_own_sentence() -> None:
    inp = tree(diameter_m=1.2, height_m=50.0, wind_against_ms=12.0)
    assert [reason.area for reason in outside_reasons(inp)] == [Area.CUT, Area.FORCES, Area.FORCES]


def test_a_city_may_tighten_a_bound() -> None:
    strict = METHOD_BOUNDS.tightened(height_m=Range(4.0, 12.0))
    assert "12 m" in sentences(STRAIGHT, strict)


@pytest.mark.parametrize("wider", [Range(4.0, 41.0), Range(3.0, 40.0)])
def test_a_city_may_not_loosen_a_bound(wider: Range) -> None:
    with pytest.raises(ValueError, match="never loosened"):
        METHOD_BOUNDS.tightened(height_m=wider)


def test_approach_distance_is_flat_to_fifty_kilovolts() -> None:
    assert approach_distance_m(0.4) == approach_distance_m(50) == pytest.approx(3.048)
