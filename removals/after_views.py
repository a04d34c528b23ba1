"""What follows the cut: the report, a tree that hangs, alarms, near misses, and what the city learns."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory.access import Permission, requires
from inventory.context import units_of
from inventory.errors import Refused
from inventory.paging import page_of
from inventory.record import Actor
from inventory.units import Units
from removals import learning, lodged_work, workflow
from removals.after_forms import ClearLodgedForm, FellForm, LodgedForm
from removals.forms import OrderForm
from removals.learning_page import comparisons
from removals.models import FellingOutcome, LodgedTree, RemovalOrder
from removals.outcome_work import alarms, near_misses
from removals.readiness import hanging, latest_plan
from removals.taking_down import taking_down
from removals.views import the_order

LEARNED_SHOWN = 40


@requires(Permission.FELL)
def fell(request: HttpRequest, pk: int) -> HttpResponse:
    """Report a felling: the form carries the digest of the plan that this page shows, however late it is sent."""
    order = the_order(pk)
    plan = latest_plan(order)
    initial = {"plan_digest": plan.digest if plan else ""}
    data = request.POST if request.method == "POST" else None
    down = taking_down(order, plan)
    form = FellForm(data, order=order, units=units_of(request), initial=initial, felled=down.felled)
    if form.is_valid() and _done(form, lambda: workflow.fell(by=Actor(request.user), order=order, **form.report())):
        messages.success(request, f"Order {order.number} is felled; its replacement task is open.")
        return redirect("removals:order", order.pk)
    context = {"form": form, "order": order, "tree": order.tree, "plan": plan, "down": down, "lodged": hanging(order)}
    return render(request, "removals/fell.html", context)


@requires(Permission.FELL)
def lodged(request: HttpRequest, pk: int) -> HttpResponse:
    """Report that the order's tree hangs in another."""
    order = the_order(pk)
    form = LodgedForm(request.POST if request.method == "POST" else None, order=order)
    if form.is_valid() and _done(
        form, lambda: lodged_work.report_lodged(by=Actor(request.user), order=order, **form.cleaned_data)
    ):
        messages.warning(request, "The tree is reported as hanging. Keep everybody away until it is down.")
        return redirect("removals:order", order.pk)
    return _lodged_page(request, order, form)


@requires(Permission.FELL)
def clear_lodged(request: HttpRequest, pk: int) -> HttpResponse:
    """Say who brought the hanging tree down, and how."""
    order = the_order(pk)
    initial = {"cleared_by": Actor(request.user).name}
    form = ClearLodgedForm(request.POST if request.method == "POST" else None, order=order, initial=initial)
    if form.is_valid() and _done(
        form, lambda: lodged_work.clear_lodged(by=Actor(request.user), order=order, **form.cleaned_data)
    ):
        messages.success(request, "The tree hangs no more; the felling can be reported.")
        return redirect("removals:order", order.pk)
    return _lodged_page(request, order, form)


def _lodged_page(request: HttpRequest, order: RemovalOrder, form: OrderForm) -> HttpResponse:
    context = {
        "form": form,
        "order": order,
        "tree": order.tree,
        "lodged": hanging(order),
        "clearing": isinstance(form, ClearLodgedForm),
        "cautions": lodged_work.CAUTIONS,
        "source": lodged_work.SOURCE,
        "keep_clear_m": lodged_work.CLEAR_HEIGHTS * lodged_work.tree_height_m(order),
    }
    return render(request, "removals/lodged.html", context)


def _done(form: OrderForm, change: Callable[[], object]) -> bool:
    """Make the change, or put the refusal's sentence on the form."""
    try:
        change()
    except Refused as refused:
        form.add_error(None, str(refused))
        return False
    return True


@requires(Permission.READ)
def lodged_trees(request: HttpRequest) -> HttpResponse:
    """Trees that hang now, and those that did."""
    past = LodgedTree.objects.exclude(cleared_at=None).select_related("order__tree", "order__park")
    context = {
        "hanging": lodged_work.hanging_trees().defer("order__park__boundary"),
        "page": page_of(past.defer("order__park__boundary"), ["-pk"], request.GET.get("page", "")),
        "cautions": lodged_work.CAUTIONS,
    }
    return render(request, "removals/lodged_trees.html", context)


@requires(Permission.READ)
def alarm_list(request: HttpRequest) -> HttpResponse:
    """Fellings that were reported under an older plan."""
    return _outcomes(request, alarms(), "removals/alarms.html")


@requires(Permission.READ)
def near_miss_list(request: HttpRequest) -> HttpResponse:
    """What nearly went wrong, the latest first."""
    return _outcomes(request, near_misses(), "removals/near_misses.html")


def _outcomes(request: HttpRequest, rows: QuerySet[FellingOutcome], template: str) -> HttpResponse:
    shown = rows.select_related("order__tree__species", "order__park", "order__crew_lead")
    page = page_of(
        shown.defer("order__park__boundary", "order__tree__note"), ["-order_id"], request.GET.get("page", "")
    )
    return render(request, template, {"page": page})


@requires(Permission.READ)
def learned(request: HttpRequest) -> HttpResponse:
    """Predictions against outcomes across orders, and the steering error that new plans take."""
    units: Units = units_of(request)
    steered, taken_deg = learning.steering_known(), learning.steering_default()
    rows = learning.fellings(LEARNED_SHOWN)
    context: dict[str, Any] = {
        "steering": steered,
        "taken_deg": taken_deg,
        "comparisons": comparisons(rows, taken_deg, units),
        "shown": len(rows),
        "most": LEARNED_SHOWN,
    }
    return render(request, "removals/learning.html", context)
