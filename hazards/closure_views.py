"""Closures: the areas that are shut, the grave trees around which nothing is, closing and opening again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from hazards import closures
from hazards.filters import ClosureFilter
from hazards.models import Closure, Inspection, Standing
from hazards.work_forms import CloseAreaForm, LiftForm
from hazards.work_views import the_tree
from inventory.access import Permission, requires
from inventory.errors import Refused
from inventory.models import Tree
from inventory.paging import page_of
from inventory.record import Actor

GAPS_SHOWN = 50


def closures_with() -> Any:
    return Closure.objects.select_related("park", "tree__species", "closed_by", "lifted_by").defer(
        "park__boundary", "tree__note"
    )


@requires(Permission.READ)
def closure_list(request: HttpRequest) -> HttpResponse:
    """The open closures, the latest first, or all of them; above them the grave trees without one."""
    asked = request.GET.copy()
    token = asked.pop("page", [""])[-1]
    rows = closures_with()
    chosen = ClosureFilter(asked or None, queryset=rows if asked.get("lifted") else rows.open(), request=request)
    gaps = closures.not_closed().select_related("tree__species", "park").defer("park__boundary")
    listed = list(gaps.order_by("triage_key", "tag")[: GAPS_SHOWN + 1])
    context = {
        "filter": chosen,
        "page": page_of(chosen.qs, ["-closed_at", "-id"], token),
        "gaps": listed[:GAPS_SHOWN],
        "more_gaps": len(listed) > GAPS_SHOWN,
    }
    return render(request, "hazards/closures.html", context)


@requires(Permission.CLOSE_AREA)
def close_for_tree(request: HttpRequest, tag: str) -> HttpResponse:
    """Close the area around a tree; with ``?inspection=`` for that finding, else for the one that sets its rating."""
    tree = the_tree(tag)
    standing = Standing.objects.select_related("inspection").filter(tree=tree).first()
    found = _finding(request.GET, tree) or (standing.inspection if standing else None)
    initial = {"area": f"The area around {tree.tag}", "reason": standing.reason[:300] if standing else ""}
    return _close(request, tree, found, initial)


@requires(Permission.CLOSE_AREA)
def close_area(request: HttpRequest) -> HttpResponse:
    """Close an area that belongs to no tree."""
    return _close(request, None, None, {})


def _finding(given: Mapping[str, str], tree: Tree) -> Inspection | None:
    try:
        wanted = UUID(given.get("inspection", ""))
    except ValueError:
        return None
    return get_object_or_404(Inspection, pk=wanted, tree=tree)


def _close(request: HttpRequest, tree: Tree | None, found: Inspection | None, initial: dict[str, Any]) -> HttpResponse:
    form = CloseAreaForm(request.POST or None, park=tree.park if tree else None, initial=initial)
    if form.is_valid():
        facts = {"park": tree.park if tree else None, **form.cleaned_data}
        try:
            made = closures.close_area(by=Actor(request.user), tree=tree, inspection=found, **facts)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Closed: {made.area}.")
            return redirect("reports:tree", tree.tag) if tree else redirect("hazards:closures")
    return render(request, "hazards/close_area.html", {"form": form, "tree": tree, "inspection": found})


@requires(Permission.LIFT_CLOSURE)
def lift(request: HttpRequest, pk: UUID) -> HttpResponse:
    closure = get_object_or_404(closures_with(), pk=pk)
    form = LiftForm(request.POST or None)
    if form.is_valid():
        try:
            closures.lift(by=Actor(request.user), closure=closure, **form.cleaned_data)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Open again: {closure.area}.")
            return redirect("hazards:closures")
    standing = Standing.objects.filter(tree=closure.tree_id).first() if closure.tree_id else None
    grave = standing if standing and (standing.imminent or standing.rating == "extreme") else None
    return render(request, "hazards/lift_closure.html", {"form": form, "closure": closure, "grave": grave})
