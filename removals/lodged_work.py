"""A tree that hangs in another: an open hazard from the report until somebody has brought it down, by name and how."""

from __future__ import annotations

import datetime as dt

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from inventory import record
from inventory.access import Permission
from inventory.errors import Refused
from inventory.record import Actor
from removals.bounds import METHOD_BOUNDS
from removals.models import LodgedTree, RemovalOrder
from removals.readiness import hanging, latest_plan
from removals.steps import moment, permit, said, short

CLEAR_HEIGHTS = 2.0
CAUTIONS = (
    "Never leave it unmarked: mark it now, and keep two tree lengths around it clear.",
    "Nobody works or walks beneath it; nobody climbs it or the tree that holds it.",
    "Never fell another tree onto it, and never cut the tree that holds it.",
    "Bring it down by machine, from a safe distance; a licensed practitioner decides how.",
)
SOURCE = "OAR 437-007-0810; the last one is common practice"


@transaction.atomic
def report_lodged(*, by: Actor, order: RemovalOrder, marked: str, at: dt.datetime | None = None) -> LodgedTree:
    """The order's tree hangs in another. ``marked``: how the place is marked and kept clear. Needs no plan or briefing."""
    order = _locked(order, by)
    if not order.before_felling:
        raise Refused(f"Order {order.number} is {order.state}: its tree is not one that can hang.")
    if hanging(order):
        raise Refused(f"Order {order.number} is reported as hanging already.")
    lodged = LodgedTree.objects.create(
        order=order,
        reported_at=moment(at),
        reported_by=by.user,
        marked=said(marked, "Say how the place is marked and kept clear: it is never left unmarked.", 300),
        keep_clear_m=CLEAR_HEIGHTS * tree_height_m(order),
    )
    _record(order, "lodged", by, f"The tree hangs in another. Marked: {lodged.marked}", lodged)
    return lodged


@transaction.atomic
def clear_lodged(
    *, by: Actor, order: RemovalOrder, cleared_by: str, how: str, at: dt.datetime | None = None
) -> LodgedTree:
    """It hangs no more: who brought it down, and how."""
    order = _locked(order, by)
    lodged = hanging(order)
    if lodged is None:
        raise Refused(f"Nothing of order {order.number} is reported as hanging.")
    cleared_at = moment(at)
    if cleared_at < lodged.reported_at:
        raise Refused(f"It was reported at {timezone.localtime(lodged.reported_at):%Y-%m-%d %H:%M}; give a later time.")
    lodged.cleared_at = cleared_at
    lodged.cleared_by = said(cleared_by, "Say who brought it down.", 150)
    lodged.cleared_how = said(how, "Say how it was brought down.", 300)
    lodged.save()
    _record(order, "lodged tree cleared", by, f"Brought down by {lodged.cleared_by}: {lodged.cleared_how}", lodged)
    return lodged


def hanging_trees() -> QuerySet[LodgedTree]:
    """Every tree that hangs now, the one reported last first."""
    return LodgedTree.objects.filter(cleared_at=None).select_related("order__tree", "order__park", "reported_by")


def tree_height_m(order: RemovalOrder) -> float:
    """The plan's height, else the inventory's; of unknown height it counts as the tallest of the method."""
    plan = latest_plan(order)
    planned: float | None = plan.inputs.get("height_m") if plan else None
    return planned or order.tree.height_m or METHOD_BOUNDS.height_m.high


def _locked(order: RemovalOrder, by: Actor) -> RemovalOrder:
    permit(by, Permission.FELL)
    return RemovalOrder.objects.select_for_update().get(pk=order.pk)


def _record(order: RemovalOrder, verb: str, by: Actor, summary: str, lodged: LodgedTree) -> None:
    record.write(by=by, verb=verb, subject=order, tree=order.tree, summary=short(summary, 300), lodged=lodged.pk)
