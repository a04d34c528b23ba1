"""The pages on which what is owed is moved, split, merged or waived, and on which obstacles come and go."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from inventory.access import Permission, requires
from inventory.errors import Refused
from inventory.record import Actor
from replanting import workflow
from replanting.models import Obstacle, ReplacementTask
from replanting.obstacles import clear_obstacle, put_obstacle
from replanting.owing import fix_by_hand
from replanting.parting import merge as merge_tasks
from replanting.parting import move as move_task
from replanting.parting import split as split_task
from replanting.parting_forms import (
    PLACES_SHOWN,
    FixForm,
    MergeForm,
    MoveForm,
    ObstacleForm,
    SplitForm,
    WaiveForm,
    vacant_places,
)
from replanting.states import Action
from replanting.steps import take


@requires(Permission.REPLANT)
def move(request: HttpRequest, pk: int) -> HttpResponse:
    done = "Moved. The park that owes it stays the same."
    given = request.GET.get("place", "")
    return take(
        request, pk, Action.MOVE, MoveForm, move_task, done=done, initial=lambda task: {"place": given}, aside=_places
    )


def _places(task: ReplacementTask) -> dict[str, Any]:
    """Vacant places of the park where it is to be planted, and one more than fit when there are more."""
    found = vacant_places().filter(park=task.site_park).order_by("tag").only("tag", "kind", "note")
    return {"places": list(found[:PLACES_SHOWN]), "places_in": task.site_park}


@requires(Permission.REPLANT)
def split(request: HttpRequest, pk: int) -> HttpResponse:
    return take(request, pk, Action.SPLIT, SplitForm, split_task, done="Split: this is the part that goes its own way.")


@requires(Permission.REPLANT)
def merge(request: HttpRequest, pk: int) -> HttpResponse:
    return take(request, pk, Action.MERGE, MergeForm, merge_tasks, done="Merged: they go one way from here.")


@requires(Permission.WAIVE_REPLANTING)
def waive(request: HttpRequest, pk: int) -> HttpResponse:
    return take(request, pk, Action.WAIVE, WaiveForm, workflow.waive, done="Waived, in your name.")


@requires(Permission.REPLANT)
def obstacle(request: HttpRequest, pk: int) -> HttpResponse:
    return take(request, pk, Action.PUT_OBSTACLE, ObstacleForm, _put, done="It stands in the way until it is cleared.")


def _put(**facts: Any) -> ReplacementTask:
    task: ReplacementTask = put_obstacle(**facts).task
    return task


@requires(Permission.REPLANT)
def fix(request: HttpRequest, pk: int) -> HttpResponse:
    """Only where the city's table does not speak of the tree; the function refuses the rest."""
    return take(request, pk, Action.FIX, FixForm, _fix, done="The number owed is fixed.")


def _fix(*, task: ReplacementTask, **facts: Any) -> ReplacementTask:
    fix_by_hand(task=task, **facts)
    return task


@requires(Permission.REPLANT)
@require_POST
def cleared(request: HttpRequest, pk: int) -> HttpResponse:
    """One tap: it stands in the way no more."""
    found = get_object_or_404(Obstacle.objects.select_related("task"), pk=pk)
    try:
        clear_obstacle(by=Actor(request.user), obstacle=found)
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"Cleared: {found.kind}.")
    return redirect("replanting:task", found.task_id)
