"""Work other than removal: the list, one order's page, a page for each step, and a look that is asked for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from hazards import mitigation, states
from hazards.asked import ask_look
from hazards.filters import ALL, OPEN, MitigationFilter
from hazards.hosts import limits_of, pruning_warnings
from hazards.models import Assessment, MitigationKind, MitigationOrder, MitigationState, Standing
from hazards.states import Action
from hazards.triage import day
from hazards.work_forms import AskLookForm, ProposeWorkForm, ScheduleWorkForm, WithdrawWorkForm, WorkDoneForm, WorkForm
from inventory.access import Permission, permissions_of, requires
from inventory.errors import Refused
from inventory.models import RecordEntry, Tree
from inventory.paging import page_of
from inventory.record import Actor

HISTORY = 50


def orders_with(*related: str) -> Any:
    return MitigationOrder.objects.select_related("tree__species", "park", *related).defer(
        "park__boundary", "tree__note"
    )


def the_order(pk: int) -> MitigationOrder:
    related = ("proposed_by", "assigned_to", "done_by", "assessment__inspection", "assessment__target")
    order: MitigationOrder = get_object_or_404(orders_with(*related), pk=pk)
    return order


def the_tree(tag: str) -> Tree:
    trees = Tree.objects.select_related("species", "park").defer("park__boundary", "note")
    tree: Tree = get_object_or_404(trees, tag=tag)
    return tree


@requires(Permission.READ)
def work(request: HttpRequest) -> HttpResponse:
    """Orders, the newest first, the overdue ones the latest first; the open ones unless the filter says otherwise."""
    asked = request.GET.copy()
    token = asked.pop("page", [""])[-1]
    shown = orders_with("assigned_to")
    chosen = MitigationFilter(asked or None, queryset=shown if asked.get("state") else shown.open(), request=request)
    keys = ["due_on", "id"] if asked.get("overdue") else ["-id"]
    context = {
        "filter": chosen,
        "page": page_of(chosen.qs, keys, token),
        "states": [(OPEN, "Open"), *((state, state.capitalize()) for state in MitigationState.values), (ALL, "All")],
        "state": request.GET.get("state", OPEN),
        "today": timezone.localdate(),
    }
    return render(request, "hazards/work.html", context)


@dataclass(frozen=True)
class Link:
    label: str
    view: str
    danger: bool = False


LINKS = {
    Action.REPORT: Link("Report it done", "hazards:work_done"),
    Action.SCHEDULE: Link("Schedule", "hazards:schedule_work"),
    Action.WITHDRAW: Link("Withdraw", "hazards:withdraw_work", danger=True),
}
WAITS_FOR = {
    MitigationState.PROPOSED: "It waits to be given a day and somebody who sees to it.",
    MitigationState.SCHEDULED: "It waits to be done, and is then reported; the tree is looked at anew afterwards.",
    MitigationState.DONE: "Nothing: the work is done. The tree keeps its rating until it is looked at anew.",
    MitigationState.WITHDRAWN: "Nothing: this order was withdrawn.",
}


@requires(Permission.READ)
def order(request: HttpRequest, pk: int) -> HttpResponse:
    """One order: where it stands, what comes next, the finding it rests on, what happened."""
    shown, today = the_order(pk), timezone.localdate()
    granted = permissions_of(request.user)
    steps = states.TABLE[MitigationState(shown.state)]
    record = RecordEntry.objects.filter(subject_type=shown._meta.label_lower, subject_id=str(shown.pk))
    context = {
        "order": shown,
        "waits": WAITS_FOR[MitigationState(shown.state)],
        "links": [LINKS[action] for action in LINKS if action in steps and steps[action].needs in granted],
        "overdue": bool(shown.is_open and shown.due_on and shown.due_on < today),
        "limits": _warnings(shown, today) if shown.is_open else [],
        "options": list(shown.assessment.options.all()) if shown.assessment else [],
        "standing": Standing.objects.filter(tree=shown.tree_id).first(),
        "history": record[:HISTORY],
    }
    return render(request, "hazards/work_order.html", context)


def _warnings(order: MitigationOrder, today: dt.date) -> list[Any]:
    """Seasons in which the tree must not be pruned, where this order prunes it and one of its days lies within."""
    if order.kind != MitigationKind.PRUNE:
        return []
    days = {"its day": order.scheduled_for, "its due day": order.due_on, "today": today}
    return pruning_warnings(order.tree, days)


# ---- The pages of the steps ------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class StepPage:
    """What a step's page says, and the workflow function that its form's fields are handed to."""

    heading: str
    submit: str
    words: str
    form: type[WorkForm]
    run: Callable[..., MitigationOrder]
    danger: bool = False


SCHEDULE = StepPage(
    "Schedule", "Schedule the work", "The day of the work and who sees to it.", ScheduleWorkForm, mitigation.schedule
)
DONE = StepPage(
    "Report it done",
    "The work is done",
    "The tree keeps its rating; the look that rates it anew falls due.",
    WorkDoneForm,
    mitigation.report_done,
)
WITHDRAW = StepPage(
    "Withdraw",
    "Withdraw the order",
    "The work is not done; the order ends here.",
    WithdrawWorkForm,
    mitigation.withdraw,
    danger=True,
)


@requires(Permission.ORDER_MITIGATION)
def schedule_work(request: HttpRequest, pk: int) -> HttpResponse:
    return _step(request, SCHEDULE, the_order(pk))


@requires(Permission.REPORT_MITIGATION)
def work_done(request: HttpRequest, pk: int) -> HttpResponse:
    return _step(request, DONE, the_order(pk))


@requires(Permission.ORDER_MITIGATION)
def withdraw_work(request: HttpRequest, pk: int) -> HttpResponse:
    return _step(request, WITHDRAW, the_order(pk))


def _step(request: HttpRequest, page: StepPage, shown: MitigationOrder) -> HttpResponse:
    """Show the step's form, or take the step and go back to the order."""
    form = page.form(request.POST if request.method == "POST" else None, order=shown)
    if form.is_valid():
        taken = _try(request, form, lambda: page.run(order=shown, by=Actor(request.user), **form.cleaned_data))
        if taken:
            return redirect("hazards:work_order", taken.pk)
    context = {
        "page": page,
        "form": form,
        "order": shown,
        "tree": shown.tree,
        "seasons": _seasons(shown.tree) if page is SCHEDULE and shown.kind == MitigationKind.PRUNE else [],
    }
    return render(request, "hazards/work_step.html", context)


def _seasons(tree: Tree) -> list[Any]:
    return limits_of(tree.species.genus) if tree.species else []


# ---- What begins with a tree -----------------------------------------------------------------------------------------


@requires(Permission.PROPOSE_MITIGATION)
def propose_work(request: HttpRequest, tag: str) -> HttpResponse:
    """Propose work on a tree; with ``?assessment=`` from that finding, its advised work filled in."""
    tree = the_tree(tag)
    standing = Standing.objects.select_related("assessment__target", "assessment__inspection").filter(tree=tree).first()
    found = _finding(request.GET, tree) or (standing.assessment if standing else None)
    form = ProposeWorkForm(request.POST if request.method == "POST" else None, initial=_wanted(request.GET, found))
    if form.is_valid():
        given = {"tree": tree, "assessment": found, **form.cleaned_data}
        made = _try(request, form, lambda: mitigation.propose(by=Actor(request.user), **given))
        if made:
            return redirect("hazards:work_order", made.pk)
    context = {
        "form": form,
        "tree": tree,
        "assessment": found,
        "waiting": list(MitigationOrder.objects.open().filter(tree=tree)),
        "seasons": _seasons(tree),
        "today": timezone.localdate(),
    }
    return render(request, "hazards/propose_work.html", context)


def _finding(given: Mapping[str, str], tree: Tree) -> Assessment | None:
    try:
        wanted = UUID(given.get("assessment", ""))
    except ValueError:
        return None
    findings = Assessment.objects.select_related("inspection", "target")
    found: Assessment = get_object_or_404(findings, pk=wanted, inspection__tree=tree)
    return found


def _wanted(given: Mapping[str, str], found: Assessment | None) -> dict[str, Any]:
    """The kind that the address or the finding asks for, and the finding in words."""
    kind = given.get("kind") or (found.mitigation if found else "")
    reason = f"{found.part.capitalize()}: {found.failure_mode}, over {found.target.name}." if found else ""
    return {"kind": kind if kind in MitigationKind.values else "", "reason": reason}


def _try(request: HttpRequest, form: Any, change: Callable[[], MitigationOrder]) -> MitigationOrder | None:
    """Make the change and say so, with what speaks against its day; or put the refusal's sentence on the form."""
    try:
        changed = change()
    except Refused as refused:
        form.add_error(None, str(refused))
        return None
    messages.success(request, f"Order {changed.number} is {changed.state}.")
    return changed


@requires(Permission.INSPECT)
def ask_for_look(request: HttpRequest, tag: str) -> HttpResponse:
    """Ask for a look at a tree beyond the policy's rounds."""
    tree = the_tree(tag)
    form = AskLookForm(request.POST or None)
    if form.is_valid():
        try:
            asked = ask_look(by=Actor(request.user), tree=tree, **form.cleaned_data)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"A look at {tree.tag} is due by {day(asked.due_on)}.")
            return redirect("reports:tree", tree.tag)
    return render(request, "hazards/ask_look.html", {"form": form, "tree": tree})
