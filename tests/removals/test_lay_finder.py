"""Lays judged by what stands there; the swath computed again with shapely, another way."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPoint, Point, Polygon

from removals.bounds import METHOD_BOUNDS, Range
from removals.lay_finder import (
    APART_DEG,
    BEARINGS_DEG,
    NO_PLACE_FOR_WIRES,
    FallingTree,
    LayFindings,
    LayStatus,
    find_lays,
    judge_lay,
)
from removals.place import point_m
from removals.things import FeatureKind, Thing

TREE = FallingTree(height_m=15.0, crown_radius_m=3.0)
metres = st.floats(-35, 35)
places = st.tuples(metres, metres)


def thing(*points: tuple[float, float], kind=FeatureKind.TREE, name="T-1", radius_m=0.0, foot_radius_m=0.0) -> Thing:
    return Thing(kind=kind, name=name, points=points, radius_m=radius_m, foot_radius_m=foot_radius_m)


def at(bearing_deg: float, distance_m: float, **changes) -> Thing:
    return thing(point_m(bearing_deg, distance_m), **changes)


@st.composite
def things(draw, kinds=tuple(kind for kind in FeatureKind if kind is not FeatureKind.WIRE)) -> Thing:
    points = draw(st.lists(places, min_size=1, max_size=4, unique=True))
    return thing(
        *points,
        kind=draw(st.sampled_from(kinds)),
        name=draw(st.sampled_from("abcdef")),
        radius_m=draw(st.floats(0, 5)),
        foot_radius_m=draw(st.floats(0, 0.5)),
    )


trees = st.builds(
    FallingTree,
    height_m=st.floats(4, 30),
    crown_radius_m=st.floats(0.5, 6),
    lean_deg=st.floats(0, 12),
    lean_toward_deg=st.none() | st.floats(0, 360),
    slope_pct=st.floats(0, 40),
    downhill_deg=st.none() | st.floats(0, 360),
    steering_error_deg=st.floats(1, 30),
)
names = st.frozensets(st.sampled_from("abcdef"))


def lay(findings: LayFindings, bearing_deg: float):
    return next(each for each in findings.lays if each.bearing_deg == bearing_deg)


# --- the swath


def hull(tree: FallingTree, lay_deg: float):
    """The swath as the convex hull of its sector and of the strip beside each of its edges."""
    reach = 1.1 * tree.height_m
    left, right = lay_deg - tree.steering_error_deg, lay_deg + tree.steering_error_deg
    corners = [(0.0, 0.0)]
    for edge_deg, side_deg in ((left, left - 90), (right, right + 90)):
        off_x, off_y = point_m(side_deg, tree.crown_radius_m)
        tip_x, tip_y = point_m(edge_deg, reach)
        corners += [(off_x, off_y), (tip_x + off_x, tip_y + off_y)]
    corners += [point_m(left + (right - left) * step / 2000, reach) for step in range(2001)]
    return MultiPoint(corners).convex_hull


def shape_of(each: Thing):
    if len(each.points) == 1:
        return Point(each.points[0])
    closed = len(each.points) > 3 and each.points[0] == each.points[-1]
    return Polygon(each.points) if closed else LineString(each.points)


@settings(max_examples=25, deadline=None)
@given(trees, st.lists(things(), max_size=6), names)
def test_what_a_swath_holds_is_what_shapely_finds_in_it(tree, around, accepted):
    for found in find_lays(tree, around, accepted).lays[::4]:
        swath = hull(tree, found.bearing_deg)
        held = {(seen.thing.name, seen.thing.bearing_deg) for seen in found.in_swath}
        for each in around:
            gap = swath.distance(shape_of(each)) - each.radius_m
            (one,) = judge_lay(tree, [each], found.bearing_deg).in_swath or (None,)
            if abs(gap) > 0.02:
                assert (one is not None) is (gap < 0)
            assert one is None or (one.thing.name, one.thing.bearing_deg) in held


@settings(max_examples=25, deadline=None)
@given(trees, st.lists(things(), max_size=6), names)
def test_the_swath_of_an_open_lay_holds_nothing_that_is_not_accepted(tree, around, accepted):
    for found in find_lays(tree, around, accepted).lays:
        if found.open:
            swath = hull(tree, found.bearing_deg)
            others = [each for each in around if each.name not in accepted]
            assert all(swath.distance(shape_of(each)) > each.radius_m for each in others)


def test_a_bearing_is_blocked_by_what_stands_within_the_error_and_the_crown():
    findings = find_lays(TREE, [at(90.0, 12.0)])
    blocked = [each.bearing_deg for each in findings.lays if each.status is LayStatus.BLOCKED]
    # The crown's edge passes 3 m beside the error's edge: at 12 m that is asin(3/12) beyond ten degrees.
    half = 10 + math.degrees(math.asin(3 / 12))
    assert blocked == [bearing for bearing in BEARINGS_DEG if abs(bearing - 90) <= half]


def test_beyond_the_keep_clear_distance_nothing_blocks():
    assert lay(find_lays(TREE, [at(90.0, 16.4)]), 90.0).status is LayStatus.BLOCKED
    assert lay(find_lays(TREE, [at(90.0, 16.6)]), 90.0).status is LayStatus.CLEAR
    assert lay(find_lays(TREE, [at(90.0, 18.0, radius_m=2.0)]), 90.0).status is LayStatus.BLOCKED


def test_what_blocks_is_named_with_its_bearing_and_distance():
    path = thing((10.0, -20.0), (10.0, 20.0), kind=FeatureKind.PATH, name="Towpath")
    found = lay(find_lays(TREE, [path]), 60.0)
    (seen,) = found.blocked_by
    assert (seen.name, seen.kind, seen.bearing_deg, seen.distance_m) == ("Towpath", "path", 90.0, 10.0)
    assert found.clear_length_m == 10.0
    assert lay(find_lays(TREE, [path]), 270.0).clear_length_m is None


def test_a_tree_in_the_midst_of_a_closed_ground_has_no_clear_lay():
    pitch = [(-50.0, -50.0), (50.0, -50.0), (50.0, 50.0), (-50.0, 50.0), (-50.0, -50.0)]
    inside = find_lays(TREE, [thing(*pitch, kind=FeatureKind.TARGET)])
    fenced = find_lays(TREE, [thing(*pitch[:-1], kind=FeatureKind.TARGET)])
    assert {each.status for each in inside.lays} == {LayStatus.BLOCKED}
    assert {each.status for each in fenced.lays} == {LayStatus.CLEAR}


# --- accepted by name


def test_what_is_accepted_by_name_leaves_the_lay_open_and_named():
    bench, fence = at(90.0, 8.0, kind=FeatureKind.TARGET, name="bench"), at(95.0, 9.0, name="sapling")
    assert lay(find_lays(TREE, [bench], {"bench"}), 90.0).status is LayStatus.ACCEPTED
    both = lay(find_lays(TREE, [bench, fence], {"bench"}), 90.0)
    assert (both.status, both.accepted) == (LayStatus.BLOCKED, ("bench",))
    assert [seen.name for seen in both.blocked_by] == ["sapling"]


def test_a_wire_is_never_accepted():
    wide = replace(TREE, crown_radius_m=20.0)
    wire = thing(point_m(0.0, 23.0), kind=FeatureKind.WIRE, name="wire")
    found = judge_lay(wire_free(wide), [wire], 60.0, {"wire"})
    assert [seen.name for seen in found.blocked_by] == ["wire"]


def wire_free(tree: FallingTree) -> FallingTree:
    """Wide enough to reach beyond 1.5 H beside the lay."""
    assert tree.swath.farthest_m > 1.5 * tree.height_m
    return tree


# --- wires


def test_a_wire_within_one_and_a_half_heights_stops_every_lay():
    wire = thing((-60.0, 22.4), (60.0, 22.4), kind=FeatureKind.WIRE, name="service drop")
    findings = find_lays(TREE, [wire], {"service drop"})
    assert "stop until its owner isolates it" in findings.refusal
    assert findings.wire_distance_m == pytest.approx(22.4)
    assert {each.status for each in findings.lays} == {LayStatus.BLOCKED}
    assert findings.proposed == ()


def test_a_wire_beyond_stops_none():
    wire = thing((-60.0, 22.6), (60.0, 22.6), kind=FeatureKind.WIRE, name="service drop")
    findings = find_lays(replace(TREE, wires_noted=True), [wire])
    assert findings.refusal == ""
    assert all(each.open for each in findings.lays)


def test_wires_noted_and_not_placed_stop_every_lay():
    findings = find_lays(replace(TREE, wires_noted=True), [])
    assert findings.refusal == NO_PLACE_FOR_WIRES
    assert not any(each.open for each in findings.lays)


# --- lean, slope, ways out


def test_the_method_s_bounds_on_lean_block_the_lays_they_refuse():
    findings = find_lays(replace(TREE, lean_deg=12.0, lean_toward_deg=0.0), [])
    assert lay(findings, 0.0).open
    assert lay(findings, 90.0).refusals == ("The side lean is 12°; the method covers 10°.",)
    assert lay(findings, 180.0).refusals == ("The back lean is 12°; the method covers 10°.",)


def test_a_lean_is_resolved_along_and_across_the_lay():
    findings = find_lays(replace(TREE, lean_deg=6.0, lean_toward_deg=90.0), [])
    assert lay(findings, 270.0).back_lean_deg == pytest.approx(6.0)
    assert lay(findings, 0.0).side_lean_deg == pytest.approx(6.0)
    assert lay(findings, 180.0).side_lean_deg == pytest.approx(-6.0)
    part = math.degrees(math.atan(math.tan(math.radians(6)) * math.cos(math.radians(30))))
    assert lay(findings, 60.0).back_lean_deg == pytest.approx(-part)


def test_a_lean_of_unknown_direction_counts_against_every_lay():
    findings = find_lays(replace(TREE, lean_deg=2.0), [])
    assert {(each.back_lean_deg, each.side_lean_deg) for each in findings.lays} == {(2.0, 2.0)}
    assert len({each.score for each in findings.lays}) == 1


def test_a_slope_is_resolved_and_of_unknown_direction_taken_as_downhill():
    findings = find_lays(replace(TREE, slope_pct=20.0, downhill_deg=90.0), [])
    parts = {
        b: (lay(findings, b).fall_of_ground_pct, lay(findings, b).across_the_ground_pct) for b in (0.0, 90.0, 270.0)
    }
    assert parts == {
        0.0: pytest.approx((0, 20), abs=1e-9),
        90.0: pytest.approx((20, 0), abs=1e-9),
        270.0: pytest.approx((-20, 0), abs=1e-9),
    }
    assert lay(find_lays(replace(TREE, slope_pct=20.0), []), 35.0).fall_of_ground_pct == 20.0


def test_across_the_slope_comes_first_then_uphill_then_downhill():
    findings = find_lays(replace(TREE, slope_pct=20.0, downhill_deg=90.0), [])
    across, up, down = (lay(findings, bearing).score for bearing in (0.0, 270.0, 90.0))
    assert across > up > down


def test_too_steep_a_slope_blocks_every_lay():
    findings = find_lays(replace(TREE, slope_pct=36.0), [])
    assert {each.refusals for each in findings.lays} == {("The slope is 36 %; the method covers 35 %.",)}


def test_a_city_s_tighter_bounds_are_kept():
    tight = METHOD_BOUNDS.tightened(slope_pct=Range(0.0, 10.0), wire_heights=Range(2.0, math.inf))
    wire = thing((0.0, 25.0), kind=FeatureKind.WIRE)
    assert not any(each.open for each in find_lays(replace(TREE, slope_pct=12.0), [], bounds=tight).lays)
    assert find_lays(TREE, [wire], bounds=tight).refusal


def test_a_trunk_on_the_way_out_bars_it_and_a_path_does_not():
    trunk = at(135.0, 5.0, foot_radius_m=0.2, name="T-9")
    right, left = judge_lay(TREE, [trunk], 0.0).ways_out
    assert (right.bearing_deg, right.free, right.barred_by) == (135.0, False, ("T-9",))
    assert (left.bearing_deg, left.free) == (225.0, True)
    assert all(way.free for way in judge_lay(TREE, [replace(trunk, kind=FeatureKind.PATH)], 0.0).ways_out)


@pytest.mark.parametrize(("aside_m", "free"), [(1.1, False), (1.3, True)])
def test_a_way_out_is_two_metres_wide(aside_m, free):
    east, north = point_m(135.0, 5.0)
    off_east, off_north = point_m(225.0, aside_m)
    trunk = thing((east + off_east, north + off_north), foot_radius_m=0.2)
    assert judge_lay(TREE, [trunk], 0.0).ways_out[0].free is free


def test_a_lay_without_a_way_out_is_blocked():
    found = judge_lay(TREE, [at(135.0, 5.0), at(225.0, 5.0)], 0.0, {"T-1"})
    assert found.status is LayStatus.BLOCKED
    assert found.refusals == ("Both ways out are barred.",)


def test_the_way_out_on_the_side_of_the_lean_is_flagged_and_worth_less_alone():
    leaning = replace(TREE, lean_deg=2.0, lean_toward_deg=90.0)
    right, left = judge_lay(leaning, [], 0.0).ways_out
    assert (right.lean_side, left.lean_side) == (True, False)
    only_right, only_left = (lay(find_lays(leaning, [at(b, 6.0)]), 0.0) for b in (225.0, 135.0))
    assert only_left.score - only_right.score == pytest.approx(5.0)


def test_forward_lean_over_the_plain_cut_costs_points():
    five, seven = (lay(find_lays(replace(TREE, lean_deg=d, lean_toward_deg=0.0), []), 0.0).score for d in (5.0, 7.0))
    assert five - seven == pytest.approx(4.0)


# --- the rose as a whole


@settings(max_examples=25, deadline=None)
@given(trees, st.lists(things(), max_size=5), things(tuple(FeatureKind)), names)
def test_one_more_thing_never_makes_a_bearing_better(tree, around, more, accepted):
    order = [LayStatus.BLOCKED, LayStatus.ACCEPTED, LayStatus.CLEAR]
    before, after = find_lays(tree, around, accepted), find_lays(tree, [*around, more], accepted)
    for old, new in zip(before.lays, after.lays, strict=True):
        assert order.index(new.status) <= order.index(old.status)
        assert new.score <= old.score + 1e-9
        assert new.room_deg <= old.room_deg


def turned(each: Thing, turn_deg: float) -> Thing:
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return replace(each, points=tuple((x * c + y * s, y * c - x * s) for x, y in each.points))


def turned_tree(tree: FallingTree, turn_deg: float) -> FallingTree:
    def bearing(deg):
        return None if deg is None else (deg + turn_deg) % 360

    return replace(tree, lean_toward_deg=bearing(tree.lean_toward_deg), downhill_deg=bearing(tree.downhill_deg))


@settings(max_examples=25, deadline=None)
@given(trees, st.lists(things(), max_size=5), names, st.integers(1, 71))
def test_turning_the_place_turns_the_rose(tree, around, accepted, steps):
    before = find_lays(tree, around, accepted)
    after = find_lays(turned_tree(tree, 5 * steps), [turned(each, 5 * steps) for each in around], accepted)
    moved = [*after.lays[steps:], *after.lays[:steps]]
    assert [each.status for each in moved] == [each.status for each in before.lays]
    assert [each.score for each in moved] == pytest.approx([each.score for each in before.lays], abs=1e-6)


@pytest.mark.parametrize("steps", [1, 17, 40, 71])
def test_turning_the_place_turns_the_proposals(steps):
    tree = replace(TREE, lean_deg=4.0, lean_toward_deg=33.0, slope_pct=9.0, downhill_deg=100.0)
    around = [at(20.0, 9.0, radius_m=2.0), at(140.0, 12.0), at(150.0, 5.0), at(301.0, 14.0)]
    before = find_lays(tree, around)
    after = find_lays(turned_tree(tree, 5 * steps), [turned(each, 5 * steps) for each in around])
    assert [each.bearing_deg for each in after.proposed] == [
        (each.bearing_deg + 5 * steps) % 360 for each in before.proposed
    ]


@settings(max_examples=25, deadline=None)
@given(trees, st.lists(things(), max_size=6), names)
def test_proposals_are_open_apart_and_the_best_comes_first(tree, around, accepted):
    findings = find_lays(tree, around, accepted)
    proposed = [each.bearing_deg for each in findings.proposed]
    for n, one in enumerate(proposed):
        for other in proposed[n + 1 :]:
            assert APART_DEG <= abs(one - other) <= 360 - APART_DEG
    open_lays = [each for each in findings.lays if each.open]
    assert bool(proposed) is bool(open_lays)
    assert len(proposed) <= 3
    if open_lays:
        clear = [each for each in open_lays if each.status is LayStatus.CLEAR] or open_lays
        assert findings.proposed[0].status is clear[0].status
        assert findings.proposed[0].score == pytest.approx(max(each.score for each in clear))


def test_an_upright_tree_in_the_open_may_fall_anywhere():
    findings = find_lays(TREE, [])
    assert {(each.status, each.score, each.room_deg) for each in findings.lays} == {(LayStatus.CLEAR, 100.0, 180.0)}
    assert len(findings.proposed) == 3


def test_room_is_what_one_may_turn_before_a_blocked_lay():
    findings = find_lays(TREE, [at(90.0, 12.0)])  # blocks 70° to 110°
    assert [lay(findings, bearing).room_deg for bearing in (65.0, 60.0, 120.0, 90.0)] == [0.0, 5.0, 5.0, 0.0]


def test_a_clear_lay_goes_before_an_accepted_one_with_more_points():
    hedge = thing(*(point_m(bearing, 12.0) for bearing in range(-90, 91, 10)), name="hedge")
    findings = find_lays(replace(TREE, lean_deg=5.0, lean_toward_deg=0.0), [hedge], {"hedge"})
    assert findings.proposed[0].status is LayStatus.CLEAR
    assert lay(findings, 0.0).score > findings.proposed[0].score


def test_what_stands_where_no_people_may_be_is_listed_nearest_first():
    far, near, out = at(10.0, 29.0, name="far"), at(200.0, 8.0, name="near"), at(90.0, 31.0, name="out")
    assert [seen.name for seen in find_lays(TREE, [far, near, out]).in_drop_zone] == ["near", "far"]


def test_names_of_all_that_blocks_a_lay():
    findings = find_lays(TREE, [at(0.0, 9.0, name="a"), at(90.0, 9.0, name="b"), at(90.0, 40.0, name="c")], {"b"})
    assert findings.hit == {"a"}


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"height_m": 0.0}, "height"),
        ({"crown_radius_m": -1.0}, "crown"),
        ({"lean_deg": 90.0}, "lean"),
        ({"steering_error_deg": 46.0}, "steering"),
    ],
)
def test_what_cannot_be_is_refused(changes, word):
    with pytest.raises(ValueError, match=word):
        replace(TREE, **changes)
