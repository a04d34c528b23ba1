import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from removals.intervals import nominal_draw, problem_for
from removals.pull import (
    HingeProblem,
    com_offset_m,
    demand_nm,
    force_arm_m,
    hand_pull_n,
    hinge_moment_nm,
    lever_arm_m,
    line_angle_deg,
    needed_n,
    redirect_load_n,
    side_capacity_nm,
    side_moment_nm,
    stop_wind_ms,
    tackle_advantage,
    wedge_lift_m,
    wedge_tip_lean_m,
    weight_moment_nm,
    wind_moment_nm,
)
from tests.removals.felling_cases import STRAIGHT, tree

STRAIGHT_PROBLEM = problem_for(STRAIGHT, nominal_draw(STRAIGHT))


def changed(**changes: float) -> HingeProblem:
    return replace(STRAIGHT_PROBLEM, **changes)


def with_anchor(anchor_z_m: float, offset_m: float = 0.0) -> HingeProblem:
    line = STRAIGHT_PROBLEM.line
    assert line is not None
    return replace(STRAIGHT_PROBLEM, offset_m=offset_m, line=replace(line, anchor_z_m=anchor_z_m))


def test_offset_at_the_tip_and_at_the_crown_centre_differ_by_their_heights() -> None:
    tip, crown = com_offset_m(2.0, 14.2, 5.95), com_offset_m(2.0, 8.2, 5.95)
    assert crown / tip == pytest.approx(14.2 / 8.2)


@given(st.floats(-0.5, 1.5), st.floats(0.0, 0.5))
def test_more_back_lean_never_needs_less(offset_m: float, more_m: float) -> None:
    assert needed_n(changed(offset_m=offset_m + more_m)) >= needed_n(changed(offset_m=offset_m)) - 1e-6


@given(st.floats(0.0, 9.0), st.floats(0.0, 3.0))
def test_more_wind_never_needs_less(wind_ms: float, more_ms: float) -> None:
    assert needed_n(changed(wind_ms=wind_ms + more_ms)) >= needed_n(changed(wind_ms=wind_ms))


@given(st.floats(0.02, 0.1), st.floats(0.0, 0.02))
def test_thicker_hinge_never_needs_less(hinge_m: float, more_m: float) -> None:
    assert needed_n(changed(hinge_thickness_m=hinge_m + more_m)) >= needed_n(changed(hinge_thickness_m=hinge_m))


@given(st.floats(0.0, 1.0), st.floats(0.2, 14.0), st.floats(0.0, 2.0))
def test_higher_anchor_never_needs_more_up_to_the_greatest_lever_arm(
    offset_m: float, z_m: float, more_m: float
) -> None:
    heights = [0.05 * step for step in range(1, 600)]
    best_m = max(heights, key=lambda z: force_arm_m(with_anchor(z, offset_m)))
    low, high = min(z_m, best_m), min(z_m + more_m, best_m)
    assert needed_n(with_anchor(high, offset_m)) <= needed_n(with_anchor(low, offset_m)) * (1 + 1e-9)


def scaled(k: float) -> HingeProblem:
    """Every length k times as long, the mass with the volume, the wind the same."""
    old, line = STRAIGHT_PROBLEM, STRAIGHT_PROBLEM.line
    assert line is not None
    return replace(
        old,
        mass_kg=old.mass_kg * k**3,
        offset_m=old.offset_m * k,
        com_z_m=old.com_z_m * k,
        behind_m=old.behind_m * k,
        hinge_length_m=old.hinge_length_m * k,
        hinge_thickness_m=old.hinge_thickness_m * k,
        back_cut_m=old.back_cut_m * k,
        crown_area_m2=old.crown_area_m2 * k**2,
        crown_z_m=old.crown_z_m * k,
        line=replace(
            line,
            anchor_z_m=line.anchor_z_m * k,
            distance_m=line.distance_m * k,
            cut_above_puller_m=line.cut_above_puller_m * k,
        ),
    )


@given(st.floats(0.2, 5.0))
def test_moments_scale_by_their_power_of_length(k: float) -> None:
    once, big = STRAIGHT_PROBLEM, scaled(k)
    assert weight_moment_nm(big) == pytest.approx(k**4 * weight_moment_nm(once))
    assert wind_moment_nm(big) == pytest.approx(k**3 * wind_moment_nm(once))
    assert hinge_moment_nm(big) == pytest.approx(k**3 * hinge_moment_nm(once))
    assert force_arm_m(big) == pytest.approx(k * force_arm_m(once))


def test_forward_lean_helps_without_the_factor() -> None:
    forward = changed(offset_m=-0.5)
    resisting = wind_moment_nm(forward) + hinge_moment_nm(forward)
    assert demand_nm(forward) == pytest.approx(1.5 * resisting + weight_moment_nm(forward))


def test_strong_forward_lean_needs_no_pull() -> None:
    assert needed_n(changed(offset_m=-1.5)) == 0.0


def test_line_without_a_lever_arm_never_holds() -> None:
    assert needed_n(with_anchor(-0.5)) == math.inf


def test_available_equals_needed_at_the_stop_wind() -> None:
    wind_ms = stop_wind_ms(STRAIGHT_PROBLEM, 2000.0)
    assert wind_ms is not None
    assert needed_n(changed(wind_ms=wind_ms)) == pytest.approx(2000.0)


def test_still_air_may_already_be_too_much() -> None:
    assert stop_wind_ms(changed(offset_m=1.0), 2000.0) is None


def test_wind_without_a_crown_never_stops_the_work() -> None:
    assert stop_wind_ms(changed(crown_area_m2=0.0), 2000.0) == math.inf


def test_puller_below_the_stump_steepens_the_line() -> None:
    line = STRAIGHT_PROBLEM.line
    assert line is not None
    lower = replace(line, cut_above_puller_m=line.cut_above_puller_m + 3.0)
    assert line_angle_deg(STRAIGHT_PROBLEM, lower) > line_angle_deg(STRAIGHT_PROBLEM, line)
    assert lever_arm_m(STRAIGHT_PROBLEM, lower) < lever_arm_m(STRAIGHT_PROBLEM, line)


def test_without_a_line_the_force_lifts_at_the_back_of_the_stem() -> None:
    problem = replace(STRAIGHT_PROBLEM, line=None)
    assert force_arm_m(problem) == pytest.approx(0.204 + 0.018)
    assert needed_n(problem) == pytest.approx(1.5 * (453.067 + 2535.75 + 4838.65) / 0.222, rel=1e-5)


def test_wedge_lift_turns_the_centre_of_mass_over_the_hinge() -> None:
    problem = problem_for(tree(back_lean_m=0.3), nominal_draw(tree(back_lean_m=0.3)))
    assert wedge_lift_m(problem) == pytest.approx((0.3 + 0.042) * 0.222 / 5.95)


def test_forward_lean_needs_no_lift() -> None:
    assert wedge_lift_m(changed(offset_m=-0.3)) == 0.0


@pytest.mark.parametrize(
    ("parts", "redirects", "advantage"), [(1, 0, 1.0), (3, 0, 1 + 0.9 + 0.81), (3, 1, 0.9 * 2.71), (1, 2, 0.81)]
)
def test_tackle_loses_at_each_sheave(parts: int, redirects: int, advantage: float) -> None:
    assert tackle_advantage(parts, 0.9, redirects) == pytest.approx(advantage)


@pytest.mark.parametrize(("parts", "efficiency", "redirects"), [(0, 0.9, 0), (1, 0.0, 0), (1, 1.1, 0), (1, 0.9, -1)])
def test_impossible_tackle_is_refused(parts: int, efficiency: float, redirects: int) -> None:
    with pytest.raises(ValueError, match="tackle"):
        tackle_advantage(parts, efficiency, redirects)


def test_five_people_pull_about_a_thousand_newtons() -> None:
    assert hand_pull_n([80] * 5) == pytest.approx(5 * 80 * 9.80665 * 0.25)


@pytest.mark.parametrize("effort", [0.0, 0.51])
def test_effort_is_capped_at_half_of_body_weight(effort: float) -> None:
    with pytest.raises(ValueError, match="Effort"):
        hand_pull_n([80], effort)


@pytest.mark.parametrize(("legs_deg", "load"), [(0, 2.0), (90, math.sqrt(2)), (120, 1.0), (180, 0.0)])
def test_redirect_carries_the_sum_of_both_legs(legs_deg: float, load: float) -> None:
    assert redirect_load_n(1000.0, legs_deg) == pytest.approx(1000 * load)


def test_side_moment_takes_lean_and_wind_to_the_same_side() -> None:
    assert side_moment_nm(1000.0, -0.5, 100.0, 8.0) == pytest.approx(500 + 800)


def test_side_capacity_is_a_quarter_of_the_section_across() -> None:
    assert side_capacity_nm(60e6, 0.04, 0.3) == pytest.approx(0.25 * 60e6 * 0.04 * 0.09 / 6)


def test_wedging_never_corrects_more_than_thirteen_feet() -> None:
    assert wedge_tip_lean_m(40.0, 0.15) == pytest.approx(13 * 0.3048)
