"""What the tablet takes along of the young trees in care, and the care visits that it sends."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.urls import reverse
from django.utils import timezone

from inventory.access import Permission
from inventory.models import Park
from inventory.record import Actor
from inventory.sent import Faulty, Kind, Sent, Stored
from replanting import workflow
from replanting.care import WATER_RULES, Due
from replanting.city_policy import current
from replanting.models import Planting
from replanting.rounds import calls

CARE_VISIT = {
    "type": "object",
    "additionalProperties": False,
    "required": ["planting", "alive"],
    "properties": {
        "planting": {"type": "integer", "minimum": 1, "maximum": 2**63 - 1},
        "alive": {"type": "boolean"},
        "watered_l": {"type": "number", "minimum": 0, "maximum": workflow.WATER_MAX_L},
        "saturated": {"type": "boolean"},
        "stakes_off": {"type": "boolean"},
        "note": {"type": "string", "maxLength": 300},
    },
}


def plantings(park: Park, on: dt.date) -> list[dict[str, Any]]:
    """Young trees in care in the park, each with what it asks for within a week, the longest due first."""
    rule = WATER_RULES[current().water_rule]
    found = calls(Planting.objects.in_care().filter(tree__park=park), on, rule)
    known: Any = Planting.objects.select_related("tree__species").in_bulk([call.planting for call in found])
    return [_row(known[call.planting], call.dues) for call in found]


def _row(planting: Any, dues: tuple[Due, ...]) -> dict[str, Any]:
    tree = planting.tree
    return {
        "id": planting.pk,
        "tree": tree.pk,
        "tag": tree.tag,
        "name": tree.name,
        "lon": tree.lon,
        "lat": tree.lat,
        "planted_on": planting.planted_on.isoformat(),
        "dues": [
            {
                "kind": due.kind.value,
                "on": due.on.isoformat(),
                "last_day": due.last_day.isoformat(),
                "words": due.words,
                "litres": due.middle_l and round(due.middle_l, 1),
            }
            for due in dues
        ],
    }


def store_care_visit(by: Actor, sent: Sent) -> Stored:
    """The day is the tablet's; a visit to a tree that has left care meanwhile is refused with the sentence."""
    told = dict(sent.payload)
    planting = Planting.objects.select_related("task", "tree").filter(pk=told.pop("planting")).first()
    if planting is None:
        raise Faulty({"planting": "The server knows no such planting; take the park along anew."})
    on = timezone.localdate(sent.moment(sent.recorded_at))
    workflow.visit(by=by, planting=planting, on=on, id=sent.id, **told)
    return Stored(planting.tree.tag, reverse("replanting:task", args=[planting.task_id]), sent.clock_flags())


KINDS = (Kind("care_visit", CARE_VISIT, Permission.CARE, store_care_visit),)
