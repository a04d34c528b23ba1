"""Orders for the trees that were ticked on the ranking: what they are, the one kind of work for all, what became of each."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone

from hazards.models import MitigationOrder, Standing
from inventory.access import Permission, allowed, requires
from inventory.record import Actor
from removals.bulk import KINDS, REMOVAL, TREES_MOST, propose_for_all
from removals.models import RemovalOrder

NUMBER_DIGITS = 18  # of a big integer


class ProposeManyForm(forms.Form):
    kind = forms.ChoiceField(
        label="What is proposed",
        choices=[(kind, "Removal" if kind == REMOVAL else kind.capitalize()) for kind in KINDS],
        widget=forms.RadioSelect,
    )
    reason = forms.CharField(
        label="Why, for all of them",
        max_length=400,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Empty: each order says what the ranking says of its tree.",
    )


@requires(Permission.PROPOSE_REMOVAL)
def propose_many(request: HttpRequest) -> HttpResponse:
    """Shows the trees that the address names, and proposes the work for them when it is sent."""
    given = request.POST if request.method == "POST" else request.GET
    ticked = _ticked(given)
    standings = _standings(ticked[:TREES_MOST])
    form = ProposeManyForm(request.POST if request.method == "POST" else None)
    if not allowed(request.user, Permission.PROPOSE_MITIGATION):
        form.fields["kind"].choices = form.fields["kind"].choices[:1]  # type: ignore[attr-defined]
    outcomes = None
    if standings and form.is_valid():
        outcomes = propose_for_all(by=Actor(request.user), standings=standings, **form.cleaned_data)
    context = {
        "form": form,
        "standings": standings,
        "outcomes": outcomes,
        "proposed": sum(1 for each in outcomes or () if each.number),
        "gone": len(ticked[:TREES_MOST]) - len(standings),
        "beyond": max(0, len(ticked) - TREES_MOST),
        "most": TREES_MOST,
        "today": timezone.localdate(),
    }
    return render(request, "removals/propose_many.html", context)


def _ticked(given: QueryDict) -> list[int]:
    """Numbers of trees, each once, in the order in which they came."""
    numbers = [text for text in given.getlist("tree") if text.isdecimal() and len(text) <= NUMBER_DIGITS]
    return list(dict.fromkeys(map(int, numbers)))


def _standings(trees: list[int]) -> list[Standing]:
    """Those of the trees that stand, the most urgent first, with the orders that are open for them."""
    open_orders: Any = (
        Prefetch("tree__removal_orders", RemovalOrder.objects.open(), to_attr="open_removals"),
        Prefetch("tree__mitigation_orders", MitigationOrder.objects.open(), to_attr="open_work"),
    )
    found = Standing.objects.filter(pk__in=trees).select_related("tree__species", "park", "assessment")
    return list(
        found.defer("park__boundary", "tree__note").prefetch_related(*open_orders).order_by("triage_key", "tag")
    )
