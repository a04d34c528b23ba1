"""Felling plans, job briefings and the order sheet."""

from __future__ import annotations

from typing import Any

import segno
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from inventory.access import Permission, requires
from inventory.context import units_of
from inventory.errors import Refused
from inventory.record import Actor
from inventory.units import Units
from removals import workflow
from removals.briefing import checklist
from removals.cut_drawings import cut_from_above, cut_from_side
from removals.felling_input import FellingInput
from removals.felling_result import FellingPlanResult
from removals.in_the_way import blocking
from removals.kept_plan import read_input, read_result, read_steps
from removals.map_parts import features_of
from removals.models import FellingPlan, RemovalOrder
from removals.place_drawing import place_from_above, reach_m
from removals.place_prefill import from_place
from removals.plan_figures import at_a_glance, at_both_ends, chapters, hinge_words, retreat_words
from removals.plan_form import FellingPlanForm, prefilled
from removals.readiness import latest_plan, named_crew, plan_gaps
from removals.svg import Drawing
from removals.taking_down import latest_method, taking_down
from removals.tree_plan import plan_for_tree
from removals.views import the_order

SIGNING_ROWS = 5


@requires(Permission.PLAN_FELLING)
def make_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """The form of a felling plan, filled in from the tree's measurements and the plan before."""
    order = the_order(pk)
    earlier = latest_plan(order)
    units = units_of(request)
    data = request.POST if request.method == "POST" else None
    told = from_place(order, earlier, _asked_lay(request))
    start = {**prefilled(order.tree, earlier), **told.initial}
    form = FellingPlanForm(data, tree=order.tree, units=units, initial=start)
    if form.is_valid():
        made = _computed(request, order, form)
        if made:
            return redirect("removals:felling_plan", made.pk)
    context = {"order": order, "tree": order.tree, "form": form, "earlier": earlier, "told": told.words}
    return render(request, "removals/plan_form.html", context)


def _asked_lay(request: HttpRequest) -> float | None:
    """The lay in the address, as the rose links to it; what is no bearing is none."""
    try:
        lay_deg = float(request.GET.get("lay", ""))
    except ValueError:
        return None
    return lay_deg if 0 <= lay_deg <= 360 else None


def _computed(request: HttpRequest, order: RemovalOrder, form: FellingPlanForm) -> FellingPlan | None:
    try:
        drafted = plan_for_tree(form.standing_tree(), form.choices())
        return workflow.make_plan(
            by=Actor(request.user),
            order=order,
            inputs=drafted.inp,
            assumptions=drafted.assumed,
            entered=form.entered(),
        )
    except Refused as refused:
        form.add_error(None, str(refused))
        return None


@requires(Permission.READ)
def felling_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """A plan as it was computed, each figure opening to its formula."""
    plan = the_plan(pk)
    order = the_order(plan.order_id)
    return render(
        request, "removals/felling_plan.html", {**plan_context(request, plan), "order": order, "tree": order.tree}
    )


def the_plan(pk: int) -> FellingPlan:
    plan: FellingPlan = get_object_or_404(FellingPlan.objects.select_related("made_by", "order"), pk=pk)
    return plan


def plan_context(request: HttpRequest, plan: FellingPlan) -> dict[str, Any]:
    """What the pages and the sheet show of a plan."""
    units, result, inp = units_of(request), read_result(plan.results), read_input(plan.inputs)
    return {
        "plan": plan,
        "result": result,
        "inp": inp,
        "cut_cm": 100 * inp.diameter_m,
        "drawings": _drawings(inp, result, units),
        "glance": at_a_glance(result, units),
        "ends": at_both_ends(result, units),
        "hinge_words": hinge_words(result, units),
        "chapters": chapters(result, read_steps(plan.results), units),
        "retreats": retreat_words(result),
        "latest": latest_plan(plan.order) == plan,
        "workable": not plan_gaps(plan),
        "down": taking_down(plan.order, plan),
    }


def _drawings(inp: FellingInput, result: FellingPlanResult, units: Units) -> list[SafeString]:
    """Every word in them is escaped already."""
    drawn = drawings_of(inp, result, units)
    return [mark_safe(each.markup()) for each in drawn]  # noqa: S308


def drawings_of(inp: FellingInput, result: FellingPlanResult, units: Units) -> list[Drawing]:
    """The cut from the side and from above when it holds, and the place."""
    features = features_of(inp.site.things, blocking(inp), reach_m(inp, result.place))
    cut, place = result.cut, place_from_above(inp, result.place, units, features)
    return [cut_from_side(inp, cut, units), cut_from_above(inp, cut, units), place] if cut else [place]


@requires(Permission.READ)
def sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The order on two printed pages, with a code that leads back to it."""
    order = the_order(pk)
    plan = latest_plan(order)
    down = taking_down(order, plan)
    address = request.build_absolute_uri(reverse("removals:order", args=[order.pk]))
    context: dict[str, Any] = {
        "order": order,
        "tree": order.tree,
        "address": address,
        "code": segno.make(address, error="m").svg_data_uri(scale=4, border=2, light="#fff"),
        "checklist": checklist(pull_line=down.pull_line, method=down.method) if plan else (),
        "down": down,
        "signers": _signers(order),
        "method": latest_method(order),
    }
    return render(request, "removals/sheet.html", {**context, **(plan_context(request, plan) if plan else {})})


def _signers(order: RemovalOrder) -> list[list[str]]:
    """Rows to sign in: the crew's with name and role, then empty ones."""
    crew = named_crew(order)
    return [*crew, *[["", ""]] * max(1, SIGNING_ROWS - len(crew))]
