"""Work before and after a felling, and what was kept standing: a page for each item and each place."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from inventory.access import Permission, requires
from inventory.context import units_of
from inventory.paging import page_of
from inventory.record import Actor
from removals import kept_places, site_work
from removals.answers import made
from removals.kept_places import months_between, standing_places
from removals.models import KeptKind, KeptPlace, RemovalOrder, WorkItem, WorkKind, WorkState
from removals.views import the_order
from removals.work_forms import KeepForm, LookForm, ReasonForm, SettleForm
from removals.work_items import BY_SLUG, Item


def _item(slug: str) -> Item:
    if slug not in BY_SLUG:
        raise Http404("No such item.")
    return BY_SLUG[slug]


def _back(order: RemovalOrder) -> HttpResponse:
    return redirect("removals:order", order.pk)


def _data(request: HttpRequest) -> Any:
    return request.POST if request.method == "POST" else None


# ---- Work items ------------------------------------------------------------------------------------------------------


@requires(Permission.READ, to_change=site_work.SETTLE)
def work_item(request: HttpRequest, pk: int, slug: str) -> HttpResponse:
    """What one item asks for, how it stands, and the form that settles it."""
    order, item = the_order(pk), _item(slug)
    season = site_work.nesting_season()
    form = SettleForm(_data(request), item=item, season=season)
    if form.is_valid() and made(
        request,
        form,
        lambda: site_work.settle(by=Actor(request.user), order=order, kind=item.kind, **form.cleaned_data),
        f"{item.title}: done.",
    ):
        return _back(order)
    return _item_page(request, order, item, form, "Done", season=season)


@requires(site_work.WAIVE)
def waive_item(request: HttpRequest, pk: int, slug: str) -> HttpResponse:
    return _with_reason(request, pk, slug, site_work.waive, "Waive it", "waived")


@requires(site_work.SETTLE)
def reopen_item(request: HttpRequest, pk: int, slug: str) -> HttpResponse:
    return _with_reason(request, pk, slug, site_work.reopen, "Open it again", "open again")


def _with_reason(
    request: HttpRequest, pk: int, slug: str, act: Callable[..., object], submit: str, done: str
) -> HttpResponse:
    order, item = the_order(pk), _item(slug)
    form = ReasonForm(_data(request))
    if form.is_valid() and made(
        request,
        form,
        lambda: act(by=Actor(request.user), order=order, kind=item.kind, **form.cleaned_data),
        f"{item.title}: {done}.",
    ):
        return _back(order)
    return _item_page(request, order, item, form, submit, danger=True)


def _item_page(
    request: HttpRequest, order: RemovalOrder, item: Item, form: forms.Form, submit: str, **more: Any
) -> HttpResponse:
    row = WorkItem.objects.filter(order=order, kind=item.kind).first() or WorkItem(order=order, kind=item.kind)
    context = {
        "order": order,
        "tree": order.tree,
        "item": item,
        "row": row,
        "form": form,
        "submit": submit,
        "workable": site_work.may_work_on(order, item),
        "is_open": row.state == WorkState.OPEN,
        "is_nesting": item.kind == WorkKind.NESTING,
        "is_quarantine": item.kind == WorkKind.QUARANTINE,
        **more,
    }
    return render(request, "removals/work_item.html", context)


# ---- Kept places -----------------------------------------------------------------------------------------------------


@requires(kept_places.KEEP)
def keep(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that a snag or the stump stays."""
    order = the_order(pk)
    form = KeepForm(_data(request), units=units_of(request))
    if form.is_valid() and made(
        request,
        form,
        lambda: kept_places.keep_place(by=Actor(request.user), order=order, **form.cleaned_data),
        "Kept, with a day on which it is looked at again.",
    ):
        return _back(order)
    months = {kind: months_between(kind) for kind in KeptKind.values}
    context = {
        "order": order,
        "tree": order.tree,
        "form": form,
        "snag_months": months[KeptKind.SNAG],
        "stump_months": months[KeptKind.STUMP],
    }
    return render(request, "removals/keep.html", context)


@requires(Permission.READ)
def kept(request: HttpRequest) -> HttpResponse:
    """Snags and stumps that stay, the next inspection first."""
    page = page_of(standing_places().defer("order__park__boundary"), ["inspect_on", "id"], request.GET.get("page", ""))
    return render(request, "removals/kept.html", {"page": page, "today": timezone.localdate()})


@requires(kept_places.LOOK)
def inspect_kept(request: HttpRequest, pk: int) -> HttpResponse:
    place = _place(pk)
    form = LookForm(_data(request))
    if form.is_valid() and made(
        request,
        form,
        lambda: kept_places.inspect_place(by=Actor(request.user), place=place, **form.cleaned_data),
        "Looked at; the next look has its day.",
    ):
        return redirect("removals:kept")
    months = months_between(place.kind)
    words = f"It may stay. It is looked at again {months} months after this look, by the city’s interval."
    return _look_page(request, place, form, "It stays", words)


@requires(kept_places.LOOK)
def end_kept(request: HttpRequest, pk: int) -> HttpResponse:
    place = _place(pk)
    form = LookForm(_data(request))
    form.fields["note"].label = "What became of it"
    if form.is_valid() and made(
        request,
        form,
        lambda: kept_places.end_place(by=Actor(request.user), place=place, **form.cleaned_data),
        "It is gone, and nobody is asked to look at it again.",
    ):
        return redirect("removals:kept")
    words = "It has fallen, was taken away, or has rotted to the ground. Nobody is asked to look at it again."
    return _look_page(request, place, form, "It is gone", words, danger=True)


def _place(pk: int) -> KeptPlace:
    places = KeptPlace.objects.select_related("order__tree__species", "order__park").defer("order__park__boundary")
    place: KeptPlace = get_object_or_404(places, pk=pk)
    return place


def _look_page(
    request: HttpRequest, place: KeptPlace, form: forms.Form, submit: str, words: str, *, danger: bool = False
) -> HttpResponse:
    context = {"place": place, "form": form, "submit": submit, "words": words, "danger": danger}
    return render(request, "removals/kept_place.html", context)
