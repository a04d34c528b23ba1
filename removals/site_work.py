"""Work items of an order: what is open, and settling, waiving and reopening them by name."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from typing import Any

from django.db import transaction
from django.utils import timezone

from inventory import record
from inventory.access import Permission
from inventory.errors import Refused
from inventory.record import Actor
from removals.city_rules import city_rules
from removals.models import DOWN, OrderState, RemovalOrder, WorkItem, WorkKind, WorkState
from removals.steps import past, permit, said, short
from removals.work_items import ITEM, Entry, Item, Season, Stage, items_of, nesting_gaps, open_words
from replanting.obstacles import stump_is_in, stump_is_out

SETTLE = Permission.PLAN_FELLING
WAIVE = Permission.APPROVE_REMOVAL
_WHILE: dict[Stage, tuple[str, ...]] = {Stage.BEFORE: (OrderState.APPROVED, OrderState.SCHEDULED), Stage.AFTER: DOWN}


# ---- Reading ---------------------------------------------------------------------------------------------------------


def entries_of(order: RemovalOrder) -> tuple[Entry, ...]:
    return tuple(Entry(row.kind, row.state, row.reference, row.settled_on) for row in order.work_items.all())


def nesting_season() -> Season:
    city = city_rules()
    return Season(city.nesting_from, city.nesting_to)


def before_gaps(order: RemovalOrder, day: dt.date, *, at_work: bool) -> tuple[str, ...]:
    """What is open before the work of a day, a sentence each; ``at_work``: asked for the felling, not for the schedule."""
    entries = entries_of(order)
    words = open_words(entries, Stage.BEFORE)
    nesting = nesting_gaps(entries, day, nesting_season(), at_work=at_work)
    return (*((words,) if words else ()), *nesting)


def after_gap(order: RemovalOrder) -> str:
    """One sentence on what keeps an order whose tree is down from being closed; empty: nothing."""
    return open_words(entries_of(order), Stage.AFTER)


def may_work_on(order: RemovalOrder, item: Item) -> bool:
    """Locates are still asked for when the tree is down: the stump is not ground without them."""
    late = item.kind == WorkKind.LOCATES and order.state in DOWN
    return late or order.state in _WHILE[item.stage]


# ---- Changing --------------------------------------------------------------------------------------------------------


def open_stage(order: RemovalOrder, stage: Stage) -> None:
    """Enter the items of a stage as open, those that are there already left as they are. Within the caller's step."""
    fresh = [WorkItem(order=order, kind=item.kind) for item in items_of(stage)]
    WorkItem.objects.bulk_create(fresh, ignore_conflicts=True)


@transaction.atomic
def settle(
    *,
    by: Actor,
    order: RemovalOrder,
    kind: str,
    on: dt.date | None = None,
    reference: str = "",
    note: str = "",
    checks: Collection[str] = (),
) -> WorkItem:
    """An item is done: with what has to be recorded of it, on its day. An item done earlier is done anew."""
    row, item = _taken(by, SETTLE, order, kind)
    on = past(on, since=order.felled_on if item.stage is Stage.AFTER else order.approved_on)
    missing = [check for check in item.checks if check not in checks]
    if missing:
        raise Refused(f"Not looked for yet: {' and '.join(missing)}.")
    if item.reference:
        reference = said(reference, f"{item.reference}: it is needed here.", 80)
    if item.note:
        note = said(note, f"{item.note}: say it in a few words.", 300)
    if kind == WorkKind.STUMP:
        _refuse_unlocated(row.order)
    if kind == WorkKind.STUMP:
        stump_is_out(by=by, tree=row.order.tree, on=on)
    return _kept(row, WorkState.DONE, by=by, on=on, reference=reference, note=note, checks=item.checks)


@transaction.atomic
def waive(*, by: Actor, order: RemovalOrder, kind: str, reason: str, on: dt.date | None = None) -> WorkItem:
    """An item is left undone on purpose, by name and with the reason; some never are."""
    row, item = _taken(by, WAIVE, order, kind)
    if not item.may_be_waived:
        raise Refused(f"“{item.kind.value}” cannot be waived by anybody: a strike, a shock or a passer-by is at stake.")
    reason = said(reason, "Say why it is waived.", 300)
    if kind == WorkKind.STUMP:
        stump_is_in(by=by, tree=row.order.tree, on=past(on), note=short(f"it stays: {reason}", 300))
    return _kept(row, WorkState.WAIVED, by=by, on=past(on), reference="", note=reason)


@transaction.atomic
def reopen(*, by: Actor, order: RemovalOrder, kind: str, reason: str) -> WorkItem:
    """What was settled does not hold any more."""
    row, item = _taken(by, SETTLE, order, kind)
    if row.state == WorkState.OPEN:
        raise Refused(f"“{item.kind.value}” is open already.")
    if kind == WorkKind.STUMP and hasattr(row.order, "kept_place") and row.order.kept_place.ended_on is None:
        raise Refused("The stump is kept as a place of its own: end that place first.")
    reason = said(reason, "Say why it is open again.", 300)
    row.state, row.reference, row.note = WorkState.OPEN, "", reason
    row.settled_on, row.settled_by = None, ""
    row.save()
    if kind == WorkKind.STUMP:
        stump_is_in(by=by, tree=row.order.tree, on=timezone.localdate())
    _record(row, by, f"Open again, {item.kind.value}: {reason}")
    return row


def _taken(by: Actor, permission: Permission, order: RemovalOrder, kind: str) -> tuple[WorkItem, Item]:
    """The item's row under the order's lock, entered now if it was not yet, when the order's state lets it be worked on."""
    permit(by, permission)
    if kind not in ITEM:
        raise Refused(f"“{kind}” is nothing that is done for an order; use {', '.join(ITEM)}.")
    item = ITEM[WorkKind(kind)]
    order = RemovalOrder.objects.select_for_update().select_related("tree").get(pk=order.pk)
    if not may_work_on(order, item):
        raise Refused(
            f"Order {order.number} is {order.state}; “{item.kind.value}” belongs to one that is "
            f"{' or '.join(_WHILE[item.stage])}."
        )
    row, _ = WorkItem.objects.get_or_create(order=order, kind=item.kind)
    return row, item


def _kept(
    row: WorkItem,
    state: WorkState,
    *,
    by: Actor,
    on: dt.date,
    reference: str,
    note: str,
    checks: Sequence[str] = (),
) -> WorkItem:
    row.state, row.settled_on, row.settled_by = state, on, by.name
    row.reference, row.note = reference.strip(), note.strip()
    row.save()
    words = " – ".join(part for part in (row.reference, row.note) if part)
    _record(row, by, f"{row.kind.capitalize()}, {state}{f': {words}' if words else ''}", checks=list(checks))
    return row


def _record(row: WorkItem, by: Actor, summary: str, **data: Any) -> None:
    order, words = row.order, short(summary, 300)
    record.write(by=by, verb="work item", subject=order, tree=order.tree, summary=words, item=row.kind, **data)


def _refuse_unlocated(order: RemovalOrder) -> None:
    if not order.work_items.filter(kind=WorkKind.LOCATES, state=WorkState.DONE).exists():
        raise Refused(
            "The stump is not ground or dug out before the buried utilities are located: settle that item first."
        )
