"""Plane geometry against shapely."""

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPoint, Point, Polygon

from removals.clearance import TOUCH_M, comes_within, meets, nearest_point

SQUARE = ((-2.0, 2.0), (2.0, 2.0), (2.0, -2.0), (-2.0, -2.0))
RING = ((-5.0, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0), (-5.0, -5.0))
points = st.tuples(st.floats(-10, 10), st.floats(-10, 10))
lines = st.lists(points, min_size=1, max_size=5, unique=True)


def shape(line):
    return Point(line[0]) if len(line) == 1 else LineString(line)


@given(lines)
def test_the_nearest_point_is_as_far_as_shapely_says(line):
    assert math.hypot(*nearest_point(line)) == pytest.approx(shape(line).distance(Point(0, 0)), abs=1e-9)


@settings(deadline=None)
@given(lines, st.floats(0, 4), st.lists(points, min_size=3, max_size=8))
def test_a_line_meets_an_area_where_shapely_finds_no_gap(line, radius_m, scatter):
    area = MultiPoint(scatter).convex_hull
    assume(isinstance(area, Polygon) and area.area > 0.1)
    corners = list(area.exterior.coords)[:-1]
    clockwise = corners if not area.exterior.is_ccw else corners[::-1]
    gap = area.distance(shape(line)) - radius_m - TOUCH_M
    assume(abs(gap) > 1e-6)
    assert meets(line, radius_m, clockwise) is (gap < 0)


@pytest.mark.parametrize(
    ("line", "met"),
    [
        (((0.0, 0.0),), True),
        (((3.0, 0.0),), False),
        (((-9.0, 0.0), (9.0, 0.0)), True),
        (((-9.0, 3.0), (9.0, 3.0)), False),
        (((0.0, 4.1), (4.1, 0.0)), False),
        (RING, True),
        (RING[:-1], False),
        (tuple((x + 20, y) for x, y in RING), False),
    ],
)
def test_lines_and_closed_ground(line, met):
    assert meets(line, 0.0, SQUARE) is met


def test_touching_counts():
    assert meets(((2.005, 0.0),), 0.0, SQUARE)
    assert meets(((5.0, 0.0),), 3.0, SQUARE)
    assert not meets(((2.02, 0.0),), 0.0, SQUARE)


def test_beside_a_corner_only_the_true_distance_counts():
    assert not meets(((3.0, 3.0),), 1.2, SQUARE)
    assert meets(((3.0, 3.0),), 1.42, SQUARE)


@pytest.mark.parametrize(("line", "near"), [(RING, True), (RING[:-1], False), (((0.0, 3.0),), True)])
def test_what_goes_round_the_stump_comes_within_reach(line, near):
    assert comes_within(line, 0.0, 4.0) is near


def test_a_radius_brings_a_thing_nearer():
    assert comes_within(((0.0, 6.0),), 2.0, 4.0)
    assert not comes_within(((0.0, 6.0),), 1.9, 4.0)
