"""What a plan's own place holds against its lay: the one rule by which a lay is refused for what stands there.

The plan keeps the things that stood around the tree when it was made, so that it stays as computed.
"""

from collections.abc import Iterator

from removals.bounds import METHOD_BOUNDS, Area, Bounds, Outside, wire_outside
from removals.felling_input import FellingInput
from removals.lay_finder import FallingTree, InSwath, Lay, judge_lay, nearest_wire_m
from removals.lay_words import seen_words
from removals.things import FeatureKind

WIRES_NOT_PLACED = (
    "Overhead lines are noted at this tree: say how far the nearest wire is from the stump, or enter where it runs."
)


def lay_in_place(inp: FellingInput, bounds: Bounds) -> Lay | None:
    """The plan's lay judged among the things that it keeps; None while no lay is chosen."""
    site = inp.site
    if site.lay_deg is None:
        return None
    tree = FallingTree(
        height_m=inp.height_m,
        crown_radius_m=inp.crown_spread_m / 2,
        steering_error_deg=site.steering_error_deg,
        zone_multiple=site.zone_multiple,
    )
    return judge_lay(tree, site.things, site.lay_deg, site.accepted, bounds)


def accepted_in_swath(inp: FellingInput, bounds: Bounds) -> tuple[InSwath, ...]:
    lay = lay_in_place(inp, bounds)
    return () if lay is None else tuple(each for each in lay.in_swath if each.accepted)


def blocking(inp: FellingInput, bounds: Bounds = METHOD_BOUNDS) -> frozenset[str]:
    """Names of what the swath holds and nobody has accepted."""
    lay = lay_in_place(inp, bounds)
    return frozenset() if lay is None else frozenset(seen.name for seen in lay.blocked_by)


def in_the_way(inp: FellingInput, bounds: Bounds) -> Iterator[Outside]:
    """A sentence for each way in which the place refuses the plan."""
    yield from _wires(inp, bounds)
    lay = lay_in_place(inp, bounds) if inp.site.things else None
    if lay is None:
        return
    # A wire that a swath reaches is nearer than the wires' own bound and has its sentence already.
    holding = [seen for seen in lay.blocked_by if seen.kind is not FeatureKind.WIRE]
    if holding:
        what = "; ".join(map(seen_words, holding))
        yield Outside(
            Area.FORCES,
            f"The swath holds what nobody has accepted by name: {what}. Turn the lay, or settle it at the place.",
        )
    if not any(way.free for way in lay.ways_out):
        barred = "; ".join(f"at {way.bearing_deg:.0f}° by {', '.join(way.barred_by)}" for way in lay.ways_out)
        yield Outside(Area.FORCES, f"Both ways out are barred: {barred}.")


def _wires(inp: FellingInput, bounds: Bounds) -> Iterator[Outside]:
    """The wires of the place, beside the distance that was entered: the nearer one counts."""
    placed_m, entered_m = nearest_wire_m(inp.site.things), inp.site.wire_distance_m
    if placed_m is None:
        if inp.site.wires_noted and entered_m is None:
            yield Outside(Area.FORCES, WIRES_NOT_PLACED)
        return
    near = wire_outside(placed_m, inp.height_m, bounds)
    already_said = entered_m is not None and wire_outside(entered_m, inp.height_m, bounds) is not None
    if near and not already_said:
        yield Outside(Area.FORCES, near)
