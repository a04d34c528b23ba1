"""The place from above, to scale, north up: lay, swath, danger cone, drop zone, ways out, line and what stands there."""

from collections.abc import Iterator, Sequence

from inventory.units import Units, distance
from removals import wording
from removals.felling_input import FellingInput, PullLine
from removals.map_parts import (
    SIDE,
    STUMP,
    SYMBOL,
    Feature,
    feature_shapes,
    feature_words,
    label,
    north,
    placed_labels,
    scale_bar,
    settled,
    stump,
    view_for,
)
from removals.place import Place, Retreat, point_m, sector
from removals.svg import Drawing, Pattern, Shape, View

SWATH_HATCH = Pattern("swath", 45, 10)


def place_from_above(
    inp: FellingInput, place: Place, units: Units, features: Sequence[Feature] = (), key: str = "place"
) -> Drawing:
    """The whole drop zone with the stump in its middle."""
    view = view_for(reach_m(inp, place))
    zones, ways = tuple(_zones(view, place, units, key)), tuple(_ways(view, inp, place, units))
    words = settled(view, [shape for shape in (*zones, *ways) if shape.tag == "text"], features)
    return Drawing(
        key=key,
        title="The place from above",
        description=_words(inp, place, units, features),
        width=SIDE,
        height=SIDE + 30.0,
        units_per_m=view.units_per_m,
        shapes=(
            *(shape for shape in zones if shape.tag != "text"),
            *(shape for feature in features for shape in feature_shapes(view, feature)),
            *(shape for shape in ways if shape.tag != "text"),
            *words,
            *placed_labels(view, features, words, say_hit=True),
            *stump(view, inp.crown_spread_m / 2),
            *north(view),
            *scale_bar(view, units),
        ),
        patterns=(SWATH_HATCH,),
    )


def reach_m(inp: FellingInput, place: Place) -> float:
    """How far the paper shows the ground."""
    line_m = inp.line.distance_m if inp.line else 0.0
    return max(place.drop_zone_m or 0.0, place.keep_clear_m, line_m)


def _zones(view: View, place: Place, units: Units, key: str) -> Iterator[Shape]:
    if place.drop_zone_m is not None:
        yield view.circle("keep-clear drop-zone", STUMP, place.drop_zone_m)
        words = f"no people within {distance(place.drop_zone_m, units)}"
        yield view.text((0.0, -place.drop_zone_m), words, shift=(0.0, 20.0))
    if place.lay_deg is None:
        return
    yield view.polygon("danger", (STUMP, *sector(place.lay_deg, place.cone_half_deg, place.keep_clear_m)))
    swath = place.swath.corners(place.lay_deg)
    yield view.polygon("swath", swath)
    yield view.hatched(key, SWATH_HATCH, swath)


def _ways(view: View, inp: FellingInput, place: Place, units: Units) -> Iterator[Shape]:
    """The lay, the ways out, and the line."""
    if place.lay_deg is None or place.top_point_m is None:
        return
    if inp.line:
        yield from _line(view, inp.line, place.lay_deg, units)
    yield view.line("lay", STUMP, place.top_point_m)
    yield view.arrow_head("arrow-lay", place.top_point_m, STUMP)
    yield label(view, point_m(place.lay_deg, reach_m(inp, place)), f"lay {place.lay_deg:.0f}°")
    for retreat in place.retreats:
        yield view.line("retreat", STUMP, retreat.point_m)
        yield view.arrow_head("arrow", retreat.point_m, STUMP)
        yield label(view, retreat.point_m, _retreat_words(retreat))


def _retreat_words(retreat: Retreat) -> str:
    return f"way out {retreat.bearing_deg:.0f}°{', tree leans here' if retreat.lean_side else ''}"


def _line(view: View, line: PullLine, lay_deg: float, units: Units) -> Iterator[Shape]:
    """To the pullers or the block, where they stand; along the lay without a bearing of their own."""
    end = point_m(lay_deg if line.bearing_deg is None else line.bearing_deg, line.distance_m)
    yield view.line("pull-line", STUMP, end)
    yield view.circle("obstacle", end, SYMBOL / view.units_per_m)
    where = "" if line.bearing_deg is None else f" {line.bearing_deg:.0f}°,"
    yield label(view, end, f"{_puller(line.redirected)}{where} {distance(line.distance_m, units)}", below=True)


def _puller(redirected: bool | None) -> str:
    if redirected is None:
        return "puller or redirect"
    return "redirect" if redirected else "pullers"


def _words(inp: FellingInput, place: Place, units: Units, features: Sequence[Feature]) -> str:
    """The drawing for those who do not see it."""
    return " ".join(
        (*_zone_words(place, units), *_line_words(inp, units), *(feature_words(each, units) for each in features))
    )


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
    line = inp.line
    if line is None:
        return
    off = f", {wording.off_lay(inp.line_off_lay_deg)}" if inp.line_off_lay_deg else ""
    where = "" if line.bearing_deg is None else f" at {line.bearing_deg:.0f}°{off}"
    yield f"The line ends {distance(line.distance_m, units)} from the stump{where}: {_puller(line.redirected)}."
