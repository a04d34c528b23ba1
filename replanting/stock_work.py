"""Every change to nursery stock: orders with their lines, deliveries in parts, what is ordered again or written off.

The order line is locked before it is looked at. Its counts always hold: ordered = received + rejected + outstanding.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.db import transaction

from inventory import record
from inventory.access import Permission
from inventory.errors import Refused
from inventory.record import Actor
from inventory.steps import day_words, past, permit, said, short
from replanting import workflow
from replanting.models import Delivery, NurseryOrder, OrderLine, PlantingSeason, RejectReason, ReplacementTask, Stock
from replanting.stock_list import Wanted

ORDERED_MOST = 10_000


@transaction.atomic
def order_from_nursery(
    *,
    by: Actor,
    nursery: str,
    season: str,
    year: int,
    lines: Sequence[Wanted],
    on: dt.date,
    season_reason: str = "",
) -> NurseryOrder:
    """One order with its lines; the stock of every task on them is ordered in the same moment, or nothing is."""
    permit(by, Permission.REPLANT)
    if not lines:
        raise Refused("An order has at least one line; tick the trees to order.")
    if season not in PlantingSeason.values:
        raise Refused(f"Say for which season: {' or '.join(PlantingSeason.values)}.")
    order = NurseryOrder.objects.create(
        nursery=said(nursery, "Name the nursery.", limit=120),
        season=season,
        year=year,
        ordered_on=past(on),
        season_reason=season_reason.strip(),
    )
    for line in lines:
        _add_line(by, order, line)
    count = sum(line.ordered for line in lines)
    record.write(
        by=by,
        verb="nursery order",
        subject=order,
        summary=f"Ordered {count} trees from {order.nursery} for {order.planting_season}.",
        on=on.isoformat(),
        reason=order.season_reason,
    )
    return order


def _add_line(by: Actor, order: NurseryOrder, wanted: Wanted) -> None:
    if wanted.stock not in Stock.values:
        raise Refused(f"Say what stock: {', '.join(Stock.values)}.")
    if not 0 < wanted.caliper_cm <= workflow.CALIPER_MAX_CM:
        raise Refused(f"A caliper lies above 0 and up to {workflow.CALIPER_MAX_CM:.0f} cm; mend the size.")
    if not 1 <= wanted.ordered <= ORDERED_MOST or wanted.spares < 0:
        raise Refused(f"A line is for 1 to {ORDERED_MOST:,} trees; mend its spares.")
    line = OrderLine.objects.create(
        order=order,
        species_id=wanted.species,
        cultivar=wanted.cultivar,
        stock=wanted.stock,
        caliper_cm=wanted.caliper_cm,
        ordered=wanted.ordered,
        spares=wanted.spares,
    )
    # In the order of their numbers, so that two orders at once wait for each other instead of deadlocking.
    for task in ReplacementTask.objects.filter(pk__in=wanted.tasks).order_by("pk"):
        _link(by, task, line)


def _link(by: Actor, task: ReplacementTask, line: OrderLine) -> None:
    task = workflow.order_stock(
        by=by, task=task, stock=line.stock, nursery=line.order.nursery, on=line.order.ordered_on
    )
    if task.species_id != line.species_id or task.cultivar != line.cultivar:
        raise Refused(f"The {task} asks for {task.choice} now, not for {line.name}; look at the list again.")
    task.order_line = line
    task.save(update_fields=["order_line"])


@transaction.atomic
def receive(
    *,
    by: Actor,
    line: OrderLine,
    on: dt.date,
    received: int = 0,
    rejected: int = 0,
    reason: str = "",
    note: str = "",
    id: UUID | None = None,
) -> Delivery:
    """What came of a line on one day. ``id``: a form sent twice is stored once."""
    permit(by, Permission.REPLANT)
    line = _locked(line)
    if id and (known := Delivery.objects.filter(pk=id).first()):
        return known
    if min(received, rejected) < 0 or received + rejected == 0:
        raise Refused("Say how many trees were received or rejected.")
    if received + rejected > line.outstanding:
        raise Refused(f"Of {line} {line.outstanding} are outstanding; {received + rejected} cannot have come.")
    if rejected and reason not in RejectReason.values:
        raise Refused(f"Say why they were rejected: {', '.join(RejectReason.values)}.")
    if on < line.order.ordered_on:
        raise Refused(f"They were ordered on {day_words(line.order.ordered_on)}; they cannot have come before.")
    line.received, line.rejected = line.received + received, line.rejected + rejected
    line.save(update_fields=["received", "rejected"])
    made = Delivery(line=line, on=past(on), received=received, rejected=rejected, note=short(note, 300), by=by.user)
    made.reason = reason if rejected else ""
    made.pk = id or made.pk
    made.save(force_insert=True)
    why = f", {rejected} rejected ({reason})" if rejected else ""
    _write(by, line, "delivery", f"{line}: {received} received{why}, {line.outstanding} outstanding.", on)
    return made


@transaction.atomic
def order_again(*, by: Actor, line: OrderLine, count: int, on: dt.date) -> OrderLine:
    """More of the same line: the nursery sends others for those that were rejected, or lost in the yard."""
    permit(by, Permission.REPLANT)
    line = _locked(line)
    lost = line.rejected + line.written_off
    if not 1 <= count <= lost:
        raise Refused(f"Of {line} {lost} were rejected or lost; order 1 to {lost} again, or make a new order.")
    line.ordered += count
    line.save(update_fields=["ordered"])
    _write(by, line, "ordered again", f"{line}: {count} ordered again from {line.order.nursery}.", past(on))
    return line


@transaction.atomic
def write_off(*, by: Actor, line: OrderLine, count: int, reason: str, on: dt.date) -> OrderLine:
    """Received, and lost before it was planted."""
    permit(by, Permission.REPLANT)
    line = _locked(line)
    in_yard = line.received - line.written_off - line.plantings.count()
    if not 1 <= count <= max(in_yard, 0):
        raise Refused(f"Of {line} {max(in_yard, 0)} stand in the yard; {count} cannot be written off.")
    reason = said(reason, "Say why they are written off.")
    line.written_off += count
    line.save(update_fields=["written_off"])
    _write(by, line, "written off", f"{line}: {count} written off: {reason}", past(on))
    return line


def stock_on_hand() -> dict[str, int]:
    """Botanical name → trees that stand in the yard and that no task waits for."""
    found: Counter[str] = Counter()
    rows = OrderLine.objects.filter(received__gt=0).with_used().order_by().select_related("species")
    for line in rows:
        found[line.species.botanical] += spare(line)
    return {name: count for name, count in found.items() if count > 0}


def in_yard(line: Any) -> int:
    """Received and neither planted nor lost; a tree planted before its delivery was written down makes it no less than 0."""
    standing: int = line.received - line.written_off - line.planted
    return max(0, standing)


def spare(line: Any) -> int:
    """In the yard beyond what tasks wait for; ``line`` comes from `with_used`."""
    beyond: int = in_yard(line) - line.reserved
    return max(0, beyond)


def _locked(line: OrderLine) -> OrderLine:
    rows = OrderLine.objects.select_for_update(of=("self",)).select_related("order", "species")
    locked: OrderLine = rows.get(pk=line.pk)
    return locked


def _write(by: Actor, line: OrderLine, verb: str, summary: str, on: dt.date) -> None:
    record.write(by=by, verb=verb, subject=line.order, summary=short(summary, 300), on=on.isoformat(), line=line.pk)
