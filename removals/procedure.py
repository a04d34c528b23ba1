"""The procedure of a felling in the order of the work, with the plan's own figures: read out at the job briefing.

Notch, back cut and hinge in every tree, the back cut above the level cut: 29 CFR 1910.266(h)(2)(v)–(vii). The retreat is
planned and cleared before cutting: (h)(2)(i).
"""

from __future__ import annotations

from collections.abc import Iterator

from removals.cut import CutGeometry, NotchKind
from removals.felling_input import FellingInput
from removals.felling_result import FellingPlanResult
from removals.place import RETREAT_DISTANCE_M
from removals.wording import degrees, force, length

FACES = {
    NotchKind.CONVENTIONAL: "level floor, sloping roof",
    NotchKind.HUMBOLDT: "level roof, sloping floor",
    NotchKind.OPEN_FACE: "sloping roof and sloping floor",
}


def procedure(inp: FellingInput, result: FellingPlanResult) -> tuple[str, ...]:
    """The steps, a sentence or two each, lengths in both units; empty when the plan has no cut or no lay."""
    if result.cut is None or result.place.lay_deg is None:
        return ()
    return tuple(_steps(inp, result, result.cut))


def _steps(inp: FellingInput, result: FellingPlanResult, cut: CutGeometry) -> Iterator[str]:
    place = result.place
    ways = " and ".join(degrees(way.bearing_deg) for way in place.retreats)
    yield f"Clear both ways of retreat, {ways}, for at least {length(RETREAT_DISTANCE_M)} before any cut."
    if place.drop_zone_m is not None:
        yield f"Everybody who is not in the operation is outside {length(place.drop_zone_m)}; the sentry stands."
    if inp.line:
        yield f"Tie the line at {length(inp.line.anchor_height_m)} and lay it out; it stays slack."
    yield (
        f"Notch ({inp.notch}) on the lay of {degrees(place.lay_deg or 0.0)}, at {length(inp.cut_height_m)} above ground: "
        f"{length(cut.notch_depth_m)} deep, open {degrees(inp.opening_deg)}, {FACES[inp.notch]}. Both cuts end in one line."
    )
    yield "Call “Stand clear!” and wait for every answer."
    yield f"{_back_cut(inp, cut)} Leave a hinge of {length(cut.hinge_thickness_m)} over {length(cut.hinge_length_m)}."
    yield "The hinge is never cut through: it guides the tree to the ground."
    yield from _brought_over(inp, result)
    yield (
        "Once it moves, go at once by a way of retreat and look up. "
        f"Nobody comes within {length(place.approach_m)} until the feller says that it is safe."
    )


def _back_cut(inp: FellingInput, cut: CutGeometry) -> str:
    where = (
        "level with the apex of the notch"
        if inp.notch is NotchKind.OPEN_FACE
        else f"{length(cut.back_cut_height_m)} above the level cut of the notch"
    )
    if inp.bored_back_cut:
        return f"Bored back cut, {where}: bore behind the hinge, leave a strap at the back, and cut the strap last."
    return f"Back cut, {where}, {length(cut.back_cut_m)} long, from behind."


def _brought_over(inp: FellingInput, result: FellingPlanResult) -> Iterator[str]:
    if inp.line and result.forces:
        yield (
            "The feller leaves and gives the signal; only then the line is drawn, "
            f"with {force(result.forces.needed_n.nominal)}, up to {force(result.forces.needed_n.high)}."
        )
    elif inp.wedges:
        yield "Drive wedge or jack a little at a time, watching hinge and crown."
