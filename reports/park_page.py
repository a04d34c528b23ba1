"""A park's report as a page: the counts as bars and tables, on the site and as one file that stands alone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.staticfiles import finders
from django.template.loader import render_to_string
from django.urls import reverse

from hazards.matrix import Rating
from inventory.sizes import SIZE_CLASSES
from inventory.units import Units
from reports.park import NOT_MEASURED, Counts, ParkReport

RATINGS = {rating.value for rating in Rating}
Bars = dict[str, Any]


def bars(counts: Counts, caption: str, name: str) -> Bars:
    """Context of the bars component; a rating's bar has the rating's shade."""
    rows = [
        {"label": label.capitalize(), "count": count, "kind": label if label in RATINGS else ""}
        for label, count in counts.items()
    ]
    return {"caption": caption, "name": name, "rows": rows, "most": max(1, *counts.values())}


def sizes_in(counts: Counts, units: Units) -> Counts:
    """The same classes, their edges in the reader's unit."""
    edges = [size.label(units) for size in SIZE_CLASSES]
    return dict(zip([*edges, NOT_MEASURED], counts.values(), strict=True))


def shown(report: ParkReport, units: Units) -> dict[str, Any]:
    sections = report.sections
    return {
        "report": report,
        "units": units,
        "ratings": bars(sections["rating"], "Ratings", "Rating"),
        "sizes": bars(sizes_in(sections["size_class"], units), "Diameter at breast height", "Size class"),
        "species": bars(sections["species"], "Species", "Botanical name"),
        "orders": sections["orders"],
        "overdue": sections["overdue"],
        "replacements": sections["replacements"],
    }


def tiles(report: ParkReport, *, linked: bool) -> list[dict[str, Any]]:
    """The park's figures at a glance; ``linked``: each leads to its list."""
    status, rating = report.sections["status"], report.sections["rating"]
    overdue, attention = report.sections["overdue"], report.sections["attention"]
    rows = (
        ("Standing trees", report.standing, _if_any(status, "dead standing"), "reports:trees", {"status": "stands"}),
        ("Rated extreme", rating["extreme"], "", "hazards:ranking", {"rating": "extreme"}),
        ("Rated high", rating["high"], "", "hazards:ranking", {"rating": "high"}),
        ("Imminent failure", attention["imminent failure"], "", "hazards:ranking", {"imminent": "on"}),
        ("Work overdue", overdue["work"], "", "hazards:ranking", {"overdue": "on"}),
        ("Inspections overdue", overdue["inspections"], "", "hazards:due", {"when": "overdue"}),
        ("Never inspected", attention["never inspected"], "", "hazards:due", {"when": "never"}),
        ("To be located", attention["to be located"], "", "reports:trees", {"unlocated": "on"}),
    )
    return [
        {"label": label, "figure": f"{figure:,}", "note": note, "url": _list(linked, view, report.code, query)}
        for label, figure, note, view, query in rows
    ]


def _if_any(counts: Counts, name: str) -> str:
    return f"{counts[name]:,} {name}" if counts[name] else ""


def _list(linked: bool, view: str, code: str, query: dict[str, str]) -> str:
    return reverse(view, query={"park": code, **query}) if linked else ""


def as_html(report: ParkReport) -> str:
    """One file, readable and printable anywhere: the style sheet inside, no link out of it."""
    units = Units(settings.DEFAULT_UNITS)
    style = Path(str(finders.find("css/hingewood.css"))).read_text(encoding="utf-8")
    context = {**shown(report, units), "tiles": tiles(report, linked=False), "style": style}
    return render_to_string("reports/park_file.html", context)
