"""Positions on Earth as metres around a stump, on the WGS 84 ellipsoid (geodesics of Karney 2013, through pyproj)."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pyproj import Geod

from removals.place import Point, point_m

GEOD = Geod(ellps="WGS84")
WIDER = 1.001
POLE_RADII = 100
"""Away from the poles by so many radii, a circle's points due east and west are its farthest but for less than that."""

Position = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Box:
    """A window in degrees; `west` lies east of `east` when it crosses the 180th meridian."""

    west: float
    south: float
    east: float
    north: float

    @property
    def parts(self) -> tuple["Box", ...]:
        """The box as windows from west to east: one, or one on either side of the 180th meridian."""
        if self.west <= self.east:
            return (self,)
        return (Box(self.west, self.south, 180.0, self.north), Box(-180.0, self.south, self.east, self.north))


def local_points_m(stump: Position, positions: Sequence[Position]) -> tuple[Point, ...]:
    """Positions (longitude, latitude in degrees) as metres east and north of the stump: true bearing and distance."""
    if not positions:
        return ()
    lons, lats = (list(each) for each in zip(*positions, strict=True))
    count = len(positions)
    bearings, _, distances = GEOD.inv([stump[0]] * count, [stump[1]] * count, lons, lats)
    return tuple(point_m(bearing, distance) for bearing, distance in zip(bearings, distances, strict=True))


def position_at(stump: Position, point: Point) -> Position:
    """The way back: longitude and latitude of a point in metres east and north of the stump."""
    east_m, north_m = point
    bearing_deg = math.degrees(math.atan2(east_m, north_m))
    lon, lat, _ = GEOD.fwd(*stump, bearing_deg, math.hypot(east_m, north_m))
    return float(lon), float(lat)


def box_around(stump: Position, radius_m: float) -> Box:
    """A window that holds every position within a radius. ValueError near a pole."""
    reach_m = WIDER * radius_m
    pole_m = GEOD.inv(*stump, stump[0], math.copysign(90.0, stump[1]))[2]
    if pole_m <= POLE_RADII * reach_m:
        raise ValueError("No window is laid around a position so near to a pole.")
    (_, north), (_, south) = position_at(stump, (0.0, reach_m)), position_at(stump, (0.0, -reach_m))
    (east, _), (west, _) = position_at(stump, (reach_m, 0.0)), position_at(stump, (-reach_m, 0.0))
    return Box(west, south, east, north)
