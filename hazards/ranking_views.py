"""The ranking beside its page: filters kept under a name, the list on paper, the downloads."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from django import forms
from django.contrib import messages
from django.contrib.auth.models import AnonymousUser, User
from django.db.models import Q, QuerySet
from django.http import FileResponse, HttpRequest, HttpResponse, HttpResponseBase, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from hazards.closures import around_is_closed
from hazards.filters import RankingFilter
from hazards.models import SavedView, Standing
from hazards.saved_views import drop_saved_view, save_view
from inventory.access import Permission, requires
from inventory.csv_out import csv_download
from inventory.errors import Refused
from inventory.record import Actor
from inventory.workbook import Columns, workbook

PRINTED = 300
XLSX_ROWS_MAX = 50_000
COLUMNS: Columns = {
    "tag": "tree__tag",
    "park": "park__code",
    "botanical": "tree__species__botanical",
    "cultivar": "tree__cultivar",
    "common": "tree__species__common",
    "rating": "rating",
    "imminent": "imminent",
    "reason": "reason",
    "work_due": "work_due",
    "inspected_on": "inspected_on",
    "inspect_due": "inspect_due",
    "condition": "tree__condition",
    "dead_since": "tree__dead_since",
    "declining_since": "declining_since",
    "dbh_cm": "tree__dbh_cm",
    "height_m": "tree__height_m",
    "latitude": "tree__lat",
    "longitude": "tree__lon",
}


def listed() -> QuerySet[Standing]:
    """With what a row of a list shows."""
    shown = Standing.objects.select_related("tree__species", "park").defer("park__boundary")
    return shown.annotate(closed=around_is_closed())


def filtered(request: HttpRequest) -> RankingFilter:
    """The rated trees that the address asks for."""
    given = request.GET.copy()
    given.pop("tick", None)  # whether the boxes are ticked, not which trees are listed
    return RankingFilter(given or None, queryset=listed().filter(triage_key__isnull=False), request=request)


def filters_of(given: QueryDict) -> str:
    """Of an address only the filters that are set, in one order: the same filters give the same text."""
    kept = QueryDict(mutable=True)
    for name in RankingFilter.base_filters:
        if value := given.get(name, "").strip():
            kept[name] = value
    return kept.urlencode()


def saved_views(user: User | AnonymousUser) -> QuerySet[SavedView]:
    """One's own and those that others share."""
    return SavedView.objects.filter(Q(owner=user.pk) | Q(shared=True)).select_related("owner")


class KeepForm(forms.ModelForm[SavedView]):
    class Meta:
        model = SavedView
        fields: ClassVar = ["name", "shared"]


@requires(Permission.READ)
@require_POST
def keep_view(request: HttpRequest) -> HttpResponse:
    """Keep the filters of the list under a name."""
    query, form = filters_of(QueryDict(request.POST.get("query", ""))), KeepForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Give the view a name of up to 60 characters.")
        return _to_list(query)
    try:
        kept = save_view(by=Actor(request.user), query=query, **form.cleaned_data)
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"The view “{kept}” is kept{' for everybody' if kept.shared else ''}.")
    return _to_list(query)


def _to_list(query: str) -> HttpResponse:
    return redirect(f"{reverse('hazards:ranking')}{'?' if query else ''}{query}")


@requires(Permission.READ)
@require_POST
def drop_view(request: HttpRequest, pk: int) -> HttpResponse:
    """One's own only; of others' nobody gets to know."""
    view = get_object_or_404(SavedView, pk=pk, owner=request.user.pk)
    drop_saved_view(by=Actor(request.user), view=view)
    messages.success(request, f"The view “{view}” is gone.")
    return redirect("hazards:ranking")


@requires(Permission.READ)
def ranking_print(request: HttpRequest) -> HttpResponse:
    """The most urgent trees of the filter in one list for paper, imminent failures first as their key has it."""
    chosen = filtered(request)
    rows = list(chosen.qs.order_by("triage_key", "tag")[: PRINTED + 1])
    context = {"filter": chosen, "rows": rows[:PRINTED], "more": len(rows) > PRINTED, "today": timezone.localdate()}
    return render(request, "hazards/ranking_print.html", context)


def _rows(request: HttpRequest) -> Iterator[tuple[Any, ...]]:
    """Plain columns in the order of the ranking, read as they are sent."""
    chosen = filtered(request).qs.order_by("triage_key", "tag")
    yield from chosen.select_related(None).values_list(*COLUMNS.values()).iterator(chunk_size=2_000)


@requires(Permission.READ)
def ranking_csv(request: HttpRequest) -> HttpResponseBase:
    return csv_download("ranking.csv", list(COLUMNS), _rows(request))


@requires(Permission.READ)
def ranking_xlsx(request: HttpRequest) -> HttpResponseBase:
    """A workbook of up to fifty thousand trees; for more there is the CSV, which is sent as it is read."""
    if filtered(request).qs[: XLSX_ROWS_MAX + 1].count() > XLSX_ROWS_MAX:
        messages.error(request, f"A workbook holds up to {XLSX_ROWS_MAX:,} trees: filter the list, or take the CSV.")
        return _to_list(filters_of(request.GET))
    file = workbook("Ranking", list(COLUMNS), _rows(request))
    return FileResponse(file, as_attachment=True, filename="ranking.xlsx")
