"""The place of an order: what stands around the tree, which ways are clear, and what is accepted by name."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_POST

from inventory.access import Permission, requires
from inventory.context import units_of
from inventory.errors import Refused
from inventory.record import Actor
from inventory.units import Units
from removals import place_work
from removals.lay_finder import LayFindings
from removals.models import RemovalOrder
from removals.order_place import OrderPlace, falling_tree, lays_in, place_of
from removals.place_forms import AcceptForm, NameForm, ThingForm
from removals.place_page import lay_rows, proposals, thing_rows
from removals.readiness import latest_plan
from removals.rose_drawing import rose
from removals.views import the_order


@requires(Permission.READ, to_change=Permission.PLAN_FELLING)
def place(request: HttpRequest, pk: int) -> HttpResponse:
    """The rose with its words, the things around, and a form for one more of them."""
    order = the_order(pk)
    form = ThingForm(request.POST if request.method == "POST" else None, units=units_of(request))
    if form.is_valid() and _done(
        request,
        form,
        lambda: place_work.add_thing(
            by=Actor(request.user),
            order=order,
            kind=form.cleaned_data["kind"],
            name=form.cleaned_data["name"],
            points=form.points(),
        ),
    ):
        messages.success(request, f"{form.cleaned_data['name']} is on the picture.")
        return redirect("removals:place", order.pk)
    return render(request, "removals/place.html", {**_shown(order, units_of(request)), "form": form})


def _shown(order: RemovalOrder, units: Units) -> dict[str, Any]:
    plan = latest_plan(order)
    tree = falling_tree(order.tree, plan)
    here = place_of(order, tree.height_m if tree else 0.0)
    findings = lays_in(here, tree) if tree else None
    return {
        "order": order,
        "tree": order.tree,
        "place": here,
        "plan": plan,
        "findings": findings,
        "rose": _rose(findings, here, units) if findings else None,
        "rows": thing_rows(here, findings),
        "lays": lay_rows(findings) if findings else [],
        "proposals": proposals(findings) if findings else [],
    }


def _rose(findings: LayFindings, here: OrderPlace, units: Units) -> SafeString:
    """Every word in the drawing is escaped already."""
    return mark_safe(rose(findings, here.things, units).markup())  # noqa: S308


@requires(Permission.PLAN_FELLING)
@require_POST
def remove_thing(request: HttpRequest, pk: int) -> HttpResponse:
    return _by_name(request, pk, place_work.remove_thing, "{} is taken off the picture.")


@requires(Permission.APPROVE_REMOVAL)
@require_POST
def take_back(request: HttpRequest, pk: int) -> HttpResponse:
    return _by_name(request, pk, place_work.take_back, "{} is no longer accepted.")


def _by_name(request: HttpRequest, pk: int, change: Callable[..., object], words: str) -> HttpResponse:
    order, form = the_order(pk), NameForm(request.POST)
    if form.is_valid():
        name = form.cleaned_data["name"]
        try:
            change(by=Actor(request.user), order=order, name=name)
            messages.success(request, words.format(name))
        except Refused as refused:
            messages.error(request, str(refused))
    return redirect("removals:place", order.pk)


@requires(Permission.APPROVE_REMOVAL)
def accept(request: HttpRequest, pk: int) -> HttpResponse:
    """A page of its own: to accept something in the swath is not done in passing."""
    order = the_order(pk)
    form = AcceptForm(request.POST if request.method == "POST" else None, initial={"name": request.GET.get("name", "")})
    if form.is_valid() and _done(
        request, form, lambda: place_work.accept_thing(by=Actor(request.user), order=order, **form.cleaned_data)
    ):
        return redirect("removals:place", order.pk)
    name = form["name"].value()
    return render(
        request, "removals/accept_thing.html", {"order": order, "tree": order.tree, "form": form, "name": name}
    )


def _done(request: HttpRequest, form: forms.Form, change: Callable[[], object]) -> bool:
    try:
        change()
    except Refused as refused:
        form.add_error(None, str(refused))
        return False
    return True
