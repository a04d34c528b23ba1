"""A line that does not run along the lay: what it still pulls over, what it pulls to the side, and where it is drawn."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from removals import kept_plan
from removals.bounds import METHOD_BOUNDS, Bounds, Range, outside_reasons
from removals.felling import plan
from removals.felling_input import FellingInput, Site
from removals.felling_result import Forces, Verdict
from removals.felling_steps import steps
from removals.intervals import nominal_draw, problem_for
from removals.lines import line_by_force
from removals.place import point_m
from removals.pull import force_arm_m, needed_n, side_arm_m, side_moment_nm
from tests.removals.felling_cases import tree
from tests.removals.test_drawings import description, place_of

LAY_DEG = 350.0
OFF = st.floats(0.0, 15.0)


def turned(off_deg: float | None, pull_n: float = 6000.0, **changes: Any) -> FellingInput:
    """The invented tree with its line so far to the right of the lay; None: no bearing given."""
    bearing_deg = None if off_deg is None else (LAY_DEG + off_deg) % 360
    line = replace(line_by_force(pull_n, 9.0, 22.5), bearing_deg=bearing_deg)
    return tree(**{"line": line, "site": Site(lay_deg=LAY_DEG), **changes})


def forces_of(inp: FellingInput) -> Forces:
    forces = plan(inp).forces
    assert forces is not None
    return forces


def test_along_the_lay_is_as_without_a_bearing() -> None:
    assert plan(turned(0.0)) == plan(turned(None))
    assert steps(turned(0.0), plan(turned(0.0))) == steps(turned(None), plan(turned(None)))


def test_a_plan_kept_before_lines_had_a_bearing_reads_back() -> None:
    kept = kept_plan.computed(turned(None), (), {})
    del kept.inputs["line"]["bearing_deg"]
    for name in ("line_off_lay_deg", "line_side_moment_nm"):
        del kept.results["forces"][name]
    assert kept_plan.read_input(kept.inputs) == turned(None)
    assert kept_plan.read_result(kept.results) == plan(turned(None))


def test_a_plan_with_a_bearing_reads_back() -> None:
    kept = kept_plan.computed(turned(-12.0), (), {})
    assert kept_plan.read_input(kept.inputs) == turned(-12.0)
    assert kept_plan.read_result(kept.results) == plan(turned(-12.0))


def pull_moment(inp: FellingInput, tension_n: float) -> tuple[float, float]:
    """Moments over the lay and to its right, written as a sum of vectors: anchor × force. East, north and up."""
    line, z_cut = inp.line, inp.cut_height_m
    assert line is not None
    ahead = np.array([*point_m(LAY_DEG, 1.0), 0.0])
    right = np.array([*point_m(LAY_DEG + 90.0, 1.0), 0.0])
    z_anchor = line.anchor_height_m - z_cut
    behind = inp.diameter_m / 2 - inp.notch_share * inp.diameter_m - inp.hinge_share * inp.diameter_m / 2
    anchor = -(behind + inp.back_lean_m * z_anchor / inp.com_z_m) * ahead + np.array([0.0, 0.0, z_anchor])
    bearing_deg = LAY_DEG if line.bearing_deg is None else line.bearing_deg
    hands = np.array([*point_m(bearing_deg, line.distance_m), line.puller_height_m - z_cut])
    along = (hands - anchor) / np.linalg.norm(hands - anchor)
    moment = np.cross(anchor, tension_n * along)
    # Tipping over the lay turns about the axis to its right; tipping to the right, about the one against the lay.
    return -float(moment @ right), float(moment @ ahead)


@pytest.mark.parametrize("off_deg", [7.0, -15.0])
@pytest.mark.parametrize("back_lean_m", [0.0, 0.4])
def test_the_line_does_what_a_free_body_does(off_deg: float, back_lean_m: float) -> None:
    inp = turned(off_deg, back_lean_m=back_lean_m)
    forces = forces_of(inp)
    over_nm, right_nm = pull_moment(inp, forces.needed_n.nominal)
    resisting = max(forces.weight_moment_nm, 0.0) + forces.wind_moment_nm + forces.hinge_moment_nm
    assert over_nm == pytest.approx(1.5 * resisting, rel=1e-9)
    assert right_nm == pytest.approx(forces.line_side_moment_nm, rel=1e-9)
    assert math.copysign(1.0, right_nm) == math.copysign(1.0, off_deg)


@pytest.mark.parametrize("off_deg", [5.0, 15.0])
def test_with_the_anchor_over_the_hinge_the_pull_goes_by_the_cosine(off_deg: float) -> None:
    """T cos δ pulls over, T sin δ to the side, both on the arm of the straight line."""
    straight, off = (
        replace(problem_for(each, nominal_draw(each)), behind_m=0.0) for each in (turned(0.0), turned(off_deg))
    )
    assert off.line is not None
    angle = math.radians(off_deg)
    assert force_arm_m(off) == pytest.approx(force_arm_m(straight) * math.cos(angle))
    assert side_arm_m(off, off.line) == pytest.approx(force_arm_m(straight) * math.sin(angle))
    assert needed_n(off) == pytest.approx(needed_n(straight) / math.cos(angle))


@given(OFF, OFF, st.sampled_from([-1, 1]), st.floats(-0.5, 0.5))
def test_farther_off_the_lay_never_needs_less_nor_strains_the_hinge_less(
    one: float, other: float, side: int, side_lean_m: float
) -> None:
    near, far = sorted((one, other))
    less, more = (problem_for(inp, nominal_draw(inp)) for inp in (turned(side * near), turned(side * far)))
    assert needed_n(more) >= needed_n(less) * (1 - 1e-12)
    strains = []
    for problem in (less, more):
        assert problem.line is not None
        pulled_nm = needed_n(problem) * side_arm_m(problem, problem.line)
        strains.append(side_moment_nm(10_787.0, side_lean_m, 0.0, 8.0, pulled_nm))
    assert strains[1] >= strains[0] * (1 - 1e-12)


@pytest.mark.parametrize(("off_deg", "side_lean_m"), [(6.0, 0.2), (6.0, -0.2), (12.0, 0.05)])
def test_the_mirrored_tree_has_the_mirrored_plan(off_deg: float, side_lean_m: float) -> None:
    one, other = turned(off_deg, side_lean_m=side_lean_m), turned(-off_deg, side_lean_m=-side_lean_m)
    mine, theirs = forces_of(one), forces_of(other)
    assert mine.needed_n.nominal == pytest.approx(theirs.needed_n.nominal)
    assert mine.side_moment_nm == pytest.approx(theirs.side_moment_nm)
    assert mine.side_holds_at_ends == theirs.side_holds_at_ends
    assert mine.line_side_moment_nm == pytest.approx(-theirs.line_side_moment_nm)
    assert plan(one).verdict == plan(other).verdict


def test_pull_and_lean_to_one_side_add_up_and_against_each_other_the_worse_counts() -> None:
    assert side_moment_nm(1000.0, 0.5, 100.0, 8.0, 300.0) == pytest.approx(500 + 300 + 800)
    assert side_moment_nm(1000.0, -0.5, 100.0, 8.0, 300.0) == pytest.approx(500 + 800)
    assert side_moment_nm(1000.0, -0.5, 100.0, 8.0, 1300.0) == pytest.approx(800 + 800)


def test_a_hinge_that_holds_the_lean_may_not_hold_the_pull_to_the_same_side() -> None:
    lean_m = 0.85
    assert plan(turned(0.0, side_lean_m=lean_m)).verdict is not Verdict.OUTSIDE
    refused = plan(turned(15.0, side_lean_m=lean_m))
    assert refused.verdict is Verdict.OUTSIDE
    assert "Sideways the hinge" in refused.reasons[0]
    assert "15° to the right of the lay: set it along the lay" in refused.reasons[0]
    assert plan(turned(-15.0, side_lean_m=lean_m)).verdict is not Verdict.OUTSIDE


def test_at_the_unfavourable_ends_the_side_may_fail_where_the_nominal_holds() -> None:
    strong = {"pull_n": 20_000.0, "side_lean_m": 0.2}
    assert forces_of(turned(0.0, **strong)).side_holds_at_ends
    off = forces_of(turned(15.0, **strong))
    assert off.side_moment_nm < off.side_capacity_nm
    assert not off.side_holds_at_ends
    assert plan(turned(15.0, **strong)).verdict is Verdict.MARGINAL


@pytest.mark.parametrize(("off_deg", "side"), [(15.1, "right"), (-15.1, "left"), (90.0, "right"), (-170.0, "left")])
def test_too_far_off_the_lay_is_outside_with_what_would_change_it(off_deg: float, side: str) -> None:
    (reason,) = plan(turned(off_deg)).reasons
    assert f"to the {side} of the lay; the method covers 15°" in reason
    assert "nearer to the lay, or turn the lay" in reason


@pytest.mark.parametrize("off_deg", [15.0, -15.0, None])
def test_up_to_the_bound_the_line_belongs_to_the_method(off_deg: float | None) -> None:
    assert outside_reasons(turned(off_deg)) == ()


def test_a_city_may_tighten_the_bound_and_never_loosen_it() -> None:
    tight = METHOD_BOUNDS.tightened(line_off_lay_deg=Range(-5.0, 5.0))
    assert "the method covers 5°" in plan(turned(6.0), tight).reasons[0]
    with pytest.raises(ValueError, match="line_off_lay_deg"):
        Bounds(line_off_lay_deg=Range(-16.0, 15.0))


def test_a_bearing_without_a_lay_is_outside() -> None:
    assert "choose the lay" in plan(turned(5.0, site=Site())).reasons[0]


def test_pullers_in_the_fall_are_told_where_they_stand() -> None:
    line = replace(line_by_force(6000.0, 9.0, 22.0), bearing_deg=LAY_DEG + 8.0, redirected=False)
    near = plan(turned(8.0, line=line))
    assert near.verdict is Verdict.NOT_ADEQUATE
    assert "The pullers stand in the fall, 8° to the right of the lay: 22.5 m" in near.reasons[0]
    assert not any(
        "stand in the fall" in reason for reason in plan(turned(8.0, line=replace(line, distance_m=22.5))).reasons
    )
    assert not any(
        "stand in the fall" in reason for reason in plan(turned(8.0, line=replace(line, redirected=True))).reasons
    )


def test_the_crew_is_told_and_a_plan_that_falls_short_says_what_the_lay_would_need() -> None:
    off = plan(turned(-10.0, pull_n=1600.0))
    assert any("at 340° from the stump, 10° to the left of the lay" in each for each in off.conditions)
    assert any("A line along the lay would need" in each for each in off.changes)


def test_the_steps_end_in_the_figures_of_the_plan() -> None:
    inp = turned(10.0, side_lean_m=-0.1)
    forces, opened = forces_of(inp), {step.key: step.numbers for step in steps(inp, plan(inp))}
    assert opened["line_off_lay_deg"].endswith("δ = 10°")
    assert opened["line_angle_deg"].endswith(f"= {forces.line_angle_deg:.6g}°")
    assert opened["lever_arm_m"].endswith(f"= {forces.arm_m:.5g} m")
    assert opened["line_side_moment_nm"].endswith(f"= {forces.line_side_moment_nm:.6g} N·m")
    assert f"= {forces.side_moment_nm:.6g} N·m; limit" in opened["side_moment_nm"]


@pytest.mark.parametrize("off_deg", [12.0, -9.0])
def test_the_line_is_drawn_to_where_it_is_pulled(off_deg: float) -> None:
    inp = turned(off_deg)
    read, bearing_deg = place_of(inp), (LAY_DEG + off_deg) % 360
    start, end = read.ends("pull-line")
    assert (*start, *end) == pytest.approx((0, 0, *point_m(bearing_deg, 22.5)), abs=2e-3)
    assert read.ends("lay")[1] == pytest.approx(point_m(LAY_DEG, 14.2), abs=2e-3)
    assert f"puller or redirect {bearing_deg:.0f}°, 22.5 m" in read.words
    side = "right" if off_deg > 0 else "left"
    assert f"at {bearing_deg:.0f}°, {abs(off_deg):.0f}° to the {side} of the lay" in description(read)
