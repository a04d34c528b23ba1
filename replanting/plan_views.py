"""The planting plan: which crew plants what on which day, and the sheet that a crew takes along."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.db import transaction
from django.db.models import Q, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from inventory.access import Permission, requires
from inventory.errors import Refused
from inventory.record import Actor
from replanting import plan_work
from replanting.models import PLANTABLE, PlannedPlanting, PlantingDay, ReplacementTask
from replanting.planting_checks import CHECKS
from replanting.planting_work import season_warning

SHOWN = 200


class PlanForm(forms.Form):
    """Ticked replacements go on one crew's day."""

    day = forms.DateField(widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    crew = forms.CharField(max_length=120)
    capacity = forms.IntegerField(
        label="Trees a day",
        min_value=1,
        max_value=200,
        initial=plan_work.CAPACITY,
        help_text="Holds when the crew's day is new.",
    )
    tasks = forms.ModelMultipleChoiceField(
        ReplacementTask.objects.filter(state__in=PLANTABLE), error_messages={"required": "Tick the trees to plant."}
    )


@requires(Permission.READ, to_change=Permission.REPLANT)
def plan(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    form = PlanForm(request.POST if request.method == "POST" else None)
    status = 200
    if form.is_bound and form.is_valid():
        if _planned(request, form):
            return redirect("replanting:plan")
        status = 409
    waiting = Q(planned__task__state__in=PLANTABLE)
    counted = PlantingDay.objects.annotate(trees=Sum("planned__task__units", filter=waiting, default=0))
    context = {
        "form": form,
        "days": counted.filter(Q(day__gte=today) | Q(trees__gt=0)),
        "overdue": PlannedPlanting.objects.overdue(today).count(),
        "tasks": unplanned()[:SHOWN],
        "ticked": set(request.POST.getlist("tasks")),
        "today": today,
    }
    return render(request, "replanting/plan.html", context, status=status)


def unplanned() -> Any:
    """With their species chosen and on no day yet, the first due first."""
    rows = ReplacementTask.objects.filter(state__in=PLANTABLE, planned__isnull=True)
    return (
        rows.select_related("removed_tree", "species", "park", "moved_to")
        .defer("park__boundary", "moved_to__boundary")
        .order_by("due_on", "pk")
    )


def _planned(request: HttpRequest, form: PlanForm) -> bool:
    typed = dict(form.cleaned_data)
    tasks = typed.pop("tasks").select_related("species", "park", "removed_tree").order_by("pk")
    try:
        with transaction.atomic():
            for task in tasks:
                plan_work.plan_planting(by=Actor(request.user), task=task, **typed)
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return False
    messages.success(request, f"{len(tasks)} planned for {typed['day']:%-d %b %Y}, {typed['crew']}.")
    for words in sorted({season_warning(task, task.stock, typed["day"]) for task in tasks} - {""}):
        messages.warning(request, words)
    return True


@requires(Permission.READ)
def sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """What the crew takes along: where, what stock, and the checks."""
    crew_day = get_object_or_404(PlantingDay, pk=pk)
    rows = crew_day.planned.waiting().select_related(
        "task__removed_tree", "task__species", "task__park", "task__moved_to", "task__place", "task__order_line"
    )
    planned = [
        {"task": row.task, "outside": season_warning(row.task, row.task.stock, crew_day.day)}
        for row in rows.defer("task__park__boundary", "task__moved_to__boundary").order_by("task__park__name", "pk")
    ]
    context = {"crew_day": crew_day, "planned": planned, "checks": CHECKS, "today": timezone.localdate()}
    return render(request, "replanting/planting_sheet.html", context)


@requires(Permission.REPLANT)
@require_POST
def unplan(request: HttpRequest, pk: int) -> HttpResponse:
    task = get_object_or_404(ReplacementTask.objects.select_related("removed_tree"), pk=pk)
    try:
        plan_work.unplan(by=Actor(request.user), task=task)
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"The {task} is off the plan.")
    return redirect("replanting:plan")
