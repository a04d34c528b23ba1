"""The ledger of promises: every removed tree is owed, and is waiting, planted, established or waived."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import astuple, dataclass
from typing import Any

from django.db.models import (
    Aggregate,
    Count,
    DurationField,
    ExpressionWrapper,
    F,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
)
from django.db.models.functions import ExtractYear

from inventory.models import Tree
from replanting.models import WAITING, Planting, ReplacementTask, TaskState


@dataclass(frozen=True)
class Ledger:
    """Replacements; ``overdue`` are those of the waiting past their day, ``failures`` plantings lost on the way."""

    owed: int = 0
    waiting: int = 0
    planted: int = 0
    established: int = 0
    waived: int = 0
    overdue: int = 0
    failures: int = 0

    @property
    def balances(self) -> bool:
        return self.owed == self.waiting + self.planted + self.established + self.waived

    def __add__(self, other: Ledger) -> Ledger:
        return Ledger(*(mine + theirs for mine, theirs in zip(astuple(self), astuple(other), strict=True)))


def _counts(today: dt.date) -> dict[str, Any]:
    return {
        "owed": Count("pk"),
        "waiting": Count("pk", filter=Q(state__in=WAITING)),
        "planted": Count("pk", filter=Q(state=TaskState.PLANTED)),
        "established": Count("pk", filter=Q(state=TaskState.ESTABLISHED)),
        "waived": Count("pk", filter=Q(state=TaskState.WAIVED)),
        "overdue": Count("pk", filter=Q(state__in=WAITING, due_on__lt=today)),
        "failures": Sum("failures", default=0),
    }


def ledger(tasks: QuerySet[ReplacementTask], today: dt.date) -> Ledger:
    """The ledger of some tasks: of a park, of a filtered list, of all."""
    return Ledger(**tasks.order_by().aggregate(**_counts(today)))


def by_park(today: dt.date) -> dict[int, Ledger]:
    """Park number → its ledger; a park that owes nothing is absent."""
    counts = _counts(today)
    rows = ReplacementTask.objects.order_by().values("park").annotate(**counts).values_list("park", *counts)
    return {park: Ledger(**dict(zip(counts, figures, strict=True))) for park, *figures in rows}


class Median(Aggregate):
    """Half of the values lie below; those that are not known are left out."""

    function = "PERCENTILE_CONT"
    template = "%(function)s(0.5) WITHIN GROUP (ORDER BY %(expressions)s)"
    output_field = DurationField()


@dataclass(frozen=True)
class Keeping:
    """How promises were kept. ``kept``: a tree that lives was planted by the day; ``late``: after it; ``wait``: the median from
    the removal to the first planting, None before any. A waived promise, and one whose day has not come, is neither."""

    kept: int = 0
    late: int = 0
    overdue: int = 0
    wait: dt.timedelta | None = None

    @property
    def kept_pct(self) -> float | None:
        due = self.kept + self.late + self.overdue
        return 100 * self.kept / due if due else None

    @property
    def wait_days(self) -> float | None:
        return self.wait / dt.timedelta(1) if self.wait is not None else None


@dataclass(frozen=True)
class Line:
    """A line of the ledger: the removals of one park in one year, what became of them, and how the promises were kept."""

    park: str
    year: int | None
    book: Ledger
    keeping: Keeping


_KEEPING = ("kept", "late", "overdue", "wait")


def _with_plantings(tasks: QuerySet[ReplacementTask]) -> Any:
    """Adds the day of the planting that lives, that of the first, and the year of the removal."""
    theirs = Planting.objects.filter(task=OuterRef("pk")).order_by("planted_on").values("planted_on")
    return tasks.order_by().annotate(
        year=ExtractYear("opened_on"),
        living_on=Subquery(theirs.filter(failed_on__isnull=True)[:1]),
        first_on=Subquery(theirs[:1]),
    )


def _line_counts(today: dt.date) -> dict[str, Any]:
    wait = ExpressionWrapper(F("first_on") - F("opened_on"), output_field=DurationField())
    return {
        **_counts(today),
        "kept": Count("pk", filter=Q(living_on__lte=F("due_on"))),
        "late": Count("pk", filter=Q(living_on__gt=F("due_on"))),
        "wait": Median(wait),
    }


def by_park_and_year(tasks: QuerySet[ReplacementTask], today: dt.date) -> list[Line]:
    """One query: a line for each park and year of removal, by park and year."""
    counts = _line_counts(today)
    rows = _with_plantings(tasks).values("park__name", "year").annotate(**counts).order_by("park__name", "year")
    return [_line(row["park__name"], row["year"], row) for row in rows]


def in_all(tasks: QuerySet[ReplacementTask], today: dt.date) -> Line:
    """The same for all of the tasks together."""
    return _line("", None, _with_plantings(tasks).aggregate(**_line_counts(today)))


def _line(park: str, year: int | None, row: Mapping[str, Any]) -> Line:
    book = Ledger(**{name: row[name] for name in Ledger.__dataclass_fields__})
    return Line(park, year, book, Keeping(**{name: row[name] for name in _KEEPING}))


def owed_by_another_task() -> QuerySet[Tree]:
    """Young trees that were lost: the task they were planted for owes them."""
    return Tree.objects.removed().filter(planting__failed_on__isnull=False, replacement_task__isnull=True)


def unpromised() -> QuerySet[Tree]:
    """Removed trees that nothing replaces; the database keeps this empty."""
    lost = owed_by_another_task().values("pk")
    return Tree.objects.removed().filter(replacement_task__isnull=True).exclude(pk__in=lost).order_by("tag")
