"""Orders: the list, one order's page, and a page for each step that it takes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from hazards.hosts import pruning_warnings
from hazards.models import Standing
from inventory.access import Permission, permissions_of, requires
from inventory.errors import Refused
from inventory.models import RecordEntry, Tree
from inventory.paging import page_of
from inventory.record import Actor
from removals import forms, workflow
from removals.filters import ALL, OPEN, OrderFilter
from removals.lodged_work import hanging_trees
from removals.models import OrderState, RemovalOrder
from removals.next_steps import outlook, way
from removals.order_parts import order_parts
from removals.outcome_work import open_alarms, outcome_parts
from removals.readiness import latest_plan
from removals.taking_down import latest_method, taking_down
from replanting.models import ReplacementTask

HISTORY = 50


def orders_with(*related: str) -> Any:
    """Orders with their tree and park. A park's boundary is long and stays in the database."""
    return RemovalOrder.objects.select_related("tree__species", "park", *related).defer("park__boundary", "tree__note")


def the_order(pk: int) -> RemovalOrder:
    order: RemovalOrder = get_object_or_404(orders_with("proposed_by", "approved_by", "crew_lead"), pk=pk)
    return order


@requires(Permission.READ)
def orders(request: HttpRequest) -> HttpResponse:
    """Orders, the newest first; the open ones unless the filter says otherwise."""
    asked = request.GET.copy()
    token = asked.pop("page", [""])[-1]
    shown = orders_with("crew_lead")
    chosen = OrderFilter(asked or None, queryset=shown if asked.get("state") else shown.open(), request=request)
    context = {
        "filter": chosen,
        "page": page_of(chosen.qs, ["-id"], token),
        "states": [(OPEN, "Open"), *((state, state.capitalize()) for state in OrderState.values), (ALL, "All")],
        "state": request.GET.get("state", OPEN),
        "today": timezone.localdate(),
        "hanging": hanging_trees().defer("order__park__boundary"),
        "alarms": open_alarms().count(),
    }
    return render(request, "removals/orders.html", context)


@requires(Permission.READ)
def order(request: HttpRequest, pk: int) -> HttpResponse:
    """One order: where it stands, what comes next, its plan and its briefing, what happened."""
    shown, today = the_order(pk), timezone.localdate()
    plan = latest_plan(shown)
    record = RecordEntry.objects.filter(subject_type=shown._meta.label_lower, subject_id=str(shown.pk))
    context = {
        "order": shown,
        "way": way(shown),
        "outlook": outlook(shown, permissions_of(request.user), today),
        "plan": plan,
        "method": latest_method(shown),
        "down": taking_down(shown, plan),
        "briefing": plan.briefings.prefetch_related("signatures").first() if plan else None,
        "overdue": bool(shown.due_on and shown.due_on < today and not shown.felled_on and not shown.withdrawn_on),
        "tasks": ReplacementTask.objects.filter(removed_tree_id=shown.tree_id).exclude(units=0).order_by("pk"),
        "history": record[:HISTORY],
        "pruning_limits": _pruning_limits(shown),
        **outcome_parts(shown),
        **order_parts(shown, permissions_of(request.user), today),
    }
    return render(request, "removals/order.html", context)


def _pruning_limits(order: RemovalOrder) -> list[Any]:
    """Seasons in which the tree must not be cut by pruning, where the felling or its due day lies within one."""
    if not order.before_felling:
        return []
    return pruning_warnings(order.tree, {"the day of the felling": order.scheduled_for, "the due day": order.due_on})


# ---- The pages of the steps ------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class StepPage:
    """What a step's page says, and the workflow function that its form's fields are handed to."""

    heading: str
    submit: str
    words: str
    form: type[forms.OrderForm]
    run: Callable[..., RemovalOrder]
    danger: bool = False


APPROVE = StepPage(
    "Approve",
    "Approve the removal",
    "The tree is to come down; a replacement will be owed.",
    forms.ApproveForm,
    workflow.approve,
)
SCHEDULE = StepPage(
    "Schedule", "Schedule", "The day of the work and who leads the crew.", forms.ScheduleForm, workflow.schedule
)
WITHDRAW = StepPage(
    "Withdraw",
    "Withdraw the order",
    "The tree stays; the order ends here.",
    forms.WithdrawForm,
    workflow.withdraw,
    danger=True,
)
DOWN = StepPage(
    "Report it already down",
    "The tree is down",
    "For a tree that a storm, a vehicle or a utility brought down: no plan and no briefing, but its replacement task opens.",
    forms.AlreadyDownForm,
    workflow.already_down,
)
CLOSE = StepPage(
    "Close",
    "Close the order",
    "Closed means that stump, clean-up and reading are done, or waived by name.",
    forms.CloseForm,
    workflow.close,
)


@requires(Permission.APPROVE_REMOVAL)
def approve(request: HttpRequest, pk: int) -> HttpResponse:
    return _step(request, APPROVE, the_order(pk))


@requires(Permission.SCHEDULE_REMOVAL)
def schedule(request: HttpRequest, pk: int) -> HttpResponse:
    return _step(request, SCHEDULE, the_order(pk))


@requires(Permission.APPROVE_REMOVAL)
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    return _step(request, WITHDRAW, the_order(pk))


@requires(Permission.FELL)
def down(request: HttpRequest, pk: int) -> HttpResponse:
    shown = the_order(pk)
    return _step(request, DOWN, shown, order_or_tree=shown)


@requires(Permission.CLOSE_REMOVAL)
def close(request: HttpRequest, pk: int) -> HttpResponse:
    return _step(request, CLOSE, the_order(pk))


def _step(request: HttpRequest, page: StepPage, shown: RemovalOrder, **subject: Any) -> HttpResponse:
    """Show the step's form, or take the step and go back to the order."""
    form = page.form(request.POST if request.method == "POST" else None, order=shown)
    if form.is_valid():
        done = _try(
            request,
            form,
            lambda: page.run(**(subject or {"order": shown}), by=Actor(request.user), **form.cleaned_data),
        )
        if done:
            return redirect("removals:order", done.pk)
    context = {"page": page, "form": form, "order": shown, "tree": shown.tree}
    return render(request, "removals/step.html", context)


# ---- Orders that begin with a tree -----------------------------------------------------------------------------------


@requires(Permission.PROPOSE_REMOVAL)
def propose(request: HttpRequest, tag: str) -> HttpResponse:
    """Propose the removal of a tree; the rating and its reason are shown and prefilled."""
    tree = _tree(tag)
    standing = Standing.objects.filter(tree=tree).first()
    reason = standing.reason if standing else ""
    form = forms.ProposeForm(request.POST if request.method == "POST" else None, initial={"reason": reason})
    if form.is_valid():
        made = _try(request, form, lambda: workflow.propose(tree=tree, by=Actor(request.user), **form.cleaned_data))
        if made:
            return redirect("removals:order", made.pk)
    waiting = RemovalOrder.objects.open().filter(tree=tree).first()
    context = {"form": form, "tree": tree, "standing": standing, "waiting": waiting}
    return render(request, "removals/propose.html", context)


@requires(Permission.FELL)
def tree_down(request: HttpRequest, tag: str) -> HttpResponse:
    """Report a fallen tree that has no order."""
    tree = _tree(tag)
    form = forms.AlreadyDownForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        made = _try(
            request,
            form,
            lambda: workflow.already_down(order_or_tree=tree, by=Actor(request.user), **form.cleaned_data),
        )
        if made:
            return redirect("removals:order", made.pk)
    return render(request, "removals/step.html", {"page": DOWN, "form": form, "tree": tree})


def _tree(tag: str) -> Tree:
    trees = Tree.objects.select_related("species", "park").defer("park__boundary", "note")
    tree: Tree = get_object_or_404(trees, tag=tag)
    return tree


def _try(request: HttpRequest, form: Any, change: Callable[[], RemovalOrder]) -> RemovalOrder | None:
    """Make the change and say so, or put the refusal's sentence on the form."""
    try:
        changed = change()
    except Refused as refused:
        form.add_error(None, str(refused))
        return None
    messages.success(request, f"Order {changed.number} is {changed.state}.")
    return changed
