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
from inventory.fields import PartialDate
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


CSV_HEADER = (
    *("tag", "park", "botanical", "cultivar", "common", "status", "condition"),
    *("dbh_cm", "dbh_estimated", "height_m", "crown_spread_m", "latitude", "longitude", "planted", "removed_on"),
    *("rating", "inspected_on", "inspect_due"),
)


def csv_row(tree: Tree) -> list[Any]:
    species, standing = tree.species, getattr(tree, "standing", None)
    return [
        tree.tag,
        tree.park.code,
        species.botanical if species else "",
        tree.cultivar,
        species.common if species else "",
        tree.status,
        tree.condition,
        tree.dbh_cm,
        "yes" if tree.dbh_estimated else "no",
        tree.height_m,
        tree.crown_spread_m,
        tree.lat,
        tree.lon,
        str(PartialDate.of(tree) or ""),
        tree.removed_on,
        standing.rating if standing else "",
        standing.inspected_on if standing else None,
        standing.inspect_due if standing else None,
    ]


@requires(Permission.READ)
def trees_csv(request: HttpRequest) -> HttpResponseBase:
    """The filtered list as CSV, in SI units."""
    chosen = filtered(request).qs.order_by("tag").iterator(chunk_size=2_000)
    return csv_download("trees.csv", CSV_HEADER, map(csv_row, chosen))


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
