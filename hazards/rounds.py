"""Rounds of inspection: what a park has to look at in a week, in the order of a walk, and what the weeks ahead hold.

What is due before the week comes first. Inside both parts the trees follow their map cells, so that neighbours in the park
are neighbours on the list; those without a position come last.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import BooleanField, Case, Count, F, OuterRef, Q, QuerySet, Subquery, Value, When

from hazards.models import AskedLook, Standing
from inventory.models import Park

WEEKS_AHEAD = 8
ROUND_MOST = 5_000
"""Trees of one round; more than anybody sees in a week."""


@dataclass(frozen=True)
class Week:
    """Monday to Sunday, with what is overdue on the day from which it is counted."""

    monday: dt.date
    counted_from: dt.date

    @property
    def sunday(self) -> dt.date:
        return self.monday + dt.timedelta(days=6)

    @property
    def before(self) -> Q:
        """Due earlier, and not looked at since."""
        return Q(inspect_due__lt=self.counted_from)

    @property
    def within(self) -> Q:
        return Q(inspect_due__range=(self.counted_from, self.sunday))


def week_of(day: dt.date, today: dt.date) -> Week:
    """The week that holds the day. Of the week that runs, the days gone by count as overdue."""
    monday = day - dt.timedelta(days=day.weekday())
    return Week(monday, max(monday, today) if monday <= today <= monday + dt.timedelta(days=6) else monday)


def weeks_ahead(today: dt.date) -> list[Week]:
    """This week and those after it."""
    this = week_of(today, today)
    return [week_of(this.monday + dt.timedelta(weeks=number), today) for number in range(WEEKS_AHEAD)]


def by_park(today: dt.date) -> Any:
    """Park by park what is overdue and what each week brings: one grouped count over the due days within reach."""
    weeks = weeks_ahead(today)
    counts = {f"week_{number}": Count("pk", filter=week.within) for number, week in enumerate(weeks)}
    within_reach = Standing.objects.filter(inspect_due__lte=weeks[-1].sunday)
    grouped = within_reach.values("park__code", "park__name")
    return grouped.annotate(overdue=Count("pk", filter=weeks[0].before), **counts).order_by("park__name")


@dataclass(frozen=True)
class Round:
    """``trees``: numbers of the trees in the order of the walk, the first ``overdue`` of them due before the week."""

    week: Week
    trees: Sequence[int]
    overdue: int


def the_round(park: Park, week: Week) -> Round:
    due = Standing.objects.filter(park=park, inspect_due__lte=week.sunday)
    early = Case(When(week.before, then=Value(True)), default=Value(False), output_field=BooleanField())
    walk = due.annotate(early=early).order_by("-early", F("tree__cell").asc(nulls_last=True), "tag")
    found = list(walk.values_list("pk", "early")[:ROUND_MOST])
    return Round(week, [pk for pk, _ in found], sum(early for _, early in found))


def with_wishes(standings: Any) -> Any:
    """With why a look was asked for, where that look sets the day."""
    asked = AskedLook.objects.open().filter(tree=OuterRef("tree_id"), due_on=OuterRef("inspect_due"))
    return standings.annotate(asked=Subquery(asked.values("why")[:1]))


def stops(trees: Sequence[int], standings: QuerySet[Standing]) -> list[Standing]:
    """The rows of those trees, in their order."""
    rows = standings.in_bulk(list(trees))
    return [rows[tree] for tree in trees if tree in rows]
