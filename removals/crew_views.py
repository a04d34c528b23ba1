"""Workers with their tickets, and the crew of an order."""

from __future__ import annotations

import datetime as dt

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from inventory.access import requires
from inventory.record import Actor
from removals import crew_work
from removals.answers import made
from removals.crew_rules import SOON_DAYS
from removals.models import TicketKind, Worker
from removals.readiness import latest_plan
from removals.taking_down import taking_down
from removals.views import the_order
from removals.work_forms import CrewFormSet, WorkerForm, named


@requires(crew_work.MANAGE_WORKERS)
def workers(request: HttpRequest) -> HttpResponse:
    """Everybody who works in crews, and until when which ticket holds."""
    today = timezone.localdate()
    rows = Worker.objects.select_related("user").prefetch_related("tickets").order_by("-active", "name")
    context = {
        "workers": [(worker, _ends(worker)) for worker in rows],
        "kinds": TicketKind.values,
        "today": today,
        "soon": today + dt.timedelta(days=SOON_DAYS),
        "soon_days": SOON_DAYS,
    }
    return render(request, "removals/workers.html", context)


def _ends(worker: Worker) -> list[dt.date | None]:
    """The day on which each kind of ticket ends, then first aid; None: the worker has none."""
    tickets = {ticket.kind: ticket.expires_on for ticket in worker.tickets.all()}
    return [*(tickets.get(kind) for kind in TicketKind.values), worker.first_aid_until]


@requires(crew_work.MANAGE_WORKERS)
def add_worker(request: HttpRequest) -> HttpResponse:
    return _worker_page(request, None)


@requires(crew_work.MANAGE_WORKERS)
def worker(request: HttpRequest, pk: int) -> HttpResponse:
    return _worker_page(request, get_object_or_404(Worker.objects.prefetch_related("tickets"), pk=pk))


def _worker_page(request: HttpRequest, known: Worker | None) -> HttpResponse:
    form = WorkerForm(request.POST if request.method == "POST" else None, worker=known)
    if form.is_valid() and made(
        request,
        form,
        lambda: crew_work.save_worker(by=Actor(request.user), worker=known, **form.facts()),
        f"{form.cleaned_data['name']} is kept.",
    ):
        return redirect("removals:workers")
    return render(request, "removals/worker.html", {"form": form, "worker": known})


@requires(crew_work.NAME_CREW)
def crew(request: HttpRequest, pk: int) -> HttpResponse:
    """Name the crew of an order: workers, each in a role."""
    order = the_order(pk)
    down = taking_down(order, latest_plan(order))
    before = [{"worker": row.worker_id, "role": row.role} for row in order.crew.all()]
    rows = CrewFormSet(request.POST if request.method == "POST" else None, initial=before)
    # Without fields: it carries what speaks against the crew as a whole.
    form = forms.Form({})
    if rows.is_valid() and made(
        request,
        form,
        lambda: crew_work.name_crew(by=Actor(request.user), order=order, crew=named(rows)),
        f"The crew of order {order.number} is named.",
    ):
        return redirect("removals:order", order.pk)
    context = {
        "order": order,
        "tree": order.tree,
        "rows": rows,
        "form": form,
        "pull_line": down.pull_line,
        "needed": crew_work.tickets_needed(down),
        "nobody": not Worker.objects.filter(active=True).exists(),
    }
    return render(request, "removals/crew.html", context)
