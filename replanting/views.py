"""The queue of replacements, a replacement's page, and its steps."""

from __future__ import annotations

from typing import Any

from django.db.models import Count, Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from inventory.access import Permission, allowed, requires
from inventory.models import Park, RecordEntry
from inventory.paging import page_of
from inventory.record import Actor
from replanting import city_policy, workflow
from replanting.filters import ALL, WAITING, TaskFilter
from replanting.forms import FailForm, OrderForm, PlantForm, ReasonForm, StepForm, VisitForm
from replanting.ledger import Ledger, ledger
from replanting.models import CareVisit, Obstacle, PlannedPlanting, Planting, ReplacementTask, TaskState
from replanting.planting_work import plant_in_season
from replanting.policy import guaranteed_to
from replanting.rounds import care_of
from replanting.states import Action
from replanting.steps import offers, take, task_of

OPEN = Obstacle.objects.filter(cleared_on__isnull=True)


@requires(Permission.READ)
def tasks(request: HttpRequest) -> HttpResponse:
    """The promises by the day they are due, and the ledger above them."""
    rows = ReplacementTask.objects.exclude(state=TaskState.MERGED).select_related(
        "removed_tree__species", "park", "moved_to", "place", "species"
    )
    rows = rows.defer("park__boundary", "moved_to__boundary").prefetch_related(
        Prefetch("obstacles", OPEN, "in_the_way")
    )
    chosen = TaskFilter(request.GET, queryset=rows, request=request)
    park = chosen.form.cleaned_data.get("park") if chosen.form.is_valid() else None
    today = timezone.localdate()
    context = {
        "filter": chosen,
        "folded": not request.GET,
        "page": page_of(chosen.qs, ["due_on", "id"], request.GET.get("page", "")),
        "tiles": tiles(ledger(today, park), park),
        "park": park,
        "today": today,
    }
    return render(request, "replanting/tasks.html", context)


def tiles(book: Ledger, park: Park | None) -> list[dict[str, Any]]:
    """Owed is the sum of the four that follow; each opens its own list."""
    late, lost = f"{book.overdue} overdue" if book.overdue else "", f"{book.failures} plantings lost"
    rows: tuple[tuple[str, int, str, str], ...] = (
        ("Owed", book.owed, ALL, lost if book.failures else ""),
        ("= Waiting", book.waiting, WAITING, late),
        ("+ Planted", book.planted, TaskState.PLANTED, ""),
        ("+ Established", book.established, TaskState.ESTABLISHED, ""),
        ("+ Waived", book.waived, TaskState.WAIVED, ""),
    )
    return [
        {"label": label, "figure": figure, "url": _listed(state, park), "note": note}
        for label, figure, state, note in rows
    ]


def _listed(state: str, park: Park | None) -> str:
    query = {"state": state, "park": park.code} if park else {"state": state}
    return reverse("replanting:tasks", query=query)


@requires(Permission.READ)
def task(request: HttpRequest, pk: int) -> HttpResponse:
    """One promise: what stood there, what is planned or planted, what happened, what may happen next."""
    found = task_of(pk)
    context = {
        "task": found,
        "offers": offers(request, found),
        "plantings": _with_guarantee(found),
        "visits": CareVisit.objects.filter(planting__task=found).select_related("by", "planting__tree"),
        "care": care_of(found, timezone.localdate()),
        "entries": RecordEntry.objects.filter(subject_type=found._meta.label_lower, subject_id=str(found.pk)),
        "obstacles": list(found.obstacles.all()),
        "siblings": _siblings(found),
        "may_clear": found.is_waiting and allowed(request.user, Permission.REPLANT),
        "today": timezone.localdate(),
    }
    return render(request, "replanting/task.html", context)


def _siblings(task: ReplacementTask) -> list[ReplacementTask]:
    """What else is owed for the same tree; one that was merged away leads to where it went."""
    found = ReplacementTask.objects.filter(removed_tree_id=task.removed_tree_id).exclude(pk=task.pk)
    return list(found.exclude(units=0).select_related("species", "moved_to").defer("moved_to__boundary").order_by("pk"))


def _with_guarantee(task: ReplacementTask) -> list[Planting]:
    """The plantings with ``guaranteed_to``, by the policy of today: None where it gives no guarantee."""
    policy = city_policy.current()
    found = list(task.plantings.select_related("tree__species").annotate(times_visited=Count("visits")))
    for planting in found:
        last = guaranteed_to(planting.planted_on, policy) if policy.guarantee_months else None
        planting.guaranteed_to = last  # type: ignore[attr-defined]
    return found


@requires(Permission.REPLANT)
def order(request: HttpRequest, pk: int) -> HttpResponse:
    return take(request, pk, Action.ORDER, OrderForm, workflow.order_stock, done="Stock ordered.")


@requires(Permission.REPLANT)
def plant(request: HttpRequest, pk: int) -> HttpResponse:
    done = "Planted. The young tree stands in the inventory and in the care list."
    return take(request, pk, Action.PLANT, PlantForm, plant_in_season, done=done, initial=_as_planned)


def _as_planned(task: ReplacementTask) -> dict[str, Any]:
    planned = PlannedPlanting.objects.select_related("planting_day").filter(task=task).first()
    line = task.order_line
    return {
        "stock": task.stock,
        "caliper": line and line.caliper_cm,
        "crew": planned.planting_day.crew if planned else "",
    }


@requires(Permission.REPLANT)
def set_aside(request: HttpRequest, pk: int) -> HttpResponse:
    done = "The choice is set aside; the replacement is open again."
    return take(request, pk, Action.SET_ASIDE, ReasonForm, workflow.set_aside, done=done)


@requires(Permission.CARE)
def visit(request: HttpRequest, pk: int) -> HttpResponse:
    return take(request, pk, Action.VISIT, VisitForm, _visit, done="Visit recorded.")


def _visit(*, by: Actor, task: ReplacementTask, **facts: Any) -> CareVisit:
    return workflow.visit(by=by, planting=task.plantings.latest("pk"), **facts)


@requires(Permission.REPLANT)
def establish(request: HttpRequest, pk: int) -> HttpResponse:
    return take(request, pk, Action.ESTABLISH, StepForm, workflow.establish, done="Established: the promise is kept.")


@requires(Permission.REPLANT)
def fail(request: HttpRequest, pk: int) -> HttpResponse:
    done = "The failure is recorded; the replacement is open again."
    return take(request, pk, Action.FAIL, FailForm, workflow.fail, done=done)
