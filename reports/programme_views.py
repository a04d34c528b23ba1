"""The programme: when each ordered tree would be reached, what would be late, how the counts fall. A what-if stores nothing."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone

from inventory.access import Permission, requires
from inventory.csv_out import csv_download
from inventory.paging import part_of
from removals.estimates import WEEK_HOURS_MOST
from reports.open_work import (
    ORDERS_MOST,
    OpenWork,
    Tables,
    counts_now,
    falls_of,
    open_work,
    supposed_work,
    tables,
    without_order,
)
from reports.programme import COUNTED, WEEKS_MOST, Capacity, Job, Programme, Week, monday, programme
from reports.programme_plot import plot

MONEY_MOST = 1_000_000_000.0
MINUTES_AN_HOUR, CENTS = 60, 100
BARE_SHOWN = 20


class WhatIfForm(forms.Form):
    """Sent in the address, so that a what-if can be shared; nothing of it is stored."""

    hours = forms.FloatField(
        label="Crew hours a week",
        min_value=0,
        max_value=WEEK_HOURS_MOST,
        required=False,
        help_text="All crews together.",
    )
    budget = forms.FloatField(
        label="Or money a week",
        min_value=0,
        max_value=MONEY_MOST,
        required=False,
        help_text="Counts instead of the hours, at the city’s rates.",
    )
    start = forms.DateField(
        label="From the week of", required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    extra = forms.FloatField(
        label="And more a week", min_value=0, max_value=MONEY_MOST, required=False, help_text="Hours, or money."
    )
    extra_weeks = forms.IntegerField(label="For the first weeks", min_value=0, max_value=WEEKS_MOST, required=False)
    suppose = forms.BooleanField(
        label="As if every tree rated extreme or high had an order", required=False, widget=forms.CheckboxInput
    )


@dataclass(frozen=True, slots=True)
class Asked:
    """A what-if in whole minutes or whole cents."""

    capacity: Capacity
    by_money: bool
    start: dt.date
    suppose: bool

    def need(self, work: OpenWork) -> int:
        amount = work.estimate.cost * CENTS if self.by_money else work.estimate.hours * MINUTES_AN_HOUR
        return max(1, round(amount))

    def shown(self, amount: int) -> float:
        return amount / (CENTS if self.by_money else MINUTES_AN_HOUR)


@dataclass(frozen=True, slots=True)
class Line:
    """One order's turn. Days are the Mondays of the weeks in which its work begins and ends."""

    work: OpenWork
    begins: dt.date | None
    ends: dt.date | None
    late_days: int

    @property
    def spans(self) -> bool:
        return self.begins != self.ends and self.ends is not None


@dataclass(frozen=True, slots=True)
class Shown:
    made: Programme
    lines: list[Line]
    asked: Asked


def _form(request: HttpRequest, city: Tables, today: dt.date) -> WhatIfForm:
    initial = {"hours": f"{city.effort.week_hours:g}", "start": _whole_week(today).isoformat()}
    given = {name: request.GET[name] for name in WhatIfForm.base_fields if name in request.GET}
    # What the address leaves out is as it is at first; what it gives as empty is empty.
    return WhatIfForm({**initial, **given})


def _whole_week(today: dt.date) -> dt.date:
    """The first week that is not begun yet, or begins today."""
    return today if today == monday(today) else monday(today) + dt.timedelta(weeks=1)


def _asked(form: WhatIfForm, city: Tables, today: dt.date) -> Asked:
    """What the form says; where it cannot be read, what the city has set."""
    given = form.cleaned_data if form.is_valid() else {}
    budget, hours = given.get("budget"), given.get("hours")
    by_money = budget is not None
    per = CENTS if by_money else MINUTES_AN_HOUR
    week = budget if budget is not None else hours if hours is not None else city.effort.week_hours
    capacity = Capacity(
        week=round(week * per),
        extra=round((given.get("extra") or 0) * per),
        extra_weeks=given.get("extra_weeks") or 0,
    )
    return Asked(capacity, by_money, given.get("start") or _whole_week(today), bool(given.get("suppose")))


def _made(asked: Asked, city: Tables) -> Shown:
    work = open_work(city)
    if asked.suppose:
        work = sorted([*work, *supposed_work(city)], key=lambda each: each.place)[:ORDERS_MOST]
    jobs = [Job(tree=each.tree, need=asked.need(each), due=each.due) for each in work]
    made = programme(jobs, asked.capacity, start=asked.start, now=counts_now(), falls=falls_of(work))
    first = monday(asked.start)
    lines = [
        Line(each, _week_day(first, reached.started), _week_day(first, reached.done), reached.late_days)
        for each, reached in zip(work, made.reached, strict=True)
    ]
    return Shown(made, lines, asked)


def _week_day(first: dt.date, week: int | None) -> dt.date | None:
    return None if week is None else first + dt.timedelta(weeks=week)


@requires(Permission.READ)
def the_programme(request: HttpRequest) -> HttpResponse:
    today, city = timezone.localdate(), tables()
    form = _form(request, city, today)
    asked = _asked(form, city, today)
    shown = _made(asked, city)
    only_late = request.GET.get("only") == "late"
    lines = [line for line in shown.lines if line.late_days or line.ends is None] if only_late else shown.lines
    context = {
        "form": form,
        "asked": asked,
        "shown": shown,
        "page": part_of(lines, request.GET.get("page", "")),
        "only_late": only_late,
        "weeks": [_week_row(asked, week) for week in shown.made.weeks],
        "plot": plot(shown.made),
        "sums": _sums(shown),
        "bare": without_order()[:BARE_SHOWN].select_related("tree__species", "park").defer("park__boundary"),
        "bare_words": _bare_words(shown),
        "week_hours": city.effort.week_hours,
        "crew_people": city.effort.crew_people,
        "today": today,
    }
    return render(request, "reports/programme.html", context)


def _week_row(asked: Asked, week: Week) -> dict[str, Any]:
    return {
        "begins": week.begins,
        "has": asked.shown(week.has),
        "used": asked.shown(week.used),
        "done": week.done,
        "counts": [week.counts[rating] for rating in COUNTED],
    }


def _sums(shown: Shown) -> dict[str, Any]:
    ends = [line.ends for line in shown.lines if line.ends]
    return {
        "orders": len(shown.lines),
        "need": shown.asked.shown(sum(each.job.need for each in shown.made.reached)),
        "late": len(shown.made.late),
        "latest": max((line.late_days for line in shown.lines), default=0),
        "out_of_sight": len(shown.made.out_of_sight),
        "last": max(ends, default=None),
    }


def _bare_words(shown: Shown) -> str:
    """``2 trees rated extreme, 17 rated high``: those that have no order, supposed ones not counted as orders."""
    ordered = list({line.work.tree: line.work.rating for line in shown.lines if not line.work.supposed}.values())
    bare = [(rating.value, shown.made.now[rating] - ordered.count(rating.value)) for rating in COUNTED]
    return ", ".join(f"{count:,} rated {rating}" for rating, count in bare if count > 0)


CSV_HEADER = (
    "turn",
    "tag",
    "park",
    "rating",
    "order",
    "work",
    "state",
    "agreed_for",
    "hours",
    "cost",
    "estimate_from",
    "week_begun",
    "week_done",
    "due",
    "days_late_at_most",
    "reached",
)


@requires(Permission.READ)
def programme_csv(request: HttpRequest) -> HttpResponseBase:
    today, city = timezone.localdate(), tables()
    asked = _asked(_form(request, city, today), city, today)
    return csv_download("programme.csv", CSV_HEADER, _csv_rows(_made(asked, city)))


def _csv_rows(shown: Shown) -> Iterator[tuple[Any, ...]]:
    for turn, line in enumerate(shown.lines, start=1):
        work = line.work
        yield (
            turn,
            work.tag,
            work.park,
            work.rating,
            work.number,
            work.kind,
            work.state,
            work.agreed_for,
            round(work.estimate.hours, 2),
            round(work.estimate.cost, 2),
            work.estimate.source,
            line.begins,
            line.ends,
            work.due,
            line.late_days if line.ends else None,
            "yes" if line.ends else "not within five years",
        )
    supposed = {line.work.tree for line in shown.lines if line.work.supposed}
    bare = without_order().values("tree_id", "tree__tag", "park__name", "rating", "work_due")
    for row in bare.iterator(chunk_size=2_000):
        if row["tree_id"] not in supposed:
            yield _csv_bare(row)


def _csv_bare(row: Any) -> tuple[Any, ...]:
    nothing = [None] * 9  # from the order to the week in which it is done
    return (None, row["tree__tag"], row["park__name"], row["rating"], *nothing, row["work_due"], None, "no order")
