"""The overview after login, the city's parks, and the report of one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from hazards.models import Standing
from inventory.access import Permission, allowed, requires
from inventory.context import units_of
from inventory.csv_out import csv_download
from inventory.models import Park
from removals.lodged_work import hanging_trees
from reports.attention import attention
from reports.city import city_report, totals
from reports.park import ParkReport, park_report
from reports.park_page import shown, tiles

if TYPE_CHECKING:
    from pandas import DataFrame

WORST_SHOWN = 8


@requires(Permission.READ)
def home(request: HttpRequest) -> HttpResponse:
    """What asks for attention today: the reader's own work first, then the city's."""
    today = timezone.localdate()
    mine, others = attention(request.user, today)
    worst = Standing.objects.ranked().select_related("tree__species", "park").defer("park__boundary")
    context = {
        "mine": mine,
        "others": others,
        "worst": worst[:WORST_SHOWN],
        "today": today,
        "hanging": hanging_trees().defer("order__park__boundary") if allowed(request.user, Permission.FELL) else (),
    }
    return render(request, "reports/home.html", context)


@requires(Permission.READ)
def parks(request: HttpRequest) -> HttpResponse:
    """The city: one row a park."""
    city = city_report(timezone.localdate())
    context = {
        "parks": city.to_dict("records"),
        "totals": totals(city),
        "standing": _bars(city, "Standing trees by park", ["standing", "dead_standing"], ""),
        "worst": _bars(city, "Rated high or extreme, by park", ["extreme", "high"], "accent"),
    }
    return render(request, "reports/parks.html", context)


def _bars(city: DataFrame, caption: str, columns: list[str], kind: str) -> dict[str, Any]:
    counts = city[columns].sum(axis=1)
    rows = [{"label": name, "count": count, "kind": kind} for name, count in zip(city["name"], counts, strict=True)]
    return {"caption": caption, "name": "Park", "rows": rows, "most": max([1, *counts])}


@requires(Permission.READ)
def parks_csv(request: HttpRequest) -> HttpResponseBase:
    city = city_report(timezone.localdate())
    return csv_download("parks.csv", list(city.columns), city.itertuples(index=False))


def _report(code: str) -> ParkReport:
    return park_report(get_object_or_404(Park.objects.defer("boundary"), code=code), timezone.localdate())


@requires(Permission.READ)
def park(request: HttpRequest, code: str) -> HttpResponse:
    report = _report(code)
    context = {**shown(report, units_of(request)), "tiles": tiles(report, linked=True)}
    return render(request, "reports/park.html", context)


@requires(Permission.READ)
def park_csv(request: HttpRequest, code: str) -> HttpResponseBase:
    report = _report(code)
    return csv_download(f"park-{report.code}.csv", ["section", "name", "value"], report.lines())
