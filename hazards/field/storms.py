"""What a storm did, on the tablet: the find that is sent, the open storms of a park that it takes along."""

from __future__ import annotations

from typing import Any

from django.urls import reverse
from django.utils import timezone

from hazards.field.kinds import the_tree
from hazards.field.packs import Asked, Part
from hazards.field.storm_words import NOTE_MAX, PLACE_MAX
from hazards.matrix import Occupancy
from hazards.models import StormEvent, StormFind
from hazards.storm import SIZE_MAX_CM, FindKind, cautions
from hazards.storms import FindReport, record_find
from inventory.access import Permission
from inventory.bounds import DBH_MAX_CM
from inventory.models import Park
from inventory.record import Actor
from inventory.sent import (
    KEY,
    KEY_OR_ID,
    MOMENT,
    YES_OR_NO,
    Faulty,
    Kind,
    Sent,
    Stored,
    group,
    moment,
    number,
    or_null,
    text,
    word,
)

FINDS_SHOWN = 200

STORM_FIND = group(
    {
        "event": KEY,
        "kind": word(*(kind.value for kind in FindKind)),
        "occupancy": word(*(use.value for use in Occupancy)),
        "wires": YES_OR_NO,
        "emergency_way": YES_OR_NO,
        "tree": {**KEY_OR_ID, "type": ["integer", "string", "null"]},
        "park": text(12, needed=True),
        "place": text(PLACE_MAX),
        "lon": or_null(number(-180, 180)),
        "lat": or_null(number(-90, 90)),
        "size_cm": or_null(number(0.1, SIZE_MAX_CM)),
        "dbh_cm": or_null(number(0.1, DBH_MAX_CM)),
        "stump_cm": or_null(number(0.1, SIZE_MAX_CM)),
        "crown_lost_pct": or_null(number(0, 100, whole=True)),
        "lean_deg": or_null(number(0, 90, whole=True)),
        "public_property": {"type": ["boolean", "null"]},
        "note": text(NOTE_MAX),
        "seen_at": MOMENT,
    },
    "tree",
    "place",
    "lon",
    "lat",
    "size_cm",
    "dbh_cm",
    "stump_cm",
    "crown_lost_pct",
    "lean_deg",
    "public_property",
    "note",
)
_AS_TOLD = ("wires", "emergency_way", "size_cm", "dbh_cm", "stump_cm", "crown_lost_pct", "lean_deg", "public_property")


def store_find(by: Actor, sent: Sent) -> Stored:
    told = sent.payload
    event = StormEvent.objects.filter(pk=told["event"]).first()
    if event is None:
        raise Faulty({"event": "The server knows no such storm; refresh the park and choose it anew."})
    if (told.get("lon") is None) != (told.get("lat") is None):
        raise Faulty({"position": "A position has a longitude and a latitude."})
    seen_at = moment(told["seen_at"])
    find = record_find(by=by, event=event, report=_report(sent), id=sent.id)
    url = reverse("hazards:storm_find", args=[find.pk])
    return Stored(f"{event}, {find.where}"[:80], url, sent.clock_flags(seen_at), {"tree": find.tree})


def _report(sent: Sent) -> FindReport:
    told = sent.payload
    tree = the_tree(told["tree"]) if told.get("tree") else None
    return FindReport(
        kind=FindKind(told["kind"]),
        occupancy=Occupancy(told["occupancy"]),
        tree=tree,
        park=Park.objects.filter(code=told["park"]).first(),
        place=told.get("place", ""),
        lon=told.get("lon"),
        lat=told.get("lat"),
        note=told.get("note", ""),
        seen_at=sent.moment(moment(told["seen_at"])),
        **{name: told[name] for name in _AS_TOLD if told.get(name) is not None},
    )


# ---- The pack ---------------------------------------------------------------------------------------------------------


def storms(asked: Asked) -> dict[str, Any]:
    """The open storms over the park, the latest first, and what waits there, the most dangerous first; sent whole."""
    events = StormEvent.objects.open().filter(parks=asked.park).order_by("-pk")
    finds = StormFind.objects.open().filter(park=asked.park, event__in=events.values("pk")).select_related("tree")
    return {
        "events": [
            {"id": event.pk, "name": event.name, "began_at": timezone.localtime(event.began_at)} for event in events
        ],
        "finds": [_shown(find) for find in finds.order_by("danger", "id")[:FINDS_SHOWN]],
    }


def _shown(find: StormFind) -> dict[str, Any]:
    return {
        "id": find.pk,
        "event": find.event_id,
        "tree": find.tree_id,
        "where": find.where,
        "kind": find.kind,
        "reason": find.reason,
        "cautions": cautions(find.as_found),
    }


KINDS = (Kind("storm_find", STORM_FIND, Permission.RECORD_STORM, store_find),)
PARTS = (Part("storms", storms),)
