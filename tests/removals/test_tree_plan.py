import math
from dataclasses import replace

import pytest

from removals.bounds import METHOD_BOUNDS, Range
from removals.felling_input import Refusal, Site
from removals.felling_result import Verdict
from removals.lines import line_by_force
from removals.tree_plan import (
    Choices,
    Lean,
    PlumbPoint,
    StandingTree,
    default_anchor_height_m,
    default_line_distance_m,
    group_for,
    input_for_tree,
    plan_for_tree,
)
from removals.weight import long_green_mass_kg
from removals.woods import wood_for

ASH = StandingTree(
    dbh_cm=40.0,
    height_m=16.0,
    botanical="Fraxinus pennsylvanica",
    species_group="mixed hardwood",
    crown_spread_m=8.0,
    crown_base_m=4.0,
)
EAST = Choices(site=Site(lay_deg=90.0), gust_ms=6.0, wind_from_deg=90.0)


def assumed(tree: StandingTree, choices: Choices | None = None) -> str:
    return " ".join(plan_for_tree(tree, choices).assumed)


def test_diameter_at_the_cut_comes_from_the_dbh_with_its_range() -> None:
    inp = input_for_tree(ASH, Choices())
    ends = [share * inp.diameter_m for share in (inp.diameter_low_share, 1.0, inp.diameter_high_share)]
    assert ends == pytest.approx([0.40, 0.44, 0.50])
    assert "1.10" in assumed(ASH)


def test_measured_diameter_is_taken_within_three_percent() -> None:
    measured = replace(ASH, diameter_at_cut_cm=45.0)
    inp = input_for_tree(measured, Choices())
    assert (inp.diameter_m, inp.diameter_low_share, inp.diameter_high_share) == (0.45, 0.97, 1.03)
    assert "1.10" not in assumed(measured)


def test_weight_comes_from_the_dbh_and_the_species() -> None:
    expected = long_green_mass_kg(group_for(ASH), 40.0, wood_for("Fraxinus pennsylvanica"))
    assert input_for_tree(ASH, Choices()).mass.kg == pytest.approx(expected)


def test_entered_mass_wins() -> None:
    assert input_for_tree(replace(ASH, green_mass_kg=900.0), Choices()).mass.kg == 900.0
    assert "Density" not in assumed(replace(ASH, green_mass_kg=900.0, botanical=""))


@pytest.mark.parametrize(
    ("botanical", "group"), [("Fraxinus nigra", "mixed hardwood"), ("Cedrus libani", "pine"), ("", "mixed hardwood")]
)
def test_group_is_assumed_and_said(botanical: str, group: str) -> None:
    tree = replace(ASH, botanical=botanical, species_group=None)
    assert group_for(tree).name == group
    assert f"taken as {group}" in assumed(tree)


def test_crown_is_an_ellipse_between_its_base_and_the_top() -> None:
    inp = input_for_tree(ASH, Choices())
    assert inp.crown_area_m2 == pytest.approx(math.pi * 4.0 * 6.0)
    assert inp.crown_centre_m == pytest.approx(10.0)


def test_unknown_crown_is_taken_from_the_height_and_said() -> None:
    bare = replace(ASH, crown_spread_m=None, crown_base_m=None)
    inp = input_for_tree(bare, Choices())
    assert (inp.crown_spread_m, inp.crown_base_m) == pytest.approx((8.0, 4.8))
    assert "half of the height" in assumed(bare)
    assert "three tenths" in assumed(bare)


@pytest.mark.parametrize(
    ("tree", "drag"),
    [
        (ASH, 0.40),
        (replace(ASH, leafless=True), 0.18),
        (replace(ASH, dead=True), 0.18),
        (replace(ASH, botanical="Picea abies", species_group="spruce"), 0.60),
        (replace(ASH, botanical="", species_group="spruce"), 0.60),
    ],
)
def test_drag_follows_the_crown(tree: StandingTree, drag: float) -> None:
    assert input_for_tree(tree, Choices()).drag == drag


@pytest.mark.parametrize(
    ("tree", "words"),
    [
        (replace(ASH, botanical="Acer platanoides"), "mean of its genus"),
        (replace(ASH, botanical="Acer platanoides"), None),
        (replace(ASH, botanical="Fraxinus excelsior"), "the mean of Fraxinus"),
        (replace(ASH, botanical="Ginkgo biloba"), "the generic row"),
        (replace(ASH, botanical="Ginkgo biloba"), "hardwood or conifer"),
        (replace(ASH, dbh_cm=60.0), "form-factor"),
    ],
)
def test_what_is_not_known_of_the_wood_is_said(tree: StandingTree, words: str | None) -> None:
    if words is None:
        assert "Density and moisture" not in assumed(tree)
    else:
        assert words in assumed(tree)


def test_known_wood_needs_no_sentence() -> None:
    assert "strength of the hinge" not in assumed(ASH)


def test_lean_by_clinometer_is_resolved_against_the_lay() -> None:
    inp = input_for_tree(replace(ASH, lean=Lean(degrees=4.0, toward_deg=270.0)), EAST)
    assert inp.back_lean_deg == pytest.approx(4.0)
    assert inp.side_lean_m == pytest.approx(0.0, abs=1e-9)


def test_lean_by_plumb_depends_on_the_point_plumbed() -> None:
    tip = Lean(plumb_offset_m=1.0, plumb_height_m=16.0, plumb_point=PlumbPoint.TIP, toward_deg=270.0)
    crown = replace(tip, plumb_height_m=10.0, plumb_point=PlumbPoint.CROWN_CENTRE)
    leans = [input_for_tree(replace(ASH, lean=lean), EAST).back_lean_m for lean in (tip, crown)]
    assert leans == pytest.approx([6.4 / 15.2, 6.4 / 9.2])


@pytest.mark.parametrize("height_m", [None, 0.8])
def test_half_measured_lean_is_refused(height_m: float | None) -> None:
    with pytest.raises(ValueError, match="plumbed point"):
        input_for_tree(replace(ASH, lean=Lean(plumb_offset_m=1.0, plumb_height_m=height_m)), EAST)


def test_lean_of_unknown_direction_counts_both_ways() -> None:
    tree = replace(ASH, lean=Lean(degrees=2.0))
    inp = input_for_tree(tree, EAST)
    assert inp.back_lean_m == inp.side_lean_m > 0
    assert "lean counts fully" in assumed(tree, EAST)


def test_unmeasured_lean_is_said() -> None:
    assert "stand upright" in assumed(ASH)


def test_wind_is_resolved_against_the_lay() -> None:
    inp = input_for_tree(ASH, replace(EAST, wind_from_deg=0.0))
    assert (inp.wind_against_ms, inp.wind_side_ms) == pytest.approx((0.0, 6.0), abs=1e-9)
    assert "gust" not in assumed(ASH, EAST).lower()


def test_wind_of_unknown_direction_counts_both_ways() -> None:
    inp = input_for_tree(ASH, Choices(gust_ms=4.0))
    assert inp.wind_against_ms == inp.wind_side_ms == 4.0
    assert "A gust of 5 m/s" in assumed(ASH)


def test_strong_wind_with_the_fall_is_still_outside() -> None:
    result = plan_for_tree(ASH, replace(EAST, gust_ms=12.0, wind_from_deg=270.0)).result
    assert result.verdict is Verdict.OUTSIDE


def test_ash_splits_and_linden_does_not() -> None:
    assert input_for_tree(ASH, Choices()).health.splits_easily
    linden = replace(ASH, botanical="Tilia americana")
    assert not input_for_tree(linden, Choices()).health.splits_easily
    assert input_for_tree(replace(linden, frozen=True), Choices()).health.splits_easily


def test_sound_shell_unknown_is_said() -> None:
    assert "taken as sound" in assumed(ASH)
    assert "taken as sound" not in assumed(replace(ASH, sound_shell_share=0.6))


def test_long_dead_and_hung_trees_are_outside() -> None:
    assert plan_for_tree(replace(ASH, dead=True)).result.verdict is Verdict.OUTSIDE
    assert plan_for_tree(replace(ASH, refusals=(Refusal.HUNG,))).result.verdict is Verdict.OUTSIDE


def test_line_of_default_height_and_distance_holds_a_straight_tree() -> None:
    line = line_by_force(12_000.0, default_anchor_height_m(16.0), default_line_distance_m(16.0))
    result = plan_for_tree(ASH, replace(EAST, line=line)).result
    assert result.verdict is Verdict.ADEQUATE


def test_city_bounds_reach_the_plan() -> None:
    strict = METHOD_BOUNDS.tightened(height_m=Range(4.0, 15.0))
    assert plan_for_tree(ASH, EAST, strict).result.verdict is Verdict.OUTSIDE


def test_nothing_is_assumed_of_a_wind_that_is_known() -> None:
    known = replace(ASH, lean=Lean(degrees=1.0, toward_deg=90.0))
    words = assumed(known, EAST)
    assert "counts fully" not in words
    assert "stand upright" not in words
