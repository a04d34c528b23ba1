"""Methods side by side, and the city's rules for removals."""

from __future__ import annotations

from dataclasses import asdict
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory.access import Permission, requires
from inventory.errors import Refused
from inventory.record import Actor
from removals.city_rules import EFFORT, RATES, city_rules, effort_of, rates_of, set_rules
from removals.method_forms import AccessForm, ChooseForm, RulesForm, typed
from removals.method_work import choose_method, compared
from removals.models import MethodChoice, RemovalOrder
from removals.taking_down import latest_method
from removals.views import the_order


@requires(Permission.READ, to_change=Permission.PLAN_FELLING)
def methods(request: HttpRequest, pk: int) -> HttpResponse:
    """What rules each method in or out, its crew, hours and cost; the answers about the place stand in the address."""
    order = the_order(pk)
    chosen = latest_method(order)
    asked = AccessForm(request.GET or typed(chosen.comparison.get("access", {}) if chosen else {}))
    comparison = compared(order, asked.access())
    form = ChooseForm(request.POST if request.method == "POST" else None, rows=comparison.rows)
    if form.is_valid() and _chosen(request, order, asked, form):
        return redirect("removals:methods", order.pk)
    context = {
        "order": order,
        "tree": order.tree,
        "asked": asked,
        "query": urlencode(typed(asdict(comparison.access))),
        "comparison": comparison,
        "form": form,
        "chosen": chosen,
    }
    return render(request, "removals/methods.html", context)


def _chosen(request: HttpRequest, order: RemovalOrder, asked: AccessForm, form: ChooseForm) -> MethodChoice | None:
    try:
        made = choose_method(by=Actor(request.user), order=order, access=asked.access(), **form.cleaned_data)
    except Refused as refused:
        form.add_error(None, str(refused))
        return None
    messages.success(request, f"The tree is to be {made.method}.")
    return made


@requires(Permission.READ, to_change=Permission.APPROVE_REMOVAL)
def rules(request: HttpRequest) -> HttpResponse:
    """Rates, hours, nesting season and intervals."""
    held = city_rules()
    tables = {**asdict(rates_of(held)), **asdict(effort_of(held))}
    start = {name: tables[name] if name in tables else getattr(held, name) for name in RulesForm.base_fields}
    form = RulesForm(request.POST if request.method == "POST" else None, initial=start)
    if form.is_valid():
        rates, effort = ({name: form.cleaned_data.pop(name) for name in names} for names in (RATES, EFFORT))
        try:
            set_rules(by=Actor(request.user), rates=rates, effort=effort, **form.cleaned_data)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "The city's rules are set.")
            return redirect("removals:rules")
    return render(request, "removals/rules.html", {"form": form})
