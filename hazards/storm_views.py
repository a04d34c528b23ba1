"""Storms: the events, one event's finds in the order of danger, the quick sheet, one find, ending the event."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.db.models import Count, Prefetch, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from hazards import storms
from hazards.matrix import Occupancy
from hazards.models import Standing, StormEvent, StormFind
from hazards.storm import ENERGISED, MUCH_USED, NEAR_WIRES, Claim, FindKind, cautions, reimbursement
from hazards.storm_forms import CloseOffForm, DealForm, EndStormForm, FindForm, OpenStormForm
from inventory.access import Permission, requires
from inventory.context import units_of
from inventory.errors import Refused
from inventory.models import Park, Photo, RecordEntry
from inventory.paging import page_of
from inventory.record import Actor

EVENTS_SHOWN = 50
DEALT_SHOWN = 50
PRINTED = 500
HISTORY = 50
WIRES = Q(wires=True) | Q(kind=FindKind.WIRES_DOWN.value)


def the_event(pk: int) -> StormEvent:
    events = StormEvent.objects.select_related("opened_by", "ended_by")
    return get_object_or_404(events.prefetch_related(_parks()), pk=pk)


def _parks() -> Any:
    return Prefetch("parks", Park.objects.defer("boundary").order_by("name"))


def finds_with() -> Any:
    related = ("park", "tree__species", "seen_by", "dealt_by", "closure", "event")
    return StormFind.objects.select_related(*related).defer("park__boundary", "tree__note")


def the_find(pk: UUID) -> StormFind:
    find: StormFind = get_object_or_404(finds_with(), pk=pk)
    return find


def _hold(request: HttpRequest, form: forms.Form, act: Callable[[], Any]) -> Any:
    """What the act gives back; None where the form or the rules refuse, which the form then says."""
    if not form.is_valid():
        return None
    try:
        return act()
    except Refused as refused:
        form.add_error(None, str(refused))
        return None


@requires(Permission.READ, to_change=Permission.RUN_STORM)
def storm_list(request: HttpRequest) -> HttpResponse:
    """The events, those still open first, and a form to open one."""
    form = OpenStormForm(request.POST or None, units=units_of(request))
    if opened := _hold(request, form, lambda: storms.open_event(by=Actor(request.user), **form.cleaned_data)):
        messages.success(request, f"{opened} is open; write down what it did.")
        return redirect("hazards:storm", opened.pk)
    events = StormEvent.objects.annotate(
        waiting=Count("finds", filter=Q(finds__dealt_at=None), distinct=True), found=Count("finds", distinct=True)
    ).prefetch_related(_parks())
    context = {
        "form": form,
        "running": events.open().order_by("-pk"),
        "ended": events.exclude(ended_at=None).order_by("-pk")[:EVENTS_SHOWN],
    }
    return render(request, "hazards/storms.html", context)


@requires(Permission.READ)
def storm(request: HttpRequest, pk: int) -> HttpResponse:
    """What waits, the most dangerous first, a page at a time; below it what was dealt with."""
    event = the_event(pk)
    code = request.GET.get("park", "")
    chosen = next((park for park in event.parks.all() if park.code == code), None)
    waiting = _of_park(finds_with().filter(event=event).open(), chosen)
    dealt = _of_park(finds_with().filter(event=event, dealt_at__isnull=False), chosen)
    token = request.GET.get("page", "")
    context = {
        "event": event,
        "chosen": chosen,
        "page": page_of(waiting, ["danger", "id"], token),
        "dealt": [] if token else dealt.order_by("-dealt_at", "-id")[:DEALT_SHOWN],
        "wires": StormFind.objects.filter(WIRES, event=event).open().exists(),
        "energised": ENERGISED,
    }
    return render(request, "hazards/storm.html", context)


def _of_park(finds: Any, park: Park | None) -> Any:
    return finds.filter(park=park) if park else finds


@requires(Permission.READ)
def storm_print(request: HttpRequest, pk: int) -> HttpResponse:
    """What waits, in one list for paper."""
    event = the_event(pk)
    rows = list(finds_with().filter(event=event).open().order_by("danger", "id")[: PRINTED + 1])
    context = {
        "event": event,
        "rows": rows[:PRINTED],
        "more": len(rows) > PRINTED,
        "near_wires": NEAR_WIRES,
        "now": timezone.localtime(),
    }
    return render(request, "hazards/storm_print.html", context)


@requires(Permission.RECORD_STORM)
def sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The quick sheet: one find after the other; with ``?tree=`` for that tree."""
    event = the_event(pk)
    initial = {"tag": request.GET.get("tree", ""), "park": request.GET.get("park", "")}
    if len(event.parks.all()) == 1:
        initial["park"] = event.parks.all()[0].code
    form = FindForm(request.POST or None, request.FILES or None, event=event, units=units_of(request), initial=initial)

    def keep() -> StormFind:
        return storms.record_find(by=Actor(request.user), event=event, report=form.report(), id=form.cleaned_data["id"])

    if find := _hold(request, form, keep):
        messages.success(request, f"Kept: {find}. {find.reason}")
        if find.is_open and cautions(find.as_found):
            return redirect("hazards:storm_find", find.pk)
        return redirect("hazards:storm_sheet", event.pk)
    return render(request, "hazards/storm_sheet.html", {"event": event, "form": form, "near_wires": NEAR_WIRES})


@requires(Permission.READ)
def storm_find(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One find: what it is, why it stands where it stands, what a claim still lacks, what happened."""
    find = the_find(pk)
    photos = list(storms.photos_of(find))
    context = {
        "find": find,
        "event": find.event,
        "tree": find.tree,
        "standing": Standing.objects.filter(tree=find.tree).first() if find.tree else None,
        "photos": [photo_shown(photo, str(find)) for photo in photos],
        "cautions": cautions(find.as_found),
        "advice": reimbursement(_claim(find, photographed=bool(photos))),
        "history": RecordEntry.objects.filter(subject_type=find._meta.label_lower, subject_id=str(find.pk))[:HISTORY],
    }
    return render(request, "hazards/storm_find.html", context)


def photo_shown(photo: Photo, words: str) -> dict[str, str]:
    url = reverse("inventory:photo", args=[photo.pk])
    return {"url": url, "alt": photo.caption or words, "caption": photo.caption}


def _claim(find: StormFind, *, photographed: bool) -> Claim:
    return Claim(
        kind=FindKind(find.kind),
        size_cm=find.size_cm,
        dbh_cm=find.dbh_cm or (find.tree.dbh_cm if find.tree else None),
        stump_cm=find.stump_cm,
        crown_lost_pct=find.crown_lost_pct,
        lean_deg=find.lean_deg,
        much_used=Occupancy(find.occupancy) in MUCH_USED,
        located=find.lon is not None,
        photographed=photographed,
        public_property=find.public_property,
    )


@requires(Permission.RECORD_STORM)
def deal(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Say that a find is made safe, and how."""
    find, form = the_find(pk), DealForm(request.POST or None)
    if _hold(request, form, lambda: storms.deal_with(by=Actor(request.user), find=find, **form.cleaned_data)):
        messages.success(request, f"Dealt with: {find}.")
        return redirect("hazards:storm", find.event_id)
    context = {"find": find, "form": form, "heading": "Dealt with", "submit": "It is dealt with"}
    return render(request, "hazards/storm_step.html", {**context, "cautions": cautions(find.as_found)})


@requires(Permission.CLOSE_AREA)
def close_off(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Close the area around a find."""
    find = the_find(pk)
    form = CloseOffForm(request.POST or None, initial={"area": f"The area around {find.where}"})
    if _hold(request, form, lambda: storms.close_off(by=Actor(request.user), find=find, **form.cleaned_data)):
        messages.success(request, f"The area around {find.where} is closed.")
        return redirect("hazards:storm_find", find.pk)
    context = {"find": find, "form": form, "heading": "Close the area", "submit": "The area is closed"}
    return render(request, "hazards/storm_step.html", {**context, "cautions": cautions(find.as_found)})


@requires(Permission.RUN_STORM)
def end(request: HttpRequest, pk: int) -> HttpResponse:
    """End the event; the trees it concerns fall due for a look."""
    event, form = the_event(pk), EndStormForm(request.POST or None)
    if ended := _hold(
        request, form, lambda: storms.end_event(by=Actor(request.user), event=event, **form.cleaned_data)
    ):
        messages.success(
            request,
            f"{event} is ended. Looks are due at {ended.at_once} trees today, at {ended.within_days} more within "
            f"{form.cleaned_data['days']} days.",
        )
        return redirect("hazards:storm", event.pk)
    context = {
        "event": event,
        "form": form,
        "left": event.finds.open().count(),
        "at_once": storms.trees_with_finds(event).count(),
        "others": storms.trees_to_look_at_again(event).count(),
    }
    return render(request, "hazards/storm_end.html", context)
