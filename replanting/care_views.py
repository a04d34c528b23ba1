"""The week's round of the young trees, one tap a tree, and how many of them are lost."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST
from uuid_utils.compat import uuid7

from inventory.access import Permission, requires
from inventory.errors import Refused
from inventory.models import Park
from inventory.paging import part_of
from inventory.record import Actor
from replanting import workflow
from replanting.care import WATER_RULES, Kind
from replanting.city_policy import current
from replanting.losses import BY, causes
from replanting.losses import losses as losses_by
from replanting.models import Planting, PlantingQuerySet
from replanting.rounds import WEEK, Call, calls
from replanting.survival import FEW, YEARLY_LOSS_QUARTILES_PCT, together

DUE, LATE, ALL = "due", "late", "all"
SHOWN = [(DUE, "Due within a week"), (LATE, "Overdue"), (ALL, "All in care")]


class RoundForm(forms.Form):
    """Which young trees, and by which rule they are watered."""

    show = forms.ChoiceField(label="Show", choices=SHOWN, required=False)
    park = forms.ModelChoiceField(
        Park.objects.only("code", "name").order_by("name"),
        to_field_name="code",
        label="Park",
        empty_label="All parks",
        required=False,
    )
    rule = forms.ChoiceField(
        label="Watering rule", choices=[(rule.key, rule.name) for rule in WATER_RULES.values()], required=False
    )
    drought = forms.BooleanField(label="Drought", required=False)
    days = forms.IntegerField(label="Not seen for days", min_value=0, max_value=3650, required=False)

    def plantings(self, today: dt.date) -> PlantingQuerySet:
        park, days = self.cleaned_data["park"], self.cleaned_data["days"]
        young = (
            Planting.objects.in_care() if days is None else Planting.objects.unseen_since(today - dt.timedelta(days))
        )
        return young.filter(tree__park=park) if park else young

    def shows(self, call: Call, today: dt.date) -> bool:
        wanted = self.cleaned_data["show"] or DUE
        return wanted == ALL or (call.late(today) if wanted == LATE else bool(call.dues))


@dataclass(frozen=True)
class Row:
    """``id`` is the number of the visit that a tap records: sent twice, it is stored once."""

    planting: Any
    call: Call
    id: UUID


@requires(Permission.READ)
def care(request: HttpRequest) -> HttpResponse:
    """What the young trees ask for within a week, the longest due first; what is overdue says so."""
    today = timezone.localdate()
    # Who asks for those that nobody has seen for a while wants them whatever is due.
    first = {"show": ALL if "days" in request.GET else DUE, "rule": current().water_rule}
    form = RoundForm({**first, **request.GET.dict()})
    context: dict[str, Any] = {"form": form, "folded": not request.GET, "today": today, "until": today + WEEK}
    if form.is_valid():
        context |= _round(form, today, request.GET.get("page", ""))
    return render(request, "replanting/care.html", context)


def _round(form: RoundForm, today: dt.date, page: str) -> dict[str, Any]:
    rule = WATER_RULES[form.cleaned_data["rule"] or current().water_rule]
    found = calls(form.plantings(today), today, rule, drought=form.cleaned_data["drought"])
    shown = [call for call in found if form.shows(call, today)]
    part = part_of(shown, page)
    return {
        "rule": rule,
        "page": part,
        "rows": list(_rows(part.rows)),
        "in_care": len(found),
        "due": sum(bool(call.dues) for call in found),
        "late": sum(call.late(today) for call in found),
    }


def _rows(found: Any) -> Iterator[Row]:
    young: Any = Planting.objects.with_last_visit().select_related("tree__species", "tree__park")
    plantings = young.defer("tree__park__boundary").in_bulk([call.planting for call in found])
    for call in found:
        yield Row(plantings[call.planting], call, uuid7())


class TapForm(forms.Form):
    """One tap: watered as the list says, seen alive, or the stakes taken off; all three found the tree alive."""

    id = forms.UUIDField()
    did = forms.ChoiceField(
        choices=[(kind.value, kind.value) for kind in (Kind.WATER, Kind.CHECK, Kind.STAKES, Kind.PRUNE)]
    )
    watered_l = forms.FloatField(required=False, min_value=0, max_value=workflow.WATER_MAX_L)

    def facts(self) -> dict[str, Any]:
        did = Kind(self.cleaned_data["did"])
        watered_l = self.cleaned_data["watered_l"] if did is Kind.WATER else None
        return {"id": self.cleaned_data["id"], "watered_l": watered_l, "stakes_off": did is Kind.STAKES}


@requires(Permission.CARE)
@require_POST
def tap(request: HttpRequest, pk: int) -> HttpResponse:
    """Record a visit of today in one tap, and back to the round as it was filtered."""
    planting = get_object_or_404(Planting.objects.select_related("task", "tree"), pk=pk)
    form = TapForm(request.POST)
    back = reverse("replanting:care", query=request.GET)
    if not form.is_valid():
        messages.error(request, "That was no visit that one tap can record; record it on its own page.")
        return redirect(back)
    by, today = Actor(request.user), timezone.localdate()
    try:
        if form.cleaned_data["did"] == Kind.PRUNE.value:
            workflow.prune(by=by, planting=planting, on=today)
        else:
            workflow.visit(by=by, planting=planting, on=today, **form.facts())
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        what = "formative pruning" if form.cleaned_data["did"] == Kind.PRUNE.value else "visit"
        messages.success(request, f"{planting.tree}: {what} of {today:%-d %b %Y} recorded.")
    return redirect(back)


@requires(Permission.READ)
def losses(request: HttpRequest) -> HttpResponse:
    """How many plantings are lost in their first year, by species, stock, nursery, season and crew; and what to."""
    today = timezone.localdate()
    tables = {by: losses_by(today, by) for by in BY}
    context = {
        "all": together(tables["stock"], "all plantings"),
        "tables": tables.items(),
        "causes": causes(),
        "few": FEW,
        "quartiles": YEARLY_LOSS_QUARTILES_PCT,
    }
    return render(request, "replanting/losses.html", context)
