"""The watch: where trees die more often than elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from hazards.mortality import Compared
from hazards.watch import DEFAULT_DAYS, MOST_DAYS, Watch, watch
from hazards.watch_plot import plot
from hazards.watch_words import COUNTED, METHOD, chance, label
from inventory.access import Permission, requires

LEAST_DAYS = 30
ROWS_SHOWN = 25


class WindowForm(forms.Form):
    days = forms.IntegerField(
        label="Days back", min_value=LEAST_DAYS, max_value=MOST_DAYS, help_text=f"From {LEAST_DAYS} to {MOST_DAYS:,}."
    )


@requires(Permission.READ)
def mortality_watch(request: HttpRequest) -> HttpResponse:
    form = WindowForm(request.GET if "days" in request.GET else {"days": DEFAULT_DAYS})
    days = form.cleaned_data["days"] if form.is_valid() else DEFAULT_DAYS
    found = watch(end=timezone.localdate(), days=days)
    context = {
        "form": form,
        "watch": found,
        "flagged": [_row(found, each) for each in found.flagged],
        "chapters": [
            _chapter(found, "parks", "Species in a park, against the other parks", found.parks),
            _chapter(found, "species", "Species of the city, against all others", found.species),
        ],
        "method": METHOD,
        "counted": COUNTED,
    }
    return render(request, "hazards/watch.html", context)


def _row(found: Watch, each: Compared) -> dict[str, Any]:
    return {
        "each": each,
        "names": found.names_of(each.count),
        "sentence": found.sentence_of(each),
        "p": chance(each.p),
        "q": chance(each.q),
    }


def _chapter(found: Watch, key: str, title: str, compared: Sequence[Compared]) -> dict[str, Any]:
    """The most improbable counts with a death, drawn and as a table."""
    shown = [each for each in compared if each.count.deaths][:ROWS_SHOWN]
    return {
        "key": key,
        "title": title,
        "comparisons": len(compared),
        "rows": [_row(found, each) for each in shown],
        "plot": plot([(label(each.count, found.names_of(each.count)), each) for each in shown]),
    }
