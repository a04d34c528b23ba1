"""The standing trees nearest to a position: a few ranges of the map's index, then geodesic distances."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import Q
from pyproj import Geod

from inventory.cells import window
from inventory.models import Tree

GEOD = Geod(ellps="WGS84")
# The shortest degree of latitude on the ellipsoid, a little less than it is, so that the window never comes out too small.
_M_PER_DEGREE = 110_500.0
_READ_AT_MOST = 3_000


@dataclass(frozen=True)
class Near:
    tree: Tree
    distance_m: float


def nearest_trees(lon: float, lat: float, *, within_m: float = 60.0, most: int = 5) -> list[Near]:
    """Up to ``most`` standing trees within ``within_m`` of the position (WGS 84, degrees), the nearest first."""
    cells = Q()
    for west, east in _spans(lon, within_m / (_M_PER_DEGREE * max(math.cos(math.radians(lat)), 0.01))):
        reach = within_m / _M_PER_DEGREE
        for first, last in window(west, max(lat - reach, -90.0), east, min(lat + reach, 90.0)):
            cells |= Q(cell__range=(first, last))
    trees = list(
        Tree.objects.standing().filter(cells).select_related("species", "park").defer("park__boundary")[:_READ_AT_MOST]
    )
    if not trees:
        return []
    _, _, metres = GEOD.inv([lon] * len(trees), [lat] * len(trees), [t.lon for t in trees], [t.lat for t in trees])
    near = sorted((Near(tree, distance) for tree, distance in zip(trees, metres, strict=True)), key=_by_distance)
    return [each for each in near if each.distance_m <= within_m][:most]


def _by_distance(near: Near) -> tuple[float, int]:
    return near.distance_m, near.tree.pk


def _spans(lon: float, reach: float) -> Iterator[tuple[float, float]]:
    """The window's west and east: two where it lies across the 180th meridian."""
    west, east = lon - reach, lon + reach
    yield max(west, -180.0), min(east, 180.0)
    if west < -180.0:
        yield west + 360.0, 180.0
    if east > 180.0:
        yield -180.0, east - 360.0
