"""Plane geometry around the stump: what is nearest, and what reaches into a convex area.

Points as (east, north) in metres. A line is its points in order; one that ends where it began encloses its ground.
"""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from removals.place import Point

TOUCH_M = 0.01
"""A thing this close counts as touching: no position is surer, and an arc drawn by chords is not short of it."""

Segment = tuple[Point, Point]


def nearest_point(points: Sequence[Point]) -> Point:
    """The point of a point or line that lies nearest to the stump."""
    candidates = (_foot((0.0, 0.0), segment) for segment in _segments(points))
    return min(candidates, key=lambda point: math.hypot(*point))


def comes_within(points: Sequence[Point], radius_m: float, reach_m: float) -> bool:
    """Whether a point or line, widened by a radius, comes within a reach of the stump or goes round it."""
    return math.hypot(*nearest_point(points)) <= reach_m + radius_m + TOUCH_M or _encloses(points, (0.0, 0.0))


def meets(points: Sequence[Point], radius_m: float, corners: Sequence[Point]) -> bool:
    """Whether a point or line, widened by a radius, reaches a convex area with its corners clockwise."""
    reach_m = radius_m + TOUCH_M
    edges = tuple(_segments((*corners, corners[0])))
    if _encloses(points, corners[0]) or _inside(points[0], edges):
        return True
    if any(_beyond(points, edge, reach_m) for edge in edges):
        return False
    return any(_gap_m(segment, edge) <= reach_m for segment in _segments(points) for edge in edges)


def _segments(points: Sequence[Point]) -> Iterator[Segment]:
    """A single point is a segment of no length."""
    if len(points) == 1:
        yield points[0], points[0]
    yield from pairwise(points)


def _foot(point: Point, segment: Segment) -> Point:
    """The point of a segment nearest to another point."""
    (ax, ay), (bx, by) = segment
    length2 = (bx - ax) ** 2 + (by - ay) ** 2
    if length2 == 0:
        return ax, ay
    along = ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / length2
    share = min(1.0, max(0.0, along))
    return ax + share * (bx - ax), ay + share * (by - ay)


def _left_of(point: Point, segment: Segment) -> float:
    """Twice the area of the triangle with a segment: positive to the left of it, which is outside a clockwise area."""
    (ax, ay), (bx, by) = segment
    return (bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)


def _inside(point: Point, edges: Sequence[Segment]) -> bool:
    return all(_left_of(point, edge) <= 0 for edge in edges)


def _beyond(points: Sequence[Point], edge: Segment, reach_m: float) -> bool:
    """Whether all points lie farther outside an edge than a reach: then nothing of the line touches the area."""
    limit = reach_m * math.dist(*edge)
    return limit > 0 and all(_left_of(point, edge) > limit for point in points)


def _encloses(points: Sequence[Point], point: Point) -> bool:
    """Whether a closed line goes round a point (crossings of a ray to the east, even or odd)."""
    if len(points) < 4 or points[0] != points[-1]:
        return False
    x, y = point
    crossings = sum(
        1
        for (ax, ay), (bx, by) in pairwise(points)
        if (ay > y) is not (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax)
    )
    return crossings % 2 == 1


def _gap_m(one: Segment, other: Segment) -> float:
    if _cross(one, other):
        return 0.0
    ends = ((point, other) for point in one), ((point, one) for point in other)
    return min(math.dist(point, _foot(point, segment)) for pairs in ends for point, segment in pairs)


def _cross(one: Segment, other: Segment) -> bool:
    """Whether two segments cross in their insides; touching ends are found by their distance."""
    apart_one = _left_of(one[0], other) * _left_of(one[1], other)
    apart_other = _left_of(other[0], one) * _left_of(other[1], one)
    return apart_one < 0 and apart_other < 0
