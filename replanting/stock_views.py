"""Nursery stock: the list to order, orders and what came of them, as pages and workbooks."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from django.contrib import messages
from django.db.models import F, Sum
from django.http import FileResponse, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from inventory.access import Permission, requires
from inventory.context import units_of
from inventory.errors import Refused
from inventory.models import RecordEntry
from inventory.paging import page_of
from inventory.record import Actor
from inventory.workbook import workbook
from replanting import stock_work
from replanting.forms import StepForm
from replanting.models import Delivery, NurseryOrder, OrderLine
from replanting.planting_work import kind_of
from replanting.season import has_window
from replanting.site import zone_number
from replanting.stock_forms import (
    AgainForm,
    DeliveryForm,
    LineForm,
    NurseryOrderForm,
    SparesForm,
    WriteOffForm,
    line_forms,
)
from replanting.stock_list import SPARES_PCT
from replanting.stock_work import in_yard, spare, stock_on_hand

HEAD = ("botanical", "cultivar", "stock", "caliper_cm", "ordered", "of_them_spares", "season", "nursery")


@requires(Permission.READ)
def orders(request: HttpRequest) -> HttpResponse:
    """Orders at nurseries, the newest first, and what stands spare in the yard."""
    counted = NurseryOrder.objects.annotate(
        trees=Sum("lines__ordered"),
        received=Sum("lines__received"),
        rejected=Sum("lines__rejected"),
        outstanding=Sum(F("lines__ordered") - F("lines__received") - F("lines__rejected")),
    )
    context = {
        "page": page_of(counted, ["-ordered_on", "-id"], request.GET.get("page", "")),
        "on_hand": sorted(stock_on_hand().items()),
    }
    return render(request, "replanting/nursery_orders.html", context)


@requires(Permission.REPLANT)
def new_order(request: HttpRequest) -> HttpResponse:
    """The list of what the tasks ask for, with spares; ticked lines become one order."""
    posted = request.POST if request.method == "POST" else None
    share = SparesForm(request.GET if "pct" in request.GET else {"pct": SPARES_PCT})
    pct = share.cleaned_data["pct"] if share.is_valid() else SPARES_PCT
    form = NurseryOrderForm(posted, units=units_of(request))
    lines = list(line_forms(posted, units_of(request), pct))
    status = 200
    if posted is not None and (made := _ordered(request, form, lines)):
        messages.success(request, f"{made.planting_season}: ordered from {made.nursery}.".capitalize())
        return redirect("replanting:nursery_order", made.pk)
    if posted is not None and form.is_valid():
        status = 409
    context = {"form": form, "lines": lines, "share": share, "pct": pct}
    return render(request, "replanting/new_nursery_order.html", context, status=status)


def _ordered(request: HttpRequest, form: NurseryOrderForm, lines: Sequence[LineForm]) -> NurseryOrder | None:
    if not all([form.is_valid(), *(line.is_valid() for line in lines)]):
        return None
    taken = [line for line in lines if line.cleaned_data["take"]]
    outside = next(_outside(taken, form.cleaned_data), "")
    if outside and not form.cleaned_data["season_reason"].strip():
        form.add_error("season_reason", f"{outside} To order all the same, say why.")
        return None
    try:
        return stock_work.order_from_nursery(
            by=Actor(request.user), lines=[line.wanted() for line in taken], **form.cleaned_data
        )
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return None


def _outside(lines: Sequence[LineForm], typed: dict[str, Any]) -> Iterator[str]:
    """A sentence for each line whose stock has no window in the season it is ordered for, where the zone is known."""
    for line in lines:
        task, stock = line.group.tasks[0], line.cleaned_data["stock"]
        zone = zone_number(task.site_park.hardiness_zone)
        if zone and not has_window(stock, zone, typed["season"], typed["year"], kind_of(line.group.species)):
            yield f"{line.group.name}, {stock}, is not planted in {typed['season']} {typed['year']} in zone {zone}."


@requires(Permission.READ)
def order(request: HttpRequest, pk: int) -> HttpResponse:
    """One order: its lines with what came, its tasks, and the deliveries."""
    found = get_object_or_404(NurseryOrder, pk=pk)
    lines = list(
        found.lines.with_used()
        .select_related("species")
        .order_by("species__botanical", "cultivar", "stock", "caliper_cm")
    )
    context = {
        "order": found,
        "lines": [{"line": line, "in_yard": in_yard(line), "spare": spare(line)} for line in lines],
        "deliveries": Delivery.objects.filter(line__order=found).select_related("line__species", "by"),
        "entries": RecordEntry.objects.filter(subject_type=found._meta.label_lower, subject_id=str(found.pk)),
        "today": timezone.localdate(),
    }
    return render(request, "replanting/nursery_order.html", context)


@requires(Permission.READ)
def order_xlsx(request: HttpRequest, pk: int) -> HttpResponseBase:
    """The order as a workbook for the nursery: text stays text."""
    found = get_object_or_404(NurseryOrder, pk=pk)
    rows = (
        (
            line.species.botanical,
            line.cultivar,
            line.stock,
            round(line.caliper_cm, 1),
            line.ordered,
            line.spares,
            found.planting_season,
            found.nursery,
        )
        for line in found.lines.select_related("species")
    )
    return FileResponse(workbook("Order", HEAD, rows), as_attachment=True, filename=f"nursery-order-{found.pk}.xlsx")


@requires(Permission.REPLANT)
def receive(request: HttpRequest, pk: int) -> HttpResponse:
    return _line_step(request, pk, "Record a delivery", DeliveryForm, stock_work.receive, "Delivery recorded.")


@requires(Permission.REPLANT)
def again(request: HttpRequest, pk: int) -> HttpResponse:
    return _line_step(request, pk, "Order again", AgainForm, stock_work.order_again, "Ordered again.")


@requires(Permission.REPLANT)
def write_off(request: HttpRequest, pk: int) -> HttpResponse:
    return _line_step(request, pk, "Write off", WriteOffForm, stock_work.write_off, "Written off.")


def _line_step(
    request: HttpRequest, pk: int, title: str, form_class: type[StepForm], act: Callable[..., Any], done: str
) -> HttpResponse:
    line = get_object_or_404(OrderLine.objects.select_related("order", "species"), pk=pk)
    form = form_class(request.POST if request.method == "POST" else None, units=units_of(request))
    status = 200
    if form.is_bound and form.is_valid():
        try:
            act(by=Actor(request.user), line=line, **form.facts())
        except Refused as refusal:
            form.add_error(None, str(refusal))
            status = 409
        else:
            messages.success(request, done)
            return redirect("replanting:nursery_order", line.order_id)
    context = {"line": line, "form": form, "heading": title}
    return render(request, "replanting/line_step.html", context, status=status)
