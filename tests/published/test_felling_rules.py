"""The felling rules of 29 CFR 1910.266 (logging operations), paragraphs (h)(2) and (d)(6), each quoted from memory.

Held against every plan of a grid of trees and cuts. In the United States no federal standard is written for tree care: the
rule is good practice here, and the local code decides.
"""

import itertools

import pytest

from removals.cut import NotchKind
from removals.felling import plan
from removals.felling_input import Wedges
from removals.felling_result import FellingPlanResult, Verdict
from removals.lines import line_by_force
from removals.place import RETREAT_DISTANCE_M
from removals.procedure import procedure
from tests.removals.builders import inputs

INCH_M = 0.0254
FOOT_M = 0.3048
OPENING_DEG = {NotchKind.CONVENTIONAL: 60.0, NotchKind.HUMBOLDT: 50.0, NotchKind.OPEN_FACE: 90.0}


def brought_over(means: str) -> dict[str, object]:
    lines = {"line": line_by_force(30_000.0, 10.0, 40.0), "wedges": Wedges(rated_n=500_000.0), "nothing": None}
    return {"line": None, means: lines[means]} if means != "nothing" else {"line": None}


GRID = [
    (kind, diameter_m, share, hinge, means)
    for kind, diameter_m, share, hinge, means in itertools.product(
        NotchKind, (0.15, 0.36, 0.6, 1.0), (0.20, 0.25, 1 / 3), (0.10, 0.15), ("line", "wedges")
    )
]


def planned(kind, diameter_m, share, hinge, means):
    inp = inputs(
        diameter_m=diameter_m,
        notch=kind,
        notch_share=share,
        hinge_share=hinge,
        opening_deg=OPENING_DEG[kind],
        pull_n=None,
        **brought_over(means),
    )
    return inp, plan(inp)


@pytest.fixture(
    params=GRID, ids=lambda row: "-".join(f"{each:.2f}" if isinstance(each, float) else each for each in row)
)
def case(request):
    return planned(*request.param)


def cut_of(result: FellingPlanResult):
    assert result.cut is not None
    return result.cut


def test_a_notch_large_enough_and_a_back_cut_are_made_in_every_tree(case):
    """(h)(2)(v): “An undercut shall be made in each tree being felled … of a size so the tree will not split and will fall in
    the intended direction”; (vi): “A backcut shall be made in each tree being felled”."""
    inp, result = case
    cut = cut_of(result)
    assert cut.notch_depth_m >= 0.20 * inp.diameter_m - 1e-9
    assert cut.face_height_m > 0
    assert cut.back_cut_m > 0
    words = " ".join(procedure(inp, result))
    assert "Notch (" in words
    assert "ack cut, " in words


def test_enough_hinge_wood_is_left_and_never_cut_through(case):
    """(h)(2)(vi): “The backcut shall leave sufficient hinge wood to hold the tree to the stump during most of its fall”."""
    inp, result = case
    cut = cut_of(result)
    assert cut.notch_depth_m + cut.back_cut_m + cut.hinge_thickness_m == pytest.approx(inp.diameter_m)
    assert cut.hinge_thickness_m >= 0.10 * inp.diameter_m - 1e-9
    assert "The hinge is never cut through" in " ".join(procedure(inp, result))


def test_the_back_cut_is_above_the_level_of_the_horizontal_facecut(case):
    """(h)(2)(vii): “The backcut shall be above the level of the horizontal facecut”; an open face has no level cut."""
    inp, result = case
    height_m = cut_of(result).back_cut_height_m
    if inp.notch is NotchKind.OPEN_FACE:
        assert height_m == 0.0
    else:
        assert height_m >= INCH_M


def test_the_retreat_path_is_planned_before_the_cut(case):
    """(h)(2)(i): “Before felling is started, the feller shall plan and clear a retreat path. The retreat path shall extend
    diagonally away from the expected felling line”."""
    inp, result = case
    assert len(result.place.retreats) == 2
    for way in result.place.retreats:
        turn = abs((way.bearing_deg - inp.site.lay_deg + 180) % 360 - 180)
        assert turn == pytest.approx(135.0)
    assert RETREAT_DISTANCE_M >= 20 * FOOT_M
    steps = procedure(inp, result)
    first_cut = next(n for n, step in enumerate(steps) if step.startswith("Notch"))
    assert any("Clear both ways of retreat" in step for step in steps[:first_cut])


def test_people_stay_two_tree_lengths_away(case):
    """(d)(6)(ii): “The distance between adjacent occupied work areas shall be at least two tree lengths of the trees being
    felled”."""
    inp, result = case
    assert result.place.drop_zone_m >= 2 * inp.height_m
    assert result.place.approach_m >= 2 * inp.height_m


def test_the_grid_holds_plans_that_a_crew_may_work_by():
    verdicts = {planned(*row)[1].verdict for row in GRID}
    assert verdicts & {Verdict.ADEQUATE, Verdict.MARGINAL}
