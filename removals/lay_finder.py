"""Which way a tree may fall: every bearing around the stump judged by what stands there, the lean and the slope.

The swath, the ways out and the bounds are those of the plan (`removals.place`, `removals.bounds`). A lay is *clear* when
its swath holds nothing, *accepted* when it holds only what the manager has accepted by name, else *blocked*; a lay that
the method refuses for its lean or slope, or that leaves no way out, is blocked too. A wire is never accepted, and one
within 1.5 H stops them all. The points by which open lays are ranked are this program's own order of preference, not
from a source: they say which lay to look at first, never that one is safe.
"""

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from removals.bounds import (
    METHOD_BOUNDS,
    Bounds,
    back_lean_outside,
    side_lean_outside,
    slope_outside,
    wire_outside,
)
from removals.clearance import comes_within, meets, nearest_point
from removals.felling_input import STEERING_ERROR_DEG, ZONE_MULTIPLE
from removals.place import (
    RETREAT_DISTANCE_M,
    Point,
    Swath,
    point_m,
    polar,
    resolve,
    retreat_bearings_deg,
    swath_for,
)
from removals.things import BARS_THE_WAY, NEVER_ACCEPTED, FeatureKind, Seen, Thing

STEP_DEG = 5
BEARINGS_DEG = tuple(float(bearing) for bearing in range(0, 360, STEP_DEG))
PROPOSALS = 3
APART_DEG = 20.0
STEERING_ERROR_MOST_DEG = 45.0
WAY_OUT_HALF_WIDTH_M = 1.0

FULL_SCORE = 100.0
LEAST_OPEN_SCORE = 1.0
ACCEPTED_POINTS = 5.0
BARRED_WAY_POINTS = 15.0
LEAN_WAY_POINTS = 5.0
BACK_LEAN_POINTS = 3.0
STEEP_FORWARD_POINTS = 2.0
SIDE_LEAN_POINTS = 4.0
DOWNHILL_POINTS = 0.6
UPHILL_POINTS = 0.4
NARROW_POINTS = 10.0
ROOMY_DEG = 30.0

NO_PLACE_FOR_WIRES = "Overhead lines are noted at this tree and none is on the picture: enter where they run."


class LayStatus(StrEnum):
    CLEAR = "clear"
    ACCEPTED = "accepted"
    BLOCKED = "blocked"


@dataclass(frozen=True, slots=True, kw_only=True)
class FallingTree:
    """The tree and the ground under it. A lean or slope of unknown direction counts against every lay."""

    height_m: float
    crown_radius_m: float
    lean_deg: float = 0.0
    lean_toward_deg: float | None = None
    slope_pct: float = 0.0
    downhill_deg: float | None = None
    steering_error_deg: float = STEERING_ERROR_DEG
    zone_multiple: float = ZONE_MULTIPLE
    wires_noted: bool = False

    def __post_init__(self) -> None:
        if self.height_m <= 0 or self.crown_radius_m < 0:
            raise ValueError("A lay needs the tree's height and its crown's radius.")
        if not 0 <= self.lean_deg < 90:
            raise ValueError("The lean is given in degrees from the vertical, 0 to 90.")
        if not 0 <= self.steering_error_deg <= STEERING_ERROR_MOST_DEG:
            raise ValueError(f"The steering error is given in degrees, 0 to {STEERING_ERROR_MOST_DEG:g}.")

    @property
    def swath(self) -> Swath:
        return swath_for(self.height_m, self.crown_radius_m, self.steering_error_deg)


@dataclass(frozen=True, slots=True)
class InSwath:
    """What the swath of a lay holds."""

    thing: Seen
    accepted: bool


@dataclass(frozen=True, slots=True)
class WayOut:
    """One of the two retreats, and what bars it."""

    bearing_deg: float
    barred_by: tuple[str, ...]
    lean_side: bool

    @property
    def free(self) -> bool:
        return not self.barred_by


@dataclass(frozen=True, slots=True, kw_only=True)
class Lay:
    """One bearing judged. `refusals` are sentences; leans and slope are the parts along and across this lay.

    `back_lean_deg` is positive against the fall, `side_lean_deg` to its right, `fall_of_ground_pct` positive downhill.
    `room_deg` is how far one may turn to either side before a blocked lay (180: none is). `score` is 0 when blocked.
    """

    bearing_deg: float
    status: LayStatus
    refusals: tuple[str, ...]
    in_swath: tuple[InSwath, ...]
    ways_out: tuple[WayOut, WayOut]
    back_lean_deg: float
    side_lean_deg: float
    fall_of_ground_pct: float
    across_the_ground_pct: float
    room_deg: float = 0.0
    score: float = 0.0

    @property
    def open(self) -> bool:
        return self.status is not LayStatus.BLOCKED

    @property
    def blocked_by(self) -> tuple[Seen, ...]:
        return tuple(each.thing for each in self.in_swath if not each.accepted)

    @property
    def accepted(self) -> tuple[str, ...]:
        return tuple(each.thing.name for each in self.in_swath if each.accepted)

    @property
    def clear_length_m(self) -> float | None:
        """How far the nearest thing in the swath stands that nobody has accepted; None when there is none."""
        return min((seen.distance_m for seen in self.blocked_by), default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class LayFindings:
    """All bearings, from north clockwise; the best open ones; and what stands where no people may be.

    `refusal` is the sentence that stops every lay, or empty.
    """

    tree: FallingTree
    refusal: str
    lays: tuple[Lay, ...]
    proposed: tuple[Lay, ...]
    in_drop_zone: tuple[Seen, ...]
    wire_distance_m: float | None

    @property
    def hit(self) -> frozenset[str]:
        """Names of all that blocks a lay."""
        return frozenset(seen.name for lay in self.lays for seen in lay.blocked_by)


def find_lays(
    tree: FallingTree,
    things: Sequence[Thing],
    accepted: Collection[str] = (),
    bounds: Bounds = METHOD_BOUNDS,
) -> LayFindings:
    """Judge every fifth degree. `accepted` holds the names of the things that the manager lets the tree fall on."""
    refusal = _stop(tree, things, bounds)
    near = [thing for thing in things if _matters(tree, thing)]
    judged = [judge_lay(tree, near, bearing, accepted, bounds) for bearing in BEARINGS_DEG]
    lays = tuple(_ranked(lay, room) for lay, room in zip(judged, _rooms_deg(judged), strict=True))
    return LayFindings(
        tree=tree,
        refusal=refusal,
        lays=lays,
        proposed=_proposed(lays),
        in_drop_zone=_seen_within(things, tree.zone_multiple * tree.height_m),
        wire_distance_m=nearest_wire_m(things),
    )


def judge_lay(
    tree: FallingTree,
    things: Sequence[Thing],
    lay_deg: float,
    accepted: Collection[str] = (),
    bounds: Bounds = METHOD_BOUNDS,
) -> Lay:
    """One bearing by itself, without its score and its room, which only its neighbours can tell."""
    back_deg, side_deg = _lean(tree, lay_deg)
    along_pct, across_pct = _ground(tree, lay_deg)
    in_swath = tuple(_in_swath(tree.swath, things, lay_deg, accepted))
    ways = _ways_out(things, lay_deg, side_deg)
    reasons = (
        _stop(tree, things, bounds),
        back_lean_outside(back_deg, bounds),
        side_lean_outside(side_deg, bounds),
        slope_outside(tree.slope_pct, bounds),
        None if any(way.free for way in ways) else "Both ways out are barred.",
    )
    refusals = tuple(reason for reason in reasons if reason)
    return Lay(
        bearing_deg=lay_deg,
        status=_status(refusals, in_swath),
        refusals=refusals,
        in_swath=in_swath,
        ways_out=ways,
        back_lean_deg=back_deg,
        side_lean_deg=side_deg,
        fall_of_ground_pct=along_pct,
        across_the_ground_pct=across_pct,
    )


def _matters(tree: FallingTree, thing: Thing) -> bool:
    """A wire always; anything else when a swath or a way out could reach it: most of what stands around does not."""
    reach_m = max(tree.swath.farthest_m, RETREAT_DISTANCE_M + WAY_OUT_HALF_WIDTH_M)
    return thing.kind is FeatureKind.WIRE or comes_within(
        thing.points, max(thing.radius_m, thing.foot_radius_m), reach_m
    )


def _status(refusals: Sequence[str], in_swath: Sequence[InSwath]) -> LayStatus:
    if refusals or not all(each.accepted for each in in_swath):
        return LayStatus.BLOCKED
    return LayStatus.ACCEPTED if in_swath else LayStatus.CLEAR


def _stop(tree: FallingTree, things: Sequence[Thing], bounds: Bounds) -> str:
    """What stops every lay: a wire too near, or one of which nobody has said where it runs."""
    wire_m = nearest_wire_m(things)
    if wire_m is None:
        return NO_PLACE_FOR_WIRES if tree.wires_noted else ""
    return wire_outside(wire_m, tree.height_m, bounds) or ""


def nearest_wire_m(things: Sequence[Thing]) -> float | None:
    """From the stump to the nearest wire."""
    distances = (math.hypot(*nearest_point(each.points)) for each in things if each.kind is FeatureKind.WIRE)
    return min(distances, default=None)


def _seen(thing: Thing) -> Seen:
    return Seen(thing.kind, thing.name, *polar(nearest_point(thing.points)))


def _seen_within(things: Sequence[Thing], reach_m: float) -> tuple[Seen, ...]:
    """Nearest first."""
    seen = sorted((_seen(thing) for thing in things), key=lambda each: (each.distance_m, each.name))
    return tuple(each for each in seen if each.distance_m <= reach_m)


def _in_swath(swath: Swath, things: Sequence[Thing], lay_deg: float, accepted: Collection[str]) -> Iterator[InSwath]:
    corners = swath.corners(lay_deg)
    for thing in things:
        if meets(thing.points, thing.radius_m, corners):
            yield InSwath(_seen(thing), thing.name in accepted and thing.kind not in NEVER_ACCEPTED)


def _ways_out(things: Sequence[Thing], lay_deg: float, side_lean_deg: float) -> tuple[WayOut, WayOut]:
    right, left = retreat_bearings_deg(lay_deg)
    return (
        WayOut(right, _barred_by(things, right), side_lean_deg > 0),
        WayOut(left, _barred_by(things, left), side_lean_deg < 0),
    )


def _barred_by(things: Sequence[Thing], bearing_deg: float) -> tuple[str, ...]:
    lane = _lane(bearing_deg)
    fixed = (thing for thing in things if thing.kind in BARS_THE_WAY)
    return tuple(thing.name for thing in fixed if meets(thing.points, thing.foot_radius_m, lane))


def _lane(bearing_deg: float) -> tuple[Point, ...]:
    """Ground of a way out, clockwise: as wide as a person with a saw needs it, to the end of the retreat."""
    east_m, north_m = point_m(bearing_deg, RETREAT_DISTANCE_M)
    off_east_m, off_north_m = point_m(bearing_deg + 90.0, WAY_OUT_HALF_WIDTH_M)
    return (
        (-off_east_m, -off_north_m),
        (east_m - off_east_m, north_m - off_north_m),
        (east_m + off_east_m, north_m + off_north_m),
        (off_east_m, off_north_m),
    )


def _lean(tree: FallingTree, lay_deg: float) -> tuple[float, float]:
    """The lean against the fall and to its right, degrees; of unknown direction it counts fully as both."""
    if tree.lean_toward_deg is None:
        return tree.lean_deg, tree.lean_deg
    rise = math.tan(math.radians(tree.lean_deg))
    back, side = resolve(rise, tree.lean_toward_deg, lay_deg)
    return math.degrees(math.atan(back)), math.degrees(math.atan(side))


def _ground(tree: FallingTree, lay_deg: float) -> tuple[float, float]:
    """How the ground falls along the lay and across it, %; of unknown direction it counts fully as downhill."""
    if tree.downhill_deg is None:
        return tree.slope_pct, 0.0
    against, across = resolve(tree.slope_pct, tree.downhill_deg, lay_deg)
    return -against, abs(across)


def _rooms_deg(lays: Sequence[Lay]) -> Iterator[float]:
    blocked = [lay.bearing_deg for lay in lays if not lay.open]
    for lay in lays:
        nearest = min((_apart_deg(lay.bearing_deg, other) for other in blocked), default=180.0 + STEP_DEG)
        yield max(0.0, nearest - STEP_DEG)


def _apart_deg(one_deg: float, other_deg: float) -> float:
    turn = abs(one_deg - other_deg) % 360.0
    return min(turn, 360.0 - turn)


def _ranked(lay: Lay, room_deg: float) -> Lay:
    """Points off the full score for whatever speaks against an open lay; each more obstacle only takes more."""
    placed = replace(lay, room_deg=room_deg)
    if not lay.open:
        return placed
    score = FULL_SCORE - sum(_points_off(placed))
    return replace(placed, score=max(LEAST_OPEN_SCORE, score))


def _points_off(lay: Lay) -> Iterator[float]:
    free = [way for way in lay.ways_out if way.free]
    steep_forward_deg = -lay.back_lean_deg + METHOD_BOUNDS.plain_cut_lean_deg.low
    yield ACCEPTED_POINTS * len(lay.accepted)
    yield BARRED_WAY_POINTS * (2 - len(free))
    yield LEAN_WAY_POINTS if all(way.lean_side for way in free) else 0.0
    yield BACK_LEAN_POINTS * max(0.0, lay.back_lean_deg)
    yield STEEP_FORWARD_POINTS * max(0.0, steep_forward_deg)
    yield SIDE_LEAN_POINTS * abs(lay.side_lean_deg)
    yield DOWNHILL_POINTS * max(0.0, lay.fall_of_ground_pct)
    yield UPHILL_POINTS * max(0.0, -lay.fall_of_ground_pct)
    yield NARROW_POINTS * (1 - min(lay.room_deg, ROOMY_DEG) / ROOMY_DEG)


def _proposed(lays: Sequence[Lay]) -> tuple[Lay, ...]:
    """The best open lays, clear ones before accepted ones, each well apart from the others."""
    chosen: list[Lay] = []
    for lay in sorted((lay for lay in lays if lay.open), key=_order):
        if all(_apart_deg(lay.bearing_deg, other.bearing_deg) >= APART_DEG for other in chosen):
            chosen.append(lay)
    return tuple(chosen[:PROPOSALS])


def _order(lay: Lay) -> tuple[bool, float, float, float]:
    # Rounded, or a hair of arithmetic would decide between equals.
    return lay.status is LayStatus.ACCEPTED, -round(lay.score, 6), -lay.room_deg, lay.bearing_deg
