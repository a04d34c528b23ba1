"""One page a step of a replacement: the form, the workflow function, and back to the task."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from inventory.access import permissions_of
from inventory.context import units_of
from inventory.errors import Refused
from inventory.record import Actor
from replanting.forms import StepForm
from replanting.models import ReplacementTask
from replanting.owing import number_is_asked
from replanting.parting import mates
from replanting.states import Action, open_to, step


@dataclass(frozen=True)
class Offer:
    """A button for what may happen next."""

    label: str
    url: str
    weighty: bool


_URL_OF = {
    Action.CHOOSE_SPECIES: "candidates",
    Action.ORDER: "order",
    Action.PLANT: "plant",
    Action.SET_ASIDE: "set_aside",
    Action.VISIT: "visit",
    Action.ESTABLISH: "establish",
    Action.FAIL: "fail",
    Action.WAIVE: "waive",
    Action.MOVE: "move",
    Action.SPLIT: "split",
    Action.MERGE: "merge",
    Action.PUT_OBSTACLE: "obstacle",
    Action.FIX: "fix",
}
_WEIGHTY = {Action.SET_ASIDE, Action.FAIL, Action.WAIVE}


def said(action: Action) -> str:
    return action.value[0].upper() + action.value[1:]


def offers(request: HttpRequest, task: ReplacementTask) -> list[Offer]:
    """What this reader may do with the task now."""
    return [
        Offer(said(action), reverse(f"replanting:{_URL_OF[action]}", args=[task.pk]), action in _WEIGHTY)
        for action in open_to(task.state, permissions_of(request.user))
        if _makes_sense(action, task)
    ]


def _makes_sense(action: Action, task: ReplacementTask) -> bool:
    """Beyond its state: one is not split, and only what differs in nothing is merged."""
    if action is Action.SPLIT:
        return task.units > 1
    if action is Action.MERGE:
        return bool(mates(task).exists())
    return action is not Action.FIX or number_is_asked(task)


def task_of(pk: int) -> ReplacementTask:
    rows = ReplacementTask.objects.select_related(
        *("removed_tree__species", "removed_tree__park", "removed_tree__owed", "park", "species", "moved_to", "place")
    )
    boundaries = ("park__boundary", "removed_tree__park__boundary", "moved_to__boundary")
    task: ReplacementTask = get_object_or_404(rows.defer(*boundaries), pk=pk)
    return task


def refused(request: HttpRequest, task: ReplacementTask, action: Action) -> HttpResponse | None:
    """The way back to the task, with the reason, when the step is not open any more."""
    try:
        step(task.state, action)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("replanting:task", task.pk)
    return None


def take(
    request: HttpRequest,
    pk: int,
    action: Action,
    form_class: type[StepForm],
    act: Callable[..., Any],
    *,
    done: str,
    initial: Callable[[ReplacementTask], dict[str, Any]] = lambda task: {},
    aside: Callable[[ReplacementTask], dict[str, Any]] = lambda task: {},
) -> HttpResponse:
    """Show the step's form, or take the step. ``act`` is called with ``by``, ``task`` and the form's facts; the page of the
    task that it gives back is shown next, or that of the same task. ``aside``: what the page shows beside the form.
    """
    task = task_of(pk)
    if request.method != "POST" and (back := refused(request, task, action)):
        return back
    sent = request.POST if request.method == "POST" else None
    form = form_class(sent, request.FILES or None, units=units_of(request), initial=initial(task))
    form.about(task)
    status = 200
    if sent is not None and form.is_valid():
        try:
            changed = act(by=Actor(request.user), task=task, **form.facts())
        except Refused as refusal:
            form.add_error(None, str(refusal))
            status = 409
        else:
            messages.success(request, done)
            return redirect("replanting:task", changed.pk if isinstance(changed, ReplacementTask) else task.pk)
    context = {"task": task, "form": form, "submit": said(action), "weighty": action in _WEIGHTY, **aside(task)}
    return render(request, "replanting/step.html", context, status=status)
