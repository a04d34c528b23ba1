"""What a felling left standing on purpose: a safe snag or a stump, each a place that somebody looks at again."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.db import transaction

from inventory import record
from inventory.access import Permission
from inventory.errors import Refused
from inventory.record import Actor
from removals.city_rules import city_rules
from removals.models import DOWN, KeptKind, KeptPlace, RemovalOrder, WorkItem, WorkKind, WorkState
from removals.steps import day_words, past, permit, said, short
from replanting.obstacles import stump_is_in
from replanting.policy import months_after

KEEP = Permission.FELL
LOOK = Permission.INSPECT
LEAST_SNAG_M, MOST_STUMP_M = 1.0, 1.5
MOST_M = 40.0


def standing_places() -> Any:
    """The places that are still there, the next inspection first."""
    return KeptPlace.objects.filter(ended_on=None).select_related("order__tree__species", "order__park")


def due_places(today: dt.date) -> Any:
    """Those whose inspection is due or overdue."""
    return standing_places().filter(inspect_on__lte=today)


def months_between(kind: str) -> int:
    """The city's interval of inspections."""
    city = city_rules()
    return city.snag_inspection_months if kind == KeptKind.SNAG else city.stump_inspection_months


@transaction.atomic
def keep_place(
    *, by: Actor, order: RemovalOrder, kind: str, height_left_m: float, reason: str, on: dt.date | None = None
) -> KeptPlace:
    """Keep a snag or the stump of a felled tree; it is looked at again after the city's interval. Settles the stump item."""
    permit(by, KEEP)
    order = RemovalOrder.objects.select_for_update().select_related("tree").get(pk=order.pk)
    felled_on = order.felled_on
    if order.state not in DOWN or felled_on is None:
        raise Refused(
            f"Order {order.number} is {order.state}; a place is kept once the tree is down, before the closing."
        )
    _refuse_height(kind, height_left_m)
    stump, _ = WorkItem.objects.get_or_create(order=order, kind=WorkKind.STUMP)
    if stump.state == WorkState.DONE:
        raise Refused(f"The stump was ground or dug out on {day_words(stump.settled_on)}: nothing is left to keep.")
    if hasattr(order, "kept_place"):
        raise Refused(f"A {order.kept_place.kind} is kept here already.")
    place = KeptPlace.objects.create(
        order=order,
        kind=kind,
        height_left_m=height_left_m,
        reason=said(reason, "Say why it is kept.", 300),
        inspect_on=months_after(felled_on, months_between(kind)),
    )
    stump.state, stump.settled_on, stump.settled_by = WorkState.DONE, past(on, since=felled_on), by.name
    stump.note = short(f"Kept: {kind}, {height_left_m:g} m", 300)
    stump.save()
    stump_is_in(by=by, tree=order.tree, on=stump.settled_on, note=stump.note)
    _record(place, "kept", by, f"Kept, {kind} of {height_left_m:g} m: {place.reason}")
    return place


def _refuse_height(kind: str, height_left_m: float) -> None:
    if kind not in KeptKind.values:
        raise Refused(f"“{kind}” is nothing that is kept; use {' or '.join(KeptKind.values)}.")
    if kind == KeptKind.STUMP and not 0 < height_left_m <= MOST_STUMP_M:
        raise Refused(f"A stump is up to {MOST_STUMP_M:g} m high; what is higher is a standing snag.")
    if kind == KeptKind.SNAG and not LEAST_SNAG_M <= height_left_m <= MOST_M:
        raise Refused(f"A snag is {LEAST_SNAG_M:g} to {MOST_M:g} m high; what is lower is a stump.")


@transaction.atomic
def inspect_place(*, by: Actor, place: KeptPlace, note: str, on: dt.date | None = None) -> KeptPlace:
    """Somebody looked at it and it may stay; the next look falls due after the city's interval."""
    place = _taken(by, place)
    place.inspected_on = past(on, since=place.inspected_on or place.order.felled_on)
    place.inspect_on = months_after(place.inspected_on, months_between(place.kind))
    place.note = said(note, "Say what you saw.", 300)
    place.save()
    words = f"Looked at the {place.kind}: {place.note}; again by {day_words(place.inspect_on)}."
    _record(place, "kept place inspected", by, words)
    return place


@transaction.atomic
def end_place(*, by: Actor, place: KeptPlace, note: str, on: dt.date | None = None) -> KeptPlace:
    """It is gone: fallen, taken away, or rotted to the ground. Nobody inspects it any more."""
    place = _taken(by, place)
    place.ended_on = past(on, since=place.inspected_on or place.order.felled_on)
    place.inspect_on = None
    place.note = said(note, "Say what became of it.", 300)
    place.save()
    _record(place, "kept place ended", by, f"The {place.kind} is gone: {place.note}")
    return place


def _taken(by: Actor, place: KeptPlace) -> KeptPlace:
    permit(by, LOOK)
    place = KeptPlace.objects.select_for_update(of=("self",)).select_related("order__tree").get(pk=place.pk)
    if place.ended_on:
        raise Refused(f"The {place.kind} is gone since {day_words(place.ended_on)}.")
    return place


def _record(place: KeptPlace, verb: str, by: Actor, summary: str) -> None:
    order = place.order
    record.write(by=by, verb=verb, subject=order, tree=order.tree, summary=short(summary, 300))
