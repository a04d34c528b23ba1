"""The place from above, to scale, north up: lay, swath, danger cone, drop zone, ways out, line and what stands there."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from inventory.units import M_PER_FT, Units, distance
from removals.felling_input import FellingInput
from removals.place import Place, Retreat, point_m
from removals.svg import Drawing, Pattern, Point, Shape, View, arc

SIDE = 660.0
RADIUS = 285.0
SWATH_HATCH = Pattern("swath", 45, 10)
SCALE_STEPS = (1, 2, 5, 10, 20, 50, 100, 200)
SYMBOL = 7.0
NEAR_EDGE = 0.35 * RADIUS


class FeatureKind(StrEnum):
    TREE = "tree"
    TARGET = "target"
    WIRE = "wire"
    PATH = "path"
    SPOTTER = "spotter"
    OBSTACLE = "obstacle"


@dataclass(frozen=True, slots=True)
class Feature:
    """What stands in the place: one point, or a line of several, in metres east and north of the stump.

    `hit` marks what the swath holds and nobody has accepted.
    """

    kind: FeatureKind
    label: str
    points: tuple[Point, ...]
    hit: bool = False


def place_from_above(
    inp: FellingInput, place: Place, units: Units, features: Sequence[Feature] = (), key: str = "place"
) -> Drawing:
    """The whole drop zone with the stump in its middle."""
    reach_m = _reach_m(inp, place)
    view = View(RADIUS / reach_m, SIDE / 2, SIDE / 2)
    return Drawing(
        key=key,
        title="The place from above",
        description=_words(inp, place, units, features),
        width=SIDE,
        height=SIDE + 30.0,
        units_per_m=view.units_per_m,
        shapes=(
            *_zones(view, place, units, key),
            *(shape for feature in features for shape in _feature(view, feature)),
            *_ways(view, inp, place, units),
            *_stump(view, inp),
            *_north(view),
            *_scale_bar(view, units),
        ),
        patterns=(SWATH_HATCH,),
    )


def _reach_m(inp: FellingInput, place: Place) -> float:
    line_m = inp.line.distance_m if inp.line else 0.0
    return max(place.drop_zone_m or 0.0, place.keep_clear_m, line_m)


def _zones(view: View, place: Place, units: Units, key: str) -> Iterator[Shape]:
    stump = (0.0, 0.0)
    if place.drop_zone_m is not None:
        yield view.circle("keep-clear drop-zone", stump, place.drop_zone_m)
        words = f"no people within {distance(place.drop_zone_m, units)}"
        yield view.text((0.0, -place.drop_zone_m), words, shift=(0.0, 20.0))
    if place.lay_deg is None:
        return
    yield view.polygon("danger", (stump, *_sector(place.lay_deg, place.cone_half_deg, place.keep_clear_m)))
    swath = swath_corners(place, place.lay_deg)
    yield view.polygon("swath", swath)
    yield view.hatched(key, SWATH_HATCH, swath)


def swath_corners(place: Place, lay_deg: float) -> tuple[Point, ...]:
    """Lay ± steering error out to the keep-clear distance, widened by the crown's radius on both sides."""
    half, reach_m, wide_m = place.swath_half_deg, place.keep_clear_m, place.crown_radius_m
    left, right = lay_deg - half, lay_deg + half
    left_off, right_off = point_m(left - 90.0, wide_m), point_m(right + 90.0, wide_m)
    return (
        left_off,
        _plus(point_m(left, reach_m), left_off),
        *_sector(lay_deg, half, reach_m),
        _plus(point_m(right, reach_m), right_off),
        right_off,
    )


def _sector(lay_deg: float, half_deg: float, reach_m: float) -> tuple[Point, ...]:
    """Points of an arc around the lay, from its left to its right."""
    left, right = (math.radians(90.0 - lay_deg + turn) for turn in (half_deg, -half_deg))
    return arc((0.0, 0.0), reach_m, left, right)


def _plus(a: Point, b: Point) -> Point:
    return a[0] + b[0], a[1] + b[1]


def _ways(view: View, inp: FellingInput, place: Place, units: Units) -> Iterator[Shape]:
    """The lay, the ways out, and the line."""
    if place.lay_deg is None or place.top_point_m is None:
        return
    if inp.line:
        yield from _line(view, inp.line.distance_m, place.lay_deg, inp.line.redirected, units)
    stump = (0.0, 0.0)
    yield view.line("lay", stump, place.top_point_m)
    yield view.arrow_head("arrow-lay", place.top_point_m, stump)
    yield _label(view, point_m(place.lay_deg, _reach_m(inp, place)), f"lay {place.lay_deg:.0f}°")
    for retreat in place.retreats:
        yield view.line("retreat", stump, retreat.point_m)
        yield view.arrow_head("arrow", retreat.point_m, stump)
        yield _label(view, retreat.point_m, _retreat_words(retreat))


def _retreat_words(retreat: Retreat) -> str:
    return f"way out {retreat.bearing_deg:.0f}°{', tree leans here' if retreat.lean_side else ''}"


def _line(view: View, distance_m: float, lay_deg: float, redirected: bool | None, units: Units) -> Iterator[Shape]:
    end = point_m(lay_deg, distance_m)
    yield view.line("pull-line", (0.0, 0.0), end)
    yield view.circle("obstacle", end, SYMBOL / view.units_per_m)
    yield _label(view, end, f"{_puller(redirected)} {distance(distance_m, units)}", below=True)


def _puller(redirected: bool | None) -> str:
    if redirected is None:
        return "puller or redirect"
    return "redirect" if redirected else "pullers"


def _stump(view: View, inp: FellingInput) -> Iterator[Shape]:
    yield view.circle("crown", (0.0, 0.0), inp.crown_spread_m / 2)
    yield view.circle("cut-wood stump", (0.0, 0.0), SYMBOL / view.units_per_m)


def _label(view: View, at: Point, words: str, *, below: bool | None = None) -> Shape:
    """Words beside a point: away from the stump, and inward where the paper would end."""
    across = view.at(at)[0] - SIDE / 2
    to_the_right = (across >= 0) is (abs(across) < NEAR_EDGE)
    side = 12.0 if to_the_right else -12.0
    down = 18.0 if below or (below is None and at[1] < 0) else -6.0
    return view.text(at, words, anchor="start" if to_the_right else "end", shift=(side, down))


_LINE_CLASS = {FeatureKind.WIRE: "axis", FeatureKind.PATH: "ground"}


def _feature(view: View, feature: Feature) -> Iterator[Shape]:
    if len(feature.points) > 1:
        yield view.polyline(f"{_LINE_CLASS.get(feature.kind, 'dimension')} {feature.kind}", feature.points)
    else:
        yield _symbol(view, feature)
    words = f"{feature.label} (in the swath)" if feature.hit else feature.label
    yield _label(view, _nearest(feature), words)


def _nearest(feature: Feature) -> Point:
    return min(feature.points, key=lambda point: math.hypot(*point))


def _symbol(view: View, feature: Feature) -> Shape:
    """A circle for a tree, a triangle for a spotter, a square for anything else; filled when the swath holds it."""
    css = f"{'obstacle-hit' if feature.hit else 'obstacle'} {feature.kind}"
    size_m = SYMBOL / view.units_per_m
    x, y = feature.points[0]
    if feature.kind is FeatureKind.TREE:
        return view.circle(css, (x, y), size_m)
    if feature.kind is FeatureKind.SPOTTER:
        return view.polygon(css, ((x, y + size_m), (x + size_m, y - size_m), (x - size_m, y - size_m)))
    corners = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    return view.polygon(css, tuple((x + size_m * i, y + size_m * j) for i, j in corners))


def _north(view: View) -> Iterator[Shape]:
    side_m = (SIDE / 2 - 28.0) / view.units_per_m
    tail, tip = (-side_m, side_m - 46.0 / view.units_per_m), (-side_m, side_m)
    yield view.line("ground north", tail, tip)
    yield view.arrow_head("arrow", tip, tail)
    yield view.text(tail, "N", shift=(0.0, 18.0))


def _scale_bar(view: View, units: Units) -> Iterator[Shape]:
    unit_m, name = (M_PER_FT, "ft") if units is Units.US else (1.0, "m")
    longest = SIDE / 4 / view.units_per_m / unit_m
    steps = max((step for step in SCALE_STEPS if step <= longest), default=SCALE_STEPS[0])
    left_m, y_m = (-SIDE / 2 + 16.0) / view.units_per_m, (-SIDE / 2 - 14.0) / view.units_per_m
    end = (left_m + steps * unit_m, y_m)
    yield view.line("ground scale", (left_m, y_m), end)
    yield view.text(end, f"{steps} {name}", anchor="start", shift=(8.0, 5.0))


def _words(inp: FellingInput, place: Place, units: Units, features: Sequence[Feature]) -> str:
    """The drawing for those who do not see it."""
    return " ".join((*_zone_words(place, units), *_line_words(inp, units), *_feature_words(features, units)))


def _zone_words(place: Place, units: Units) -> Iterator[str]:
    yield "North is up; the stump is in the middle."
    if place.drop_zone_m is not None:
        yield f"People not in the operation stay {distance(place.drop_zone_m, units)} away on all sides."
    if place.lay_deg is None:
        yield "No lay is chosen yet."
        return
    yield (
        f"The tree falls towards {place.lay_deg:.0f}° with a swath of {place.swath_half_deg:.0f}° to either side, "
        f"widened by the crown's radius of {distance(place.crown_radius_m, units)}; keep clear to "
        f"{distance(place.keep_clear_m, units)}. The danger cone opens {place.cone_half_deg:.0f}° to either side."
    )
    for retreat in place.retreats:
        yield f"{_retreat_words(retreat).capitalize()}."


def _line_words(inp: FellingInput, units: Units) -> Iterator[str]:
    if inp.line:
        yield f"The line ends {distance(inp.line.distance_m, units)} from the stump: {_puller(inp.line.redirected)}."


def _feature_words(features: Sequence[Feature], units: Units) -> Iterator[str]:
    for feature in features:
        east_m, north_m = _nearest(feature)
        bearing = math.degrees(math.atan2(east_m, north_m)) % 360.0
        inside = ", in the swath" if feature.hit else ""
        yield f"{feature.label} ({feature.kind}) at {bearing:.0f}°, {distance(math.hypot(east_m, north_m), units)}{inside}."
