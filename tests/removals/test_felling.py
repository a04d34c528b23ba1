"""The plan: verdicts, ranges, stop wind, refusals of the forces, and what a refused plan still says."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from removals.bounds import METHOD_BOUNDS, Range
from removals.cut import NotchKind
from removals.felling import METHOD_VERSION, plan
from removals.felling_input import FellingInput, Haul, Refusal, Site, Wedges
from removals.felling_result import FellingPlanResult, Forces, Verdict
from removals.intervals import corners, held_share
from removals.lines import Tackle, line_by_people, line_by_winch
from removals.pull import needed_n
from removals.weight import entered_mass
from tests.removals.felling_cases import STRAIGHT, tree, tree_with_health, tree_with_line, tree_with_site

PLAIN = Tackle()


def forces_of(inp: FellingInput) -> Forces:
    forces = plan(inp).forces
    assert forces is not None
    return forces


def said(result: FellingPlanResult) -> str:
    return " ".join((*result.reasons, *result.changes, *result.conditions))


def test_plan_names_its_method_and_its_caution() -> None:
    result = plan(STRAIGHT)
    assert result.method_version == METHOD_VERSION
    assert "qualified people" in result.caution


def test_enough_at_the_unfavourable_ends_is_adequate() -> None:
    result = plan(tree_with_line(9000.0))
    assert result.verdict is Verdict.ADEQUATE
    assert result.changes == result.alternatives == ()
    assert "still holds" in said(result)


def test_enough_at_the_nominal_values_only_is_marginal() -> None:
    result = plan(tree_with_line(2000.0))
    assert result.verdict is Verdict.MARGINAL
    assert "does not hold" in said(result)


def test_too_little_is_not_adequate_and_names_the_alternatives() -> None:
    result = plan(tree_with_line(1500.0))
    assert result.verdict is Verdict.NOT_ADEQUATE
    assert any("crane" in way for way in result.alternatives)


def test_the_pull_that_is_named_makes_the_plan_adequate() -> None:
    named_n = forces_of(STRAIGHT).needed_n.high / 0.8
    assert any(f"{named_n:,.0f} N" in change for change in plan(STRAIGHT).changes)
    assert plan(tree_with_line(0.999 * named_n)).verdict is Verdict.MARGINAL
    assert plan(tree_with_line(1.001 * named_n)).verdict is Verdict.ADEQUATE


few = settings(max_examples=25)


@few
@given(st.floats(1600.0, 3500.0))
def test_verdict_flips_at_the_stop_wind(pull_n: float) -> None:
    inp = tree_with_line(pull_n)
    stop_ms = forces_of(inp).stop_wind.nominal_ms
    assert stop_ms is not None
    below, above = (plan(replace(inp, wind_against_ms=min(stop_ms * share, 9.0))).verdict for share in (0.999, 1.001))
    assert below is not Verdict.NOT_ADEQUATE
    assert (above is Verdict.NOT_ADEQUATE) is (stop_ms * 1.001 <= 9.0)


@few
@given(st.floats(3600.0, 4600.0))
def test_adequate_ends_at_the_stop_wind_of_the_unfavourable_ends(pull_n: float) -> None:
    inp = tree_with_line(pull_n, pull_low_n=pull_n)
    low_ms = forces_of(inp).stop_wind.low_ms
    assert low_ms is not None
    below, above = (plan(replace(inp, wind_against_ms=low_ms * share)).verdict for share in (0.999, 1.001))
    assert (below, above) == (Verdict.ADEQUATE, Verdict.MARGINAL)


@few
@given(st.floats(-0.5, 0.9), st.floats(0.0, 0.1))
def test_more_back_lean_never_needs_less_at_any_end(back_m: float, more_m: float) -> None:
    once, more = (forces_of(tree(back_lean_m=lean)).needed_n for lean in (back_m, back_m + more_m))
    assert more.low >= once.low - 1e-6
    assert more.nominal >= once.nominal - 1e-6
    assert more.high >= once.high - 1e-6


def test_needed_range_spans_every_corner_of_the_uncertain_inputs() -> None:
    needs = [needed_n(each) for each in corners(STRAIGHT)]
    interval = forces_of(STRAIGHT).needed_n
    assert len(needs) == 128
    assert (interval.low, interval.high) == (min(needs), max(needs))
    assert interval.low < interval.nominal < interval.high


def test_heavy_end_rules_a_back_lean_and_light_end_a_forward_lean() -> None:
    back, forward = tree(back_lean_m=0.5), tree(back_lean_m=-0.5)
    heavier = entered_mass(1100.0, 700.0, 2000.0)
    lighter = entered_mass(1100.0, 300.0, 1300.0)
    assert forces_of(replace(back, mass=heavier)).needed_n.high > forces_of(back).needed_n.high
    assert forces_of(replace(forward, mass=lighter)).needed_n.high > forces_of(forward).needed_n.high


def test_measured_centre_of_mass_keeps_its_height() -> None:
    assumed, measured = tree(back_lean_m=0.5), tree(back_lean_m=0.5, com_height_m=0.45 * 15)
    assert {round(each.com_z_m, 6) for each in corners(measured)} == {5.95}
    assert len({round(each.com_z_m, 6) for each in corners(assumed)}) == 2


def test_hinge_costs_are_shown() -> None:
    forces = forces_of(STRAIGHT)
    assert forces.needed_without_hinge_n < forces.needed_n.nominal < forces.needed_thicker_hinge_n


def test_sample_repeats_itself_and_follows_its_seed() -> None:
    pull = (1600.0, 2000.0, 2400.0)
    assert held_share(STRAIGHT, pull) == held_share(STRAIGHT, pull)
    assert held_share(STRAIGHT, pull, seed=2) != held_share(STRAIGHT, pull, seed=3)


def test_sample_grows_with_the_pull() -> None:
    shares = [held_share(STRAIGHT, (pull, pull, pull)) for pull in (0.0, 800.0, 1600.0, 20_000.0)]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)


def test_printed_stop_wind_is_the_unfavourable_end_by_one_and_a_half() -> None:
    stop = forces_of(tree_with_line(6000.0)).stop_wind
    assert stop.low_ms is not None
    assert stop.printed_ms == pytest.approx(min(9.0, stop.low_ms / 1.5))
    assert stop.printed_ms < 9.0


def test_printed_stop_wind_never_passes_the_cap() -> None:
    assert forces_of(tree_with_line(60_000.0)).stop_wind.printed_ms == 9.0


@given(st.floats(0.5, 9.0), st.floats(0.0, 0.25))
def test_a_printed_stop_wind_is_one_in_which_the_hinge_holds_sideways(gust_ms: float, side_lean_m: float) -> None:
    """The gust printed is measured low; by half as much again it blows at the crown, and the plan for that gust holds there."""
    strong = replace(tree_with_line(60_000.0), side_lean_m=side_lean_m)
    stop = forces_of(replace(strong, wind_side_ms=0.1)).stop_wind
    if stop.printed_ms is None:
        assert not forces_of(replace(strong, wind_side_ms=0.1)).side_holds_at_ends
        return
    blown = plan(replace(strong, wind_side_ms=min(gust_ms, 1.5 * stop.printed_ms * (1 - 1e-9))))
    assert blown.forces is not None
    assert blown.forces.side_holds_at_ends


def test_wind_across_lowers_the_printed_stop_wind() -> None:
    strong = replace(tree_with_line(60_000.0), side_lean_m=0.1, crown_area_m2=60.0)
    across = forces_of(replace(strong, wind_side_ms=5.0)).stop_wind
    assert across.across_ms is not None
    assert across.printed_ms == pytest.approx(across.across_ms / 1.5)
    assert across.printed_ms < 9.0 == forces_of(strong).stop_wind.printed_ms


def test_no_wind_across_sets_no_stop_wind_across() -> None:
    assert forces_of(tree_with_line(60_000.0)).stop_wind.across_ms is None


def test_a_side_lean_too_much_in_still_air_prints_nothing() -> None:
    leaning = replace(tree_with_line(60_000.0), side_lean_m=0.6, wind_side_ms=1.0)
    forces = forces_of(leaning)
    assert not forces.side_holds_at_ends
    assert forces.stop_wind.printed_ms is None


def test_a_city_may_lower_the_cap() -> None:
    result = plan(tree_with_line(60_000.0), METHOD_BOUNDS.tightened(gust_ms=Range(0.0, 7.0)))
    assert result.forces is not None
    assert result.forces.stop_wind.printed_ms == 7.0


def test_no_crown_area_prints_the_cap_and_says_so() -> None:
    result = plan(tree(crown_area_m2=0.0))
    assert result.forces is not None
    assert not result.forces.stop_wind.counted
    assert (result.forces.stop_wind.nominal_ms, result.forces.stop_wind.printed_ms) == (None, 9.0)
    assert "No crown area" in said(result)


def test_without_a_crown_too_much_in_still_air_prints_nothing() -> None:
    stop = forces_of(tree(crown_area_m2=0.0, back_lean_m=0.9)).stop_wind
    assert (stop.nominal_ms, stop.printed_ms) == (None, None)


def test_nothing_is_printed_when_still_air_is_too_much_at_the_unfavourable_ends() -> None:
    stop = forces_of(STRAIGHT).stop_wind
    assert stop.nominal_ms is not None
    assert (stop.low_ms, stop.printed_ms) == (None, None)


@pytest.mark.parametrize(
    ("inp", "word"),
    [
        (tree_with_line(anchor_height_m=14.0, distance_m=10.0), "rises at"),
        (tree_with_line(puller_height_m=12.0), "rises at"),
        (tree_with_line(anchor_height_m=0.85), "no lever arm"),
        (tree(side_lean_m=1.0, mass=entered_mass(1200.0)), "Sideways"),
        (tree_with_line(working_load_limit_n=2300.0), "working load limit"),
        (tree_with_line(working_load_limit_n=2300.0, haul=Haul.WINCH), "winch stalls"),
    ],
)
def test_forces_beyond_the_method_are_refused(inp: FellingInput, word: str) -> None:
    result = plan(inp)
    assert result.verdict is Verdict.OUTSIDE
    assert word in said(result)
    assert result.forces is None


def test_line_within_its_working_load_limit_is_inside() -> None:
    assert plan(tree_with_line(working_load_limit_n=2400.0)).verdict is Verdict.MARGINAL


def test_refused_plan_keeps_cut_weight_and_place_and_drops_the_forces() -> None:
    result = plan(tree_with_site(wire_distance_m=10.0))
    assert result.verdict is Verdict.OUTSIDE
    assert (result.forces, result.rating, result.changes) == (None, None, ())
    assert result.cut is not None
    assert result.mass is not None
    assert result.place.drop_zone_m == pytest.approx(30.0)
    assert any("crane" in way for way in result.alternatives)


def test_refusals_drop_the_figures_that_do_not_hold() -> None:
    assert plan(tree(diameter_m=1.2)).cut is None
    assert plan(tree_with_health(refusals=(Refusal.PALM,))).mass is None
    assert plan(tree_with_site(zone_multiple=0.5)).place.drop_zone_m is None


def test_side_lean_that_fails_at_the_unfavourable_ends_is_marginal() -> None:
    result = plan(replace(tree_with_line(60_000.0), side_lean_m=0.7))
    assert result.verdict is Verdict.MARGINAL
    assert "Sideways the hinge does not hold" in said(result)


def test_low_design_factor_is_never_adequate() -> None:
    result = plan(replace(tree_with_line(60_000.0), design_factor=1.2))
    assert result.verdict is Verdict.MARGINAL
    assert "design factor" in said(result)


def people(distance_m: float, tackle: Tackle = PLAIN, **changes: float) -> FellingInput:
    return tree(line=line_by_people([80] * 12, 9.0, distance_m, tackle=tackle, **changes))


def test_people_in_the_fall_are_not_adequate_however_strong() -> None:
    result = plan(people(15.0))
    assert result.verdict is Verdict.NOT_ADEQUATE
    assert "stand in the fall" in said(result)


def test_people_behind_a_redirect_may_stand_nearer() -> None:
    result = plan(people(15.0, Tackle(redirects=1), redirect_legs_deg=90.0))
    assert result.verdict is not Verdict.NOT_ADEQUATE
    assert "round a tree or a stump" in said(result)
    assert result.rating is not None
    assert result.rating.redirect_load_n == pytest.approx(2**0.5 * result.rating.least_working_load_n)


def test_line_must_carry_what_people_can_make_at_most() -> None:
    result = plan(people(22.5))
    assert result.rating is not None
    assert result.rating.least_working_load_n == pytest.approx(12 * 80 * 9.80665 * 0.5)
    assert result.rating.redirect_load_n is None


def test_winch_pulls_what_it_stalls_at_times_the_tackle() -> None:
    line = line_by_winch(3000.0, 9.0, 22.5, tackle=Tackle(parts=2))
    result = plan(tree(line=line, back_lean_m=0.7))
    assert (result.available_n.low, result.available_n.high) == pytest.approx((5700.0, 5700.0))
    assert "use a winch with progress capture" in said(result)


def test_hands_alone_never_hold_weight_behind_the_hinge() -> None:
    assert "never with hands alone" in said(plan(STRAIGHT))
    assert "never with hands alone" not in said(plan(tree(line=line_by_winch(3000.0, 9.0, 22.5, tackle=PLAIN))))
    assert "never with hands alone" not in said(plan(tree(back_lean_m=-0.5)))


@pytest.mark.parametrize(
    ("inp", "word"),
    [
        (tree_with_line(distance_m=20.0), "within 1.5 tree heights"),
        (tree_with_line(anchor_height_m=12.0), "above three quarters"),
        (tree(back_lean_m=-0.5), "holding strap"),
        (tree_with_health(dead=True, months_dead=2.0), "do not rely on the hinge"),
        (tree_with_site(slope_pct=20.0), "hinge breaks early"),
    ],
)
def test_conditions_for_the_crew(inp: FellingInput, word: str) -> None:
    assert word in said(plan(inp))
    assert word not in said(plan(STRAIGHT))


def test_what_would_change_it_names_anchor_hinge_wind_and_lay() -> None:
    line = tree_with_line(500.0, anchor_height_m=8.0).line
    words = said(plan(tree(line=line, hinge_share=0.12, back_lean_m=0.3)))
    for word in ("A pull of", "An anchor at", "A hinge of a tenth", "Still air", "A lay nearer"):
        assert word in words


def test_nothing_to_pull_with_still_names_the_pull() -> None:
    assert "A pull of" in said(plan(tree_with_line(0.0)))


def test_still_upright_tree_with_a_thin_hinge_can_only_be_pulled_harder() -> None:
    result = plan(replace(tree_with_line(500.0, anchor_height_m=11.0), wind_against_ms=0.0))
    assert len(result.changes) == 1


def wedged(rated_n: float = 100_000.0, stacked: bool = False, **changes: object) -> FellingInput:
    return tree(line=None, wedges=Wedges(rated_n=rated_n, stacked=stacked), **changes)


def test_wedges_may_bring_over_a_tree_that_stands_nearly_straight() -> None:
    result = plan(wedged(200_000.0))
    assert result.verdict is Verdict.ADEQUATE
    assert result.rating is None
    assert result.forces is not None
    assert result.forces.line_angle_deg is None
    assert result.forces.needed_n.nominal == pytest.approx(52_888, rel=1e-4)


@pytest.mark.parametrize(
    ("inp", "word"),
    [
        (wedged(40_000.0), "wedge or jack needs"),
        (wedged(back_lean_m=0.75), "would have to lift"),
        (wedged(diameter_m=0.25, back_lean_m=0.1), "back cut is"),
        (wedged(stacked=True, back_lean_m=1.03, height_m=20.0, diameter_m=0.7), "The tip leans back"),
        (tree(line=None), "Neither a line nor rated wedges"),
    ],
)
def test_wedges_beyond_their_limits_take_a_line(inp: FellingInput, word: str) -> None:
    result = plan(inp)
    assert result.verdict is Verdict.NOT_ADEQUATE
    assert word in said(result)
    assert "A pull line would change it." in result.changes


def test_stacked_wedges_lift_higher() -> None:
    assert "would have to lift" in said(plan(wedged(back_lean_m=0.7)))
    assert "would have to lift" not in said(plan(wedged(back_lean_m=0.7, stacked=True)))


def test_tree_that_falls_by_itself_needs_neither_line_nor_wedges() -> None:
    result = plan(tree(line=None, back_lean_m=-1.5, mass=entered_mass(3000.0)))
    assert result.verdict is Verdict.ADEQUATE


def test_dead_tree_takes_a_line() -> None:
    dead = replace(STRAIGHT.health, dead=True, months_dead=2.0)
    assert "takes a line" in said(plan(wedged(200_000.0, health=dead)))


def test_open_face_of_ninety_degrees_holds_to_the_ground() -> None:
    assert "holds until the stem lies" in plan(tree(notch=NotchKind.OPEN_FACE, opening_deg=90.0)).butt


def test_narrow_notch_breaks_its_hinge_above_level() -> None:
    assert "still 30° above level" in plan(STRAIGHT).butt


@pytest.mark.parametrize(
    ("site", "downhill"),
    [
        (Site(slope_pct=0.0), False),
        (Site(slope_pct=10.0), True),
        (Site(slope_pct=10.0, lay_deg=90.0), True),
        (Site(slope_pct=10.0, lay_deg=90.0, downhill_deg=120.0), True),
        (Site(slope_pct=10.0, lay_deg=90.0, downhill_deg=270.0), False),
    ],
)
def test_slope_of_unknown_direction_counts_as_downhill(site: Site, downhill: bool) -> None:
    assert tree(site=site).downhill is downhill
    assert ("runs farther" in plan(tree(site=site)).butt) is downhill
