"""Every component on one page, with invented content: for those who build pages, and for the browser tests."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.access import Permission, requires
from inventory.models import Tree
from inventory.paging import Page

RATINGS = ("low", "moderate", "high", "extreme")
STATES = {
    "Tree": ("standing", "dead standing", "removed"),
    "Removal order": ("proposed", "approved", "scheduled", "felled", "closed", "withdrawn", "already down"),
    "Replacement task": ("open", "species chosen", "ordered", "planted", "established", "failed", "waived"),
    "Import": ("uploaded", "queued", "running", "done", "failed", "cancelled"),
}


class SampleForm(forms.Form):
    """One field of each kind; bound to nothing it shows its errors."""

    tag = forms.CharField(label="Tag", help_text="As painted or nailed on the stem.")
    diameter = forms.CharField(label="Diameter at breast height", help_text="For example 36 cm or 14 in.")
    inspected = forms.DateField(label="Inspected on", widget=forms.DateInput(attrs={"type": "date"}))
    species = forms.ChoiceField(choices=[("", "Choose one"), ("oak", "Quercus rubra, northern red oak")])
    failure = forms.ChoiceField(
        label="Likelihood of failure",
        widget=forms.RadioSelect,
        choices=[(word, word.capitalize()) for word in ("improbable", "possible", "probable", "imminent")],
        help_text="Of this part, within the time frame.",
    )
    covered = forms.MultipleChoiceField(
        label="Covered in the briefing",
        widget=forms.CheckboxSelectMultiple,
        choices=[
            ("drop", "Drop zone walked and clear"),
            ("retreat", "Retreat paths cut and agreed"),
            ("call", "Emergency call and place tried"),
        ],
        required=False,
    )
    photo = forms.FileField(required=False)
    note = forms.CharField(widget=forms.Textarea(attrs={"rows": 3}), required=False, label="Note to the crew")
    wires = forms.BooleanField(label="Overhead wires within one and a half tree heights", required=False)


class SampleFilters(forms.Form):
    search = forms.CharField(label="Tag or name", required=False)
    park = forms.ChoiceField(choices=[("", "Any park"), ("1", "Lantern Green")], required=False)
    status = forms.ChoiceField(choices=[("", "Any status"), ("standing", "Standing")], required=False)
    rating = forms.ChoiceField(choices=[("", "Any rating"), *((r, r.capitalize()) for r in RATINGS)], required=False)
    overdue = forms.BooleanField(label="Overdue only", required=False)


@dataclass(frozen=True)
class SampleEntry:
    at: datetime
    actor_name: str
    via: str
    summary: str


HISTORY = (
    SampleEntry(
        datetime(2026, 5, 14, 9, 20, tzinfo=UTC), "Odell Marrow", "web", "Removal approved: due by 21 May 2026"
    ),
    SampleEntry(
        datetime(2026, 5, 12, 15, 2, tzinfo=UTC), "Ines Calloway", "tablet", "Rated high: stem over the play area"
    ),
    SampleEntry(
        datetime(2024, 3, 4, 8, 0, tzinfo=UTC), "Hingewood", "import", "Taken over from the city's file, row 1,204"
    ),
)


def trees() -> list[dict[str, Any]]:
    rows = (
        ("LG-0112", "Fraxinus pennsylvanica", "green ash", "extreme", True, "dead standing", 61.0, "2 Jun 2026"),
        ("LG-0045", "Acer saccharinum", "silver maple", "high", False, "standing", 94.0, "16 Jun 2026"),
        ("MW-0231", "Quercus rubra", "northern red oak", "moderate", False, "standing", 52.0, "1 Sep 2026"),
        ("MW-0007", "Tilia cordata", "small-leaved lime", "low", False, "standing", 33.0, "1 May 2029"),
        ("QS-0310", "Ginkgo biloba", "maidenhair tree", "", False, "removed", 18.0, "–"),
    )
    names = ("tag", "botanical", "common", "rating", "imminent", "status", "dbh_cm", "due")
    return [dict(zip(names, row, strict=True)) for row in rows]


def context() -> dict[str, Any]:
    return {
        "ratings": RATINGS,
        "states": STATES,
        "form": SampleForm(data={"tag": "LG-0112"}),
        "clean_form": SampleForm(auto_id="clean_%s"),
        "filters": SampleFilters(data={"park": "1"}, auto_id="filter_%s"),
        "history": HISTORY,
        "trees": trees(),
        "neighbours": Page[Tree]([], next="next", previous="previous"),
        "tiles": [
            {"figure": "1,912", "label": "trees standing", "url": "#tiles"},
            {"figure": "14", "label": "removals due", "note": "3 overdue"},
            {"figure": "96 %", "label": "of removals replanted in time"},
            {"figure": "31", "label": "inspections due this month"},
        ],
        "rating_counts": [
            {"label": rating.capitalize(), "count": count, "kind": rating}
            for rating, count in zip(RATINGS, (812, 356, 74, 9), strict=True)
        ],
        "size_counts": [
            {"label": label, "count": count}
            for label, count in (
                ("under 15 cm", 402),
                ("15 to 30 cm", 611),
                ("30 to 60 cm", 548),
                ("60 cm and over", 351),
            )
        ],
        "steps": [
            "Notch 1/3 of 54.0 cm = 18.0 cm",
            "L = 2 √(27.0² − (27.0 − 18.0)²) = 50.9 cm",
        ],
        "photos": [],
        "cautions": ["Wires within one and a half tree heights: stop until their owner has isolated them."],
    }


@requires(Permission.READ)
def styleguide(request: HttpRequest) -> HttpResponse:
    return render(request, "styleguide.html", context())
