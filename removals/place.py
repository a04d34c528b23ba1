"""The place of the fall: bearings, zones and points around the stump.

Bearings in degrees from true north, clockwise; distances in metres; points as (east, north) of the stump. The zones are
settings with their source: 2 tree heights for people (Michigan R408.15336; two tree lengths in 29 CFR 1910.266(d)(6));
retreat diagonally back at 45° to at least 25 ft (OAR 437-007-0810(9); OSHA's eTool says 20 ft), never straight behind.
"""

import math
from dataclasses import dataclass

from inventory.units import M_PER_FT
from removals.felling_input import FellingInput

KEEP_CLEAR_HEIGHTS = 1.1
RETREAT_DISTANCE_M = 25 * M_PER_FT
RETREAT_TURNS_DEG = (135.0, 225.0)
CONE_LEAST_DEG = 45.0
CONE_BEYOND_ERROR_DEG = 35.0
APPROACH_HEIGHTS = 2.0
PULLER_HEIGHTS = 1.5

ARC_STEP_DEG = 0.5

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Swath:
    """Ground that the falling tree may sweep: the lay ± the steering error, widened by the crown's radius."""

    half_deg: float
    reach_m: float
    crown_radius_m: float

    @property
    def farthest_m(self) -> float:
        """No part of it lies farther from the stump."""
        return math.hypot(self.reach_m, self.crown_radius_m)

    def corners(self, lay_deg: float) -> tuple[Point, ...]:
        """Its outline for a lay, clockwise from behind the left of the stump. Convex for a half-angle up to 90°."""
        left, right = lay_deg - self.half_deg, lay_deg + self.half_deg
        left_off, right_off = point_m(left - 90.0, self.crown_radius_m), point_m(right + 90.0, self.crown_radius_m)
        return (
            left_off,
            _plus(point_m(left, self.reach_m), left_off),
            *sector(lay_deg, self.half_deg, self.reach_m),
            _plus(point_m(right, self.reach_m), right_off),
            right_off,
        )


@dataclass(frozen=True, slots=True)
class Retreat:
    """One way out: its bearing, where it ends, and whether the tree leans to its side."""

    bearing_deg: float
    point_m: Point
    lean_side: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Distances from the stump. Bearings and points are None or empty while no lay is chosen."""

    lay_deg: float | None
    magnetic_lay_deg: float | None
    drop_zone_m: float | None
    keep_clear_m: float
    top_distance_m: float
    top_point_m: Point | None
    top_side_m: float
    swath_half_deg: float
    crown_radius_m: float
    cone_half_deg: float
    approach_m: float
    puller_least_m: float
    retreats: tuple[Retreat, ...]

    @property
    def swath(self) -> Swath:
        return Swath(self.swath_half_deg, self.keep_clear_m, self.crown_radius_m)


def point_m(bearing_deg: float, distance_m: float) -> Point:
    angle = math.radians(bearing_deg)
    return distance_m * math.sin(angle), distance_m * math.cos(angle)


def polar(point: Point) -> tuple[float, float]:
    """Bearing in degrees (0 ≤ b < 360) and distance of a point from the stump."""
    east_m, north_m = point
    bearing_deg = math.degrees(math.atan2(east_m, north_m)) % 360.0
    # A bearing a hair west of north rounds up to the full circle.
    return (0.0 if bearing_deg == 360.0 else bearing_deg), math.hypot(east_m, north_m)


def sector(lay_deg: float, half_deg: float, reach_m: float) -> tuple[Point, ...]:
    """Points of an arc around the lay, from its left to its right."""
    steps = max(2, math.ceil(2 * half_deg / ARC_STEP_DEG))
    return tuple(point_m(lay_deg + half_deg * (2 * step / steps - 1), reach_m) for step in range(steps + 1))


def _plus(a: Point, b: Point) -> Point:
    return a[0] + b[0], a[1] + b[1]


def swath_for(height_m: float, crown_radius_m: float, steering_error_deg: float) -> Swath:
    return Swath(steering_error_deg, KEEP_CLEAR_HEIGHTS * height_m, crown_radius_m)


def resolve(amount: float, toward_deg: float, lay_deg: float) -> tuple[float, float]:
    """Parts of a horizontal amount against the fall and to the right of it; a lean with the fall comes out negative."""
    turn = math.radians(toward_deg - lay_deg)
    return -amount * math.cos(turn), amount * math.sin(turn)


def resolve_wind(gust_ms: float, from_deg: float, lay_deg: float) -> tuple[float, float]:
    """Parts of a gust against the fall (0 when it blows with it: never counted as help) and across it, both ≥ 0."""
    against, side = resolve(gust_ms, from_deg + 180.0, lay_deg)
    return max(0.0, against), abs(side)


def retreat_bearings_deg(lay_deg: float) -> tuple[float, float]:
    right, left = ((lay_deg + turn) % 360.0 for turn in RETREAT_TURNS_DEG)
    return right, left


def cone_half_deg(steering_error_deg: float) -> float:
    """Half-angle of the danger cone: 45°, never less than the steering error and 35°."""
    return max(CONE_LEAST_DEG, steering_error_deg + CONE_BEYOND_ERROR_DEG)


def place_for(inp: FellingInput, *, zone_holds: bool = True) -> Place:
    """The place as the plan sees it; the drop zone is None when its multiple lies outside the method."""
    site = inp.site
    top_m = inp.height_m - inp.cut_height_m
    radius_m = inp.crown_spread_m / 2
    return Place(
        lay_deg=site.lay_deg,
        magnetic_lay_deg=_magnetic(site.lay_deg, site.declination_deg),
        drop_zone_m=site.zone_multiple * inp.height_m if zone_holds else None,
        keep_clear_m=KEEP_CLEAR_HEIGHTS * inp.height_m,
        top_distance_m=top_m,
        top_point_m=None if site.lay_deg is None else point_m(site.lay_deg, top_m),
        top_side_m=top_m * math.sin(math.radians(site.steering_error_deg)) + radius_m,
        swath_half_deg=site.steering_error_deg,
        crown_radius_m=radius_m,
        cone_half_deg=cone_half_deg(site.steering_error_deg),
        approach_m=APPROACH_HEIGHTS * inp.height_m,
        puller_least_m=PULLER_HEIGHTS * inp.height_m,
        retreats=_retreats(site.lay_deg, inp.side_lean_m),
    )


def _magnetic(lay_deg: float | None, declination_deg: float | None) -> float | None:
    """Compass bearing of the lay: true minus the declination, east positive."""
    if lay_deg is None or declination_deg is None:
        return None
    return (lay_deg - declination_deg) % 360.0


def _retreats(lay_deg: float | None, side_lean_m: float) -> tuple[Retreat, ...]:
    if lay_deg is None:
        return ()
    right, left = retreat_bearings_deg(lay_deg)
    return (
        Retreat(right, point_m(right, RETREAT_DISTANCE_M), side_lean_m > 0),
        Retreat(left, point_m(left, RETREAT_DISTANCE_M), side_lean_m < 0),
    )
