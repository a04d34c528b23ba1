"""Parts that the drawings of the ground share: the paper with the stump in its middle, things, words, north, scale."""

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from inventory.units import M_PER_FT, Units, distance
from removals.clearance import nearest_point
from removals.place import polar
from removals.svg import TEXT_SIZE, Point, Shape, View
from removals.things import FeatureKind, Thing

SIDE = 660.0
RADIUS = 285.0
SCALE_STEPS = (1, 2, 5, 10, 20, 50, 100, 200)
SYMBOL = 7.0
NEAR_EDGE = 0.35 * RADIUS
STUMP: Point = (0.0, 0.0)
LETTER_WIDTH = 0.62 * TEXT_SIZE


@dataclass(frozen=True, slots=True)
class Feature:
    """What stands in the place: one point, or a line of several, in metres east and north of the stump.

    `hit` marks what the swath holds and nobody has accepted; `radius_m` draws how far a crown reaches.
    """

    kind: FeatureKind
    label: str
    points: tuple[Point, ...]
    hit: bool = False
    radius_m: float = 0.0


def features_of(things: Sequence[Thing], hit: Collection[str] = (), within_m: float = math.inf) -> tuple[Feature, ...]:
    """Things as a drawing shows them, as far out as its paper; `hit`: names of those in the swath, not accepted."""
    return tuple(
        Feature(each.kind, each.name, each.points, each.name in hit, each.radius_m)
        for each in things
        if math.hypot(*nearest_point(each.points)) <= within_m
    )


def view_for(reach_m: float) -> View:
    """The stump in the middle of the paper, the reach all around it."""
    return View(RADIUS / reach_m, SIDE / 2, SIDE / 2)


def label(view: View, at: Point, words: str, *, below: bool | None = None) -> Shape:
    """Words beside a point: away from the stump, and inward where the paper would end."""
    across = view.at(at)[0] - SIDE / 2
    to_the_right = (across >= 0) is (abs(across) < NEAR_EDGE)
    side = 12.0 if to_the_right else -12.0
    down = 18.0 if below or (below is None and at[1] < 0) else -6.0
    return view.text(at, words, anchor="start" if to_the_right else "end", shift=(side, down))


_LINE_CLASS = {FeatureKind.WIRE: "axis", FeatureKind.PATH: "ground"}


def feature_shapes(view: View, feature: Feature) -> Iterator[Shape]:
    """The thing without its words."""
    if feature.radius_m > 0:
        for point in feature.points:
            yield view.circle("crown neighbour", point, feature.radius_m)
    if len(feature.points) > 1:
        yield view.polyline(f"{_LINE_CLASS.get(feature.kind, 'dimension')} {feature.kind}", feature.points)
    else:
        yield _symbol(view, feature)


def feature_label(view: View, feature: Feature) -> Shape:
    words = f"{feature.label} (in the swath)" if feature.hit else feature.label
    return label(view, nearest_point(feature.points), words)


Box = tuple[float, float, float, float]


def placed_labels(
    view: View, features: Sequence[Feature], taken: Sequence[Shape], *, say_hit: bool = False
) -> Iterator[Shape]:
    """Names where there is room for them, what blocks first; the description holds them all.

    ``taken``: words that stand on the paper already; ``say_hit``: what the swath holds says so in its name.
    """
    boxes = [*(_box(words) for words in taken), *_symbol_boxes(view, features)]
    for feature in sorted(features, key=lambda each: not each.hit):
        named = feature if say_hit else replace(feature, hit=False)
        free = (spot for spot in _spots(view, named) if _has_room(_box(spot), boxes))
        spot = next(free, None)
        if spot:
            boxes.append(_box(spot))
            yield spot


def settled(view: View, words: Sequence[Shape], features: Sequence[Feature]) -> tuple[Shape, ...]:
    """The drawing's own words, each moved up or down where it would cover words before it or a thing's symbol."""
    boxes = list(_symbol_boxes(view, features))
    for each in words:
        tries = (_moved(each, down) for down in (0.0, 20.0, -20.0, 40.0, -40.0))
        boxes.append(_box(next((spot for spot in tries if _has_room(_box(spot), boxes)), each)))
    return tuple(_at(each, box) for each, box in zip(words, boxes[len(boxes) - len(words) :], strict=True))


def _moved(words: Shape, down: float) -> Shape:
    return _at(words, (0.0, 0.0, 0.0, float(dict(words.attributes)["y"]) + down))


def _at(words: Shape, box: Box) -> Shape:
    """The same words with the bottom of a box as their line."""
    rows = tuple((name, f"{box[3]:.3f}" if name == "y" else value) for name, value in words.attributes)
    return replace(words, attributes=rows)


def _symbol_boxes(view: View, features: Sequence[Feature]) -> Iterator[Box]:
    for feature in features:
        if len(feature.points) == 1:
            x, y = view.at(feature.points[0])
            yield x - SYMBOL, y - SYMBOL, x + SYMBOL, y + SYMBOL


def _spots(view: View, feature: Feature) -> Iterator[Shape]:
    """Where a name may stand: away from the stump first, then on every side of its point."""
    first = feature_label(view, feature)
    yield first
    at = nearest_point(feature.points)
    for anchor, across in (("start", 12.0), ("end", -12.0), ("middle", 0.0)):
        for down in (-8.0, 20.0) if across else (-12.0, 26.0):
            yield view.text(at, first.words, anchor=anchor, shift=(across, down))


def _has_room(box: Box, others: Sequence[Box]) -> bool:
    return box[0] >= 0 and box[2] <= SIDE and not any(_overlap(box, other) for other in others)


def _box(text: Shape) -> Box:
    """Left, top, right and bottom of words on the paper, by the usual width of a letter."""
    said = dict(text.attributes)
    x, y, width = float(said["x"]), float(said["y"]), LETTER_WIDTH * len(text.words)
    left = x - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[said["text-anchor"]]
    return left, y - TEXT_SIZE, left + width, y


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


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


def feature_words(feature: Feature, units: Units) -> str:
    bearing_deg, distance_m = polar(nearest_point(feature.points))
    inside = ", in the swath" if feature.hit else ""
    return f"{feature.label} ({feature.kind}) at {bearing_deg:.0f}°, {distance(distance_m, units)}{inside}."


def stump(view: View, crown_radius_m: float) -> Iterator[Shape]:
    yield view.circle("crown", STUMP, crown_radius_m)
    yield view.circle("cut-wood stump", STUMP, SYMBOL / view.units_per_m)


def north(view: View) -> Iterator[Shape]:
    side_m = (SIDE / 2 - 28.0) / view.units_per_m
    tail, tip = (-side_m, side_m - 46.0 / view.units_per_m), (-side_m, side_m)
    yield view.line("ground north", tail, tip)
    yield view.arrow_head("arrow", tip, tail)
    yield view.text(tail, "N", shift=(0.0, 18.0))


def scale_bar(view: View, units: Units) -> Iterator[Shape]:
    unit_m, name = (M_PER_FT, "ft") if units is Units.US else (1.0, "m")
    longest = SIDE / 4 / view.units_per_m / unit_m
    steps = max((step for step in SCALE_STEPS if step <= longest), default=SCALE_STEPS[0])
    left_m, y_m = (-SIDE / 2 + 16.0) / view.units_per_m, (-SIDE / 2 - 14.0) / view.units_per_m
    end = (left_m + steps * unit_m, y_m)
    yield view.line("ground scale", (left_m, y_m), end)
    yield view.text(end, f"{steps} {name}", anchor="start", shift=(8.0, 5.0))
