"""What the page of a place shows: each thing with the lays that it blocks, the proposals, and all bearings in words."""

from __future__ import annotations

from dataclasses import dataclass

from removals.clearance import nearest_point
from removals.lay_finder import Lay, LayFindings
from removals.lay_words import blocked_words, spans, why
from removals.models import AcceptedThing
from removals.order_place import OrderPlace
from removals.place import polar
from removals.things import NEVER_ACCEPTED, Thing


@dataclass(frozen=True)
class ThingRow:
    """``blocks``: the lays whose swath holds it, in words; ``added``: on site, so that it can be removed again."""

    name: str
    kind: str
    bearing_deg: float
    distance_m: float
    blocks: str
    added: bool
    accepted: AcceptedThing | None
    acceptable: bool


@dataclass(frozen=True)
class LayRow:
    bearing_deg: float
    status: str
    words: tuple[str, ...]
    proposal: int = 0


def thing_rows(place: OrderPlace, findings: LayFindings | None) -> list[ThingRow]:
    """Nearest first."""
    added = {each.name for each in place.added}
    accepted = {each.name: each for each in place.accepted}
    rows = [_thing_row(thing, findings, thing.name in added, accepted.get(thing.name)) for thing in place.things]
    return sorted(rows, key=lambda row: (row.distance_m, row.name))


def _thing_row(thing: Thing, findings: LayFindings | None, added: bool, accepted: AcceptedThing | None) -> ThingRow:
    bearing_deg, distance_m = polar(nearest_point(thing.points))
    holding = [lay.bearing_deg for lay in findings.lays if _holds(lay, thing.name)] if findings else []
    return ThingRow(
        name=thing.name,
        kind=thing.kind.value,
        bearing_deg=bearing_deg,
        distance_m=distance_m,
        blocks=spans(holding),
        added=added,
        accepted=accepted,
        acceptable=bool(holding) and accepted is None and thing.kind not in NEVER_ACCEPTED,
    )


def _holds(lay: Lay, name: str) -> bool:
    return any(each.thing.name == name for each in lay.in_swath)


def lay_rows(findings: LayFindings) -> list[LayRow]:
    numbers = {lay.bearing_deg: n for n, lay in enumerate(findings.proposed, start=1)}
    return [
        LayRow(lay.bearing_deg, lay.status.value, _words(lay, findings), numbers.get(lay.bearing_deg, 0))
        for lay in findings.lays
    ]


def proposals(findings: LayFindings) -> list[LayRow]:
    return [row for row in sorted(lay_rows(findings), key=lambda row: row.proposal) if row.proposal]


def _words(lay: Lay, findings: LayFindings) -> tuple[str, ...]:
    return (why(lay, findings.tree.swath.reach_m),) if lay.open else blocked_words(lay)
