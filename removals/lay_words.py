"""Judged lays in words: why one is proposed, what speaks against it, what blocks it."""

from collections.abc import Collection, Iterator, Sequence

from removals import wording
from removals.lay_finder import BEARINGS_DEG, STEP_DEG, Lay, LayFindings, LayStatus
from removals.things import Seen

SLIGHT_LEAN_DEG = 0.5
SLIGHT_SLOPE_PCT = 3.0
NARROW_DEG = 10.0


def why(lay: Lay, reach_m: float) -> str:
    """One sentence for an open lay: what speaks for it, and after that what speaks against it."""
    against = "; ".join(speaks_against(lay))
    return (
        f"{lay.bearing_deg:.0f}°: {'; '.join(speaks_for(lay, reach_m))}{f'. Against it: {against}' if against else ''}."
    )


def speaks_for(lay: Lay, reach_m: float) -> Iterator[str]:
    out_to = wording.length(reach_m)
    if lay.status is LayStatus.ACCEPTED:
        yield f"out to {out_to} its swath holds only what was accepted ({', '.join(lay.accepted)})"
    else:
        yield f"nothing stands in its swath out to {out_to}"
    if all(way.free for way in lay.ways_out):
        yield "both ways out are free"
    if lay.back_lean_deg <= -SLIGHT_LEAN_DEG:
        yield f"the tree leans {-lay.back_lean_deg:.1f}° this way"
    if lay.across_the_ground_pct >= SLIGHT_SLOPE_PCT and abs(lay.fall_of_ground_pct) < lay.across_the_ground_pct / 2:
        yield "it lies across the slope"
    if lay.room_deg >= NARROW_DEG:
        yield f"{lay.room_deg:.0f}° of room to either side"


def speaks_against(lay: Lay) -> Iterator[str]:
    if lay.back_lean_deg >= SLIGHT_LEAN_DEG:
        yield f"the tree leans back by {lay.back_lean_deg:.1f}°"
    if abs(lay.side_lean_deg) >= SLIGHT_LEAN_DEG:
        side = "right" if lay.side_lean_deg > 0 else "left"
        yield f"it leans {abs(lay.side_lean_deg):.1f}° to the {side}"
    if abs(lay.fall_of_ground_pct) >= SLIGHT_SLOPE_PCT:
        runs_down = "falls" if lay.fall_of_ground_pct > 0 else "rises"
        yield f"the ground {runs_down} {abs(lay.fall_of_ground_pct):.0f} % this way"
    for way in lay.ways_out:
        if not way.free:
            yield f"the way out at {way.bearing_deg:.0f}° is barred by {', '.join(way.barred_by)}"
        elif way.lean_side and abs(lay.side_lean_deg) >= SLIGHT_LEAN_DEG:
            yield f"the tree leans over the way out at {way.bearing_deg:.0f}°"
    if lay.room_deg < NARROW_DEG:
        yield f"only {lay.room_deg:.0f}° of room to one side"


def blocked_words(lay: Lay) -> tuple[str, ...]:
    """What keeps a lay from being open, a sentence each."""
    return (*lay.refusals, *(f"In the swath: {seen_words(seen)}." for seen in lay.blocked_by))


def seen_words(seen: Seen) -> str:
    return f"{seen.name} ({seen.kind}) at {seen.bearing_deg:.0f}°, {wording.length(seen.distance_m)}"


def runs(lays: Sequence[Lay]) -> tuple[tuple[LayStatus, float, float], ...]:
    """Neighbouring bearings of one status as (status, first, last) clockwise; all alike: one run from 0° to the last."""
    changes = [n for n, lay in enumerate(lays) if lay.status is not lays[n - 1].status]
    if not changes:
        return ((lays[0].status, lays[0].bearing_deg, lays[-1].bearing_deg),)
    ends = (*changes[1:], changes[0])
    return tuple(
        (lays[first].status, lays[first].bearing_deg, lays[end - 1].bearing_deg)
        for first, end in zip(changes, ends, strict=True)
    )


def spans(bearings_deg: Collection[float]) -> str:
    """Bearings of the finder's step as spans, clockwise: "350° to 20°, 90°"; empty for none."""
    held = set(bearings_deg)
    if len(held) == len(BEARINGS_DEG):
        return "every way"
    firsts = sorted(each for each in held if (each - STEP_DEG) % 360.0 not in held)
    return ", ".join(_span(first, _last(first, held)) for first in firsts)


def _last(first_deg: float, held: Collection[float]) -> float:
    last_deg = first_deg
    while (last_deg + STEP_DEG) % 360.0 in held:
        last_deg = (last_deg + STEP_DEG) % 360.0
    return last_deg


def rose_words(findings: LayFindings) -> str:
    """The rose for those who do not see it."""
    if findings.refusal:
        return f"All lays are blocked. {findings.refusal}"
    by_status = (_status_words(status, findings.lays) for status in LayStatus)
    proposals = (why(lay, findings.tree.swath.reach_m) for lay in findings.proposed)
    numbered = (f"Proposal {n}: {words}" for n, words in enumerate(proposals, start=1))
    return " ".join((*by_status, *(numbered if findings.proposed else ("No lay can be proposed.",))))


def _status_words(status: LayStatus, lays: Sequence[Lay]) -> str:
    spans = [_span(first, last) for kind, first, last in runs(lays) if kind is status]
    return f"{status.capitalize()}: {', '.join(spans) or 'none'}."


def _span(first_deg: float, last_deg: float) -> str:
    return f"{first_deg:.0f}°" if first_deg == last_deg else f"{first_deg:.0f}° to {last_deg:.0f}°"
