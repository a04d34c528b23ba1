"""Rounds of inspection by park and week, on the screen and on paper."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from hazards.ranking_views import listed
from hazards.rounds import Week, by_park, stops, the_round, week_of, weeks_ahead, with_wishes
from inventory.access import Permission, requires
from inventory.models import Park
from inventory.paging import part_of

STOPS_A_SHEET = 100


@requires(Permission.READ)
def rounds(request: HttpRequest) -> HttpResponse:
    """What each park has to look at in each of the weeks ahead."""
    today = timezone.localdate()
    weeks = weeks_ahead(today)
    parks = [_park_row(row, weeks) for row in by_park(today)]
    totals = [sum(row["counts"][number] for row in parks) for number in range(len(weeks))]
    context = {
        "weeks": weeks,
        "parks": parks,
        "totals": totals,
        "overdue": sum(row["overdue"] for row in parks),
        "today": today,
    }
    return render(request, "hazards/rounds.html", context)


def _park_row(row: dict[str, Any], weeks: list[Week]) -> dict[str, Any]:
    counts = [row[f"week_{number}"] for number in range(len(weeks))]
    return {
        "code": row["park__code"],
        "name": row["park__name"],
        "overdue": row["overdue"],
        "counts": counts,
        "cells": list(zip(weeks, counts, strict=True)),
    }


@requires(Permission.READ)
def park_round(request: HttpRequest, code: str) -> HttpResponse:
    """A park's trees to look at by the end of a week, a sheet at a time, overdue ones first."""
    park = get_object_or_404(Park.objects.defer("boundary"), code=code)
    today = timezone.localdate()
    week = week_of(_asked(request.GET.get("week", ""), today), today)
    found = the_round(park, week)
    page = part_of(found.trees, request.GET.get("page", ""), STOPS_A_SHEET)
    first = found.trees.index(page.rows[0]) if page.rows else 0
    early = max(0, min(found.overdue - first, len(page.rows)))
    rows = stops(page.rows, with_wishes(listed()))
    context = {
        "park": park,
        "week": week,
        "round": found,
        "due_in_week": len(found.trees) - found.overdue,
        "parts": [
            (title, name, part, first + 1 + before)
            for title, name, part, before in (
                ("Overdue", "overdue", rows[:early], 0),
                ("Due in the week", "due", rows[early:], early),
            )
            if part
        ],
        "page": page,
        "earlier": week.monday - dt.timedelta(weeks=1),
        "later": week.monday + dt.timedelta(weeks=1),
        "runs": week.monday <= today <= week.sunday,
        "today": today,
    }
    return render(request, "hazards/park_round.html", context)


def _asked(text: str, today: dt.date) -> dt.date:
    """The day that the address names; today where it names none. Weeks that are over are not asked for again."""
    try:
        return max(dt.date.fromisoformat(text), today)
    except ValueError:
        return today
