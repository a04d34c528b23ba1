"""What asks for attention today, and whose work it is.

A count stops early: beyond a thousand it says so, and a city of a million trees is not counted for the first page.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet
from django.urls import reverse

from hazards.closures import not_closed
from hazards.models import (
    Closure,
    Concern,
    ConcernState,
    MitigationOrder,
    MitigationState,
    Standing,
    StormEvent,
    StormFind,
)
from inventory.access import Permission, Person, permissions_of
from inventory.models import Tree
from removals.kept_places import due_places
from removals.lodged_work import hanging_trees
from removals.models import OrderState, RemovalOrder
from removals.outcome_work import open_alarms
from replanting.city_policy import current
from replanting.models import Planting, ReplacementTask

COUNTED_TO = 1_000


@dataclass(frozen=True)
class Matter:
    """Rows that ask for something, where they are listed, and the permission to do it."""

    label: str
    rows: QuerySet[Any]
    view: str
    query: dict[str, Any]
    whose: Permission


@dataclass(frozen=True)
class Tile:
    """A matter that asks: how often, and the way to its list."""

    label: str
    figure: str
    url: str


def _hazards(today: dt.date) -> Iterator[Matter]:
    rows = Standing.objects.all()
    ranking, due, inspect = "hazards:ranking", "hazards:due", Permission.INSPECT
    yield Matter(
        "Imminent failure", rows.filter(imminent=True), ranking, {"imminent": "on"}, Permission.PROPOSE_REMOVAL
    )
    yield Matter("Extreme or imminent, nothing closed", not_closed(), "hazards:closures", {}, Permission.CLOSE_AREA)
    yield Matter(
        "Rated extreme", rows.filter(rating="extreme"), ranking, {"rating": "extreme"}, Permission.PROPOSE_REMOVAL
    )
    yield Matter("Rated high", rows.filter(rating="high"), ranking, {"rating": "high"}, Permission.PROPOSE_REMOVAL)
    yield Matter("Work overdue", rows.work_overdue(today), ranking, {"overdue": "on"}, Permission.PROPOSE_REMOVAL)
    yield Matter("Inspections overdue", rows.inspection_overdue(today), due, {"when": "overdue"}, inspect)
    yield Matter("Never inspected", rows.never_inspected(), due, {"when": "never"}, inspect)
    yield Matter(
        "Trees to be located", Tree.objects.unlocated(), "reports:trees", {"unlocated": "on"}, Permission.EDIT_TREE
    )


def _told() -> Iterator[Matter]:
    """What people have told, and what a storm left."""
    decide, concerns = Permission.DECIDE_CONCERN, "hazards:concerns"
    finds = StormFind.objects.open().filter(event__in=StormEvent.objects.open())
    yield Matter("Left by a storm, not dealt with", finds, "hazards:storms", {}, Permission.RECORD_STORM)
    for label, state in (("Urgent concerns", ConcernState.URGENT), ("Concerns to decide on", ConcernState.NEW)):
        yield Matter(label, Concern.objects.filter(state=state), concerns, {"state": state.value}, decide)


def _mitigation(today: dt.date, user: Person) -> Iterator[Matter]:
    orders, view = MitigationOrder.objects.all(), "hazards:work"
    waiting, given = MitigationState.PROPOSED.value, MitigationState.SCHEDULED.value
    yield Matter(
        "Work to schedule", orders.filter(state=waiting), view, {"state": waiting}, Permission.ORDER_MITIGATION
    )
    mine = orders.filter(state=given, assigned_to=user.pk)
    query = {"state": given, "mine": "on"}
    yield Matter("Your scheduled work in trees", mine, view, query, Permission.REPORT_MITIGATION)
    shut = Closure.objects.open().tree_gone()
    yield Matter("Still closed, the tree is gone", shut, "hazards:closures", {"gone": "on"}, Permission.LIFT_CLOSURE)
    late = orders.overdue(today)
    yield Matter("Work in trees overdue", late, view, {"overdue": "on"}, Permission.ORDER_MITIGATION)


def _removals(today: dt.date, user: Person) -> Iterator[Matter]:
    yield Matter("Trees that hang in another", hanging_trees(), "removals:lodged_trees", {}, Permission.FELL)
    yield Matter("Felled under an older plan", open_alarms(), "removals:alarms", {}, Permission.CLOSE_REMOVAL)
    steps = (
        ("Removals to approve", OrderState.PROPOSED, Permission.APPROVE_REMOVAL),
        ("Removals to schedule", OrderState.APPROVED, Permission.SCHEDULE_REMOVAL),
        ("Felled, to be closed", OrderState.FELLED, Permission.CLOSE_REMOVAL),
        ("Found down, to be closed", OrderState.ALREADY_DOWN, Permission.CLOSE_REMOVAL),
    )
    for label, state, whose in steps:
        yield Matter(label, RemovalOrder.objects.filter(state=state), "removals:orders", {"state": state.value}, whose)
    mine = RemovalOrder.objects.filter(state=OrderState.SCHEDULED, crew_lead=user.pk)
    query = {"state": OrderState.SCHEDULED.value, "crew_lead": user.pk}
    yield Matter("Your scheduled fellings", mine, "removals:orders", query, Permission.BRIEF_CREW)
    late = RemovalOrder.objects.overdue(today)
    yield Matter("Kept snags and stumps to inspect", due_places(today), "removals:kept", {}, Permission.INSPECT)
    yield Matter("Removals overdue", late, "removals:orders", {"overdue": "on"}, Permission.SCHEDULE_REMOVAL)


def _replanting(today: dt.date) -> Iterator[Matter]:
    tasks, queue = ReplacementTask.objects.all(), "replanting:tasks"
    every = current().visit_every_days
    young = Planting.objects.unseen_since(today - dt.timedelta(days=every))
    yield Matter("Replacements overdue", tasks.overdue(today), queue, {"overdue": "on"}, Permission.REPLANT)
    yield Matter("Replacements waiting", tasks.waiting(), queue, {}, Permission.REPLANT)
    unseen = {"days": every}
    yield Matter("Young trees to visit", young, "replanting:care", unseen, Permission.CARE)


def _matters(user: Person, today: dt.date) -> Iterator[Matter]:
    yield from _told()
    yield from _hazards(today)
    yield from _mitigation(today, user)
    yield from _removals(today, user)
    yield from _replanting(today)


def _tile(matter: Matter) -> Tile | None:
    # In no order: the first rows that an index or the table gives are as good as any.
    count = matter.rows.order_by()[: COUNTED_TO + 1].count()
    if not count:
        return None
    figure = f"{COUNTED_TO:,}+" if count > COUNTED_TO else f"{count:,}"
    return Tile(matter.label, figure, reverse(matter.view, query=matter.query))


def attention(user: Person, today: dt.date) -> tuple[list[Tile], list[Tile]]:
    """What the reader may do something about, and what others may; a matter without rows asks for nothing."""
    granted = permissions_of(user)
    mine: list[Tile] = []
    others: list[Tile] = []
    for matter in _matters(user, today):
        if tile := _tile(matter):
            (mine if matter.whose in granted else others).append(tile)
    return mine, others
