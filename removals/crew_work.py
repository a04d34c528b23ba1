"""Workers, their tickets, and the crew of an order: reading them, and every change to them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.contrib.auth.models import User
from django.db import transaction

from inventory import record
from inventory.access import Permission
from inventory.errors import Refused
from inventory.record import Actor
from removals import crew_rules
from removals.crew_rules import Member
from removals.models import CrewMember, CrewRole, RemovalOrder, Ticket, TicketKind, Worker
from removals.steps import day_words, permit, said
from removals.taking_down import TakingDown, taking_down

MANAGE_WORKERS = Permission.SCHEDULE_REMOVAL
NAME_CREW = Permission.PLAN_FELLING
"""The crew lead too: who is ill in the morning is known on site."""


# ---- Reading ---------------------------------------------------------------------------------------------------------


def crew_of(order: RemovalOrder) -> tuple[Member, ...]:
    """The order's crew in the order it was named, with the tickets that each holds."""
    rows = order.crew.select_related("worker").prefetch_related("worker__tickets").order_by("pk")
    return tuple(member_of(row.worker, row.role) for row in rows)


def member_of(worker: Worker, role: str) -> Member:
    tickets = {ticket.kind: ticket.expires_on for ticket in worker.tickets.all()}
    return Member(worker.name, role, tickets, worker.first_aid_until)


def crew_gaps(order: RemovalOrder, on: dt.date) -> tuple[str, ...]:
    """What the order's crew lacks on a day by the latest plan and method, a sentence each; empty: nothing."""
    down = taking_down(order, order.plans.first())
    return crew_rules.crew_gaps(crew_of(order), on, pull_line=down.pull_line, needed=tickets_needed(down))


def tickets_needed(down: TakingDown) -> dict[str, str]:
    """Beside the feller's, by the chosen method and the line that is used."""
    return crew_rules.tickets_needed(down.method, winch=down.winch)


# ---- The crew of an order --------------------------------------------------------------------------------------------


@transaction.atomic
def name_crew(*, by: Actor, order: RemovalOrder, crew: Sequence[tuple[Worker, str]]) -> tuple[Member, ...]:
    """Name the whole crew, (worker, role) each; it takes the place of the crew named before.

    Before a day is fixed any crew may be put down; for a scheduled order it must be one that may do the work that day.
    """
    permit(by, NAME_CREW)
    order = RemovalOrder.objects.select_for_update().get(pk=order.pk)
    if not order.before_felling:
        raise Refused(f"Order {order.number} is {order.state}; its crew is a matter of record now.")
    _refuse_misnamed(crew)
    order.crew.all().delete()
    CrewMember.objects.bulk_create(CrewMember(order=order, worker=worker, role=role) for worker, role in crew)
    named = crew_of(order)
    if order.scheduled_for:
        gaps = crew_gaps(order, order.scheduled_for)
        if gaps:
            raise Refused(gaps[0])
    words = ", ".join(f"{member.name} ({member.role})" for member in named) or "nobody"
    record.write(by=by, verb="crew named", subject=order, tree=order.tree, summary=f"Crew: {words}."[:300])
    return named


def _refuse_misnamed(crew: Sequence[tuple[Worker, str]]) -> None:
    seen: set[int] = set()
    for worker, role in crew:
        if role not in CrewRole.values:
            raise Refused(f"“{role}” is no role in a crew; use {', '.join(CrewRole.values)}.")
        if not worker.active:
            raise Refused(f"{worker.name} does not work here any more; name somebody else.")
        if worker.pk in seen:
            raise Refused(f"{worker.name} is named twice; each person has one place in the crew.")
        seen.add(worker.pk)


# ---- Workers and their tickets ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class TicketFacts:
    expires_on: dt.date
    number: str = ""


@transaction.atomic
def save_worker(
    *,
    by: Actor,
    name: str,
    worker: Worker | None = None,
    user: User | None = None,
    first_aid_until: dt.date | None = None,
    active: bool = True,
    tickets: Mapping[str, TicketFacts] | None = None,
) -> Worker:
    """Add a worker, or change one; ``tickets`` by kind are all that the worker holds."""
    permit(by, MANAGE_WORKERS)
    name = " ".join(said(name, "A worker needs a name.", 120).split())
    others = Worker.objects.exclude(pk=worker.pk) if worker else Worker.objects.all()
    if others.filter(name__iexact=name).exists():
        raise Refused(f"There is a worker called {name} already; tell the two apart by a middle name or a number.")
    verb = "changed" if worker else "added"
    kept = worker or Worker()
    kept.name, kept.user, kept.first_aid_until, kept.active = name, user, first_aid_until, active
    kept.save()
    _keep_tickets(kept, tickets or {})
    record.write(by=by, verb=verb, subject=kept, summary=_in_words(kept)[:300])
    return kept


def _keep_tickets(worker: Worker, tickets: Mapping[str, TicketFacts]) -> None:
    worker.tickets.exclude(kind__in=tickets).delete()
    for kind, facts in tickets.items():
        if kind not in TicketKind.values:
            raise Refused(f"“{kind}” is no kind of ticket; use {', '.join(TicketKind.values)}.")
        values = {"number": facts.number, "expires_on": facts.expires_on}
        Ticket.objects.update_or_create(worker=worker, kind=kind, defaults=values)


def _in_words(worker: Worker) -> str:
    tickets = [f"{ticket.kind} ticket until {day_words(ticket.expires_on)}" for ticket in worker.tickets.all()]
    if worker.first_aid_until:
        tickets.append(f"first aid until {day_words(worker.first_aid_until)}")
    state = "" if worker.active else ", no longer in a crew"
    return f"{worker.name}{state}: {', '.join(tickets) or 'no ticket'}."
