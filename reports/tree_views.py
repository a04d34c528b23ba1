"""The list of trees, its download and its tag labels. A tree's own page stands in `tree_page.py`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import segno
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from inventory.access import Permission, requires
from inventory.csv_out import csv_download
from inventory.models import Tree
from inventory.paging import page_of
from reports.tree_filters import TreeFilter

COUNTED_TO = 1_000
# Four sheets of labels: 3 × 8 on A4, 3 × 7 on Letter; the print styles hold the grid.
LABELS_ON = {"a4": 96, "letter": 84}


def rows() -> Any:
    """Trees as a list shows them. A park's boundary is long and stays in the database."""
    return Tree.objects.select_related("park", "species", "standing").defer("park__boundary", "note")


def filtered(request: HttpRequest) -> TreeFilter:
    """The filter that the address carries; without one, all trees."""
    chosen = request.GET.copy()
    for name in ("page", "paper"):
        chosen.pop(name, None)
    return TreeFilter(chosen or None, queryset=rows(), request=request)


def how_many(trees: Any) -> str:
    """A count that stops early: a list of a million trees is not counted to show fifty."""
    count = trees[: COUNTED_TO + 1].count()
    if count > COUNTED_TO:
        return f"more than {COUNTED_TO:,} trees"
    return "1 tree" if count == 1 else f"{count:,} trees"


@requires(Permission.READ)
def trees(request: HttpRequest) -> HttpResponse:
    """All trees by tag, a page at a time."""
    chosen = filtered(request)
    page = page_of(chosen.qs, ["tag"], request.GET.get("page", ""))
    context = {
        "filter": chosen,
        "page": page,
        "count": how_many(chosen.qs) if page.rows else "",
        "today": timezone.localdate(),
    }
    return render(request, "reports/tree_list.html", context)


CSV_COLUMNS = {
    "tag": "tag",
    "park": "park__code",
    "botanical": "species__botanical",
    "cultivar": "cultivar",
    "common": "species__common",
    "status": "status",
    "condition": "condition",
    "dbh_cm": "dbh_cm",
    "dbh_estimated": "dbh_estimated",
    "height_m": "height_m",
    "crown_spread_m": "crown_spread_m",
    "latitude": "lat",
    "longitude": "lon",
    "planted": "planted_on",
    "planted_precision": "planted_precision",
    "removed_on": "removed_on",
    "rating": "standing__rating",
    "inspected_on": "standing__inspected_on",
    "inspect_due": "standing__inspect_due",
}


@requires(Permission.READ)
def trees_csv(request: HttpRequest) -> HttpResponseBase:
    """The filtered list as CSV, in SI units, row by row from the database."""
    found = filtered(request).qs.order_by("tag").values_list(*CSV_COLUMNS.values())
    return csv_download("trees.csv", list(CSV_COLUMNS), found.iterator(chunk_size=2_000))


def labels_of(request: HttpRequest, trees: list[Tree]) -> Iterator[dict[str, Any]]:
    """Each tree with the code that leads a phone to its page."""
    for tree in trees:
        address = request.build_absolute_uri(reverse("reports:tree", args=[tree.tag]))
        # Error level Q: a label that is scratched by a quarter still reads.
        code = segno.make_qr(address, error="q").svg_inline(
            border=4, omitsize=True, svgclass=None, lineclass=None, light="white"
        )
        yield {"tree": tree, "code": code, "address": address}


@requires(Permission.READ)
def labels(request: HttpRequest) -> HttpResponse:
    """Tag labels of the filtered trees, a sheaf of sheets at a time, for printing on A4 or Letter."""
    chosen = filtered(request)
    paper = request.GET.get("paper", "")
    paper = paper if paper in LABELS_ON else "a4"
    page = page_of(chosen.qs, ["tag"], request.GET.get("page", ""), size=LABELS_ON[paper])
    context = {
        "filter": chosen,
        "page": page,
        "labels": labels_of(request, list(page.rows)),
        "paper": paper,
        "papers": list(LABELS_ON),
    }
    return render(request, "reports/labels.html", context)
