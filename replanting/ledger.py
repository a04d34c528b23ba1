"""The ledger of promises: every removed tree is owed, and what is owed waits, is planted, established or waived.

The database keeps the books (the view behind `Account`): by the park that owes and the year of the removal, wherever a
replacement is planted. Here they are added up.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import astuple, dataclass
from typing import Any

from django.db.models import Aggregate, FloatField, Q, QuerySet, Sum

from inventory.models import Park, Tree
from replanting.models import Account


@dataclass(frozen=True)
class Ledger:
    """Trees owed and what became of them; ``overdue`` are those of the waiting past their day, ``failures`` plantings lost
    on the way, ``elsewhere`` those in the ground of another park, ``fund`` those of the waived that a fund was paid for."""

    owed: int = 0
    waiting: int = 0
    planted: int = 0
    established: int = 0
    waived: int = 0
    overdue: int = 0
    failures: int = 0
    elsewhere: int = 0
    fund: int = 0

    @property
    def balances(self) -> bool:
        return self.owed == self.waiting + self.planted + self.established + self.waived

    def __add__(self, other: Ledger) -> Ledger:
        return Ledger(*(mine + theirs for mine, theirs in zip(astuple(self), astuple(other), strict=True)))


@dataclass(frozen=True)
class Keeping:
    """How promises were kept. ``kept``: a tree that lives was planted by the day; ``late``: after it; ``wait_days``: the median
    from the removal to the first planting, None before any. A waived promise, and one whose day has not come, is neither."""

    kept: int = 0
    late: int = 0
    overdue: int = 0
    wait_days: float | None = None

    @property
    def kept_pct(self) -> float | None:
        due = self.kept + self.late + self.overdue
        return 100 * self.kept / due if due else None


@dataclass(frozen=True)
class Line:
    """A line of the ledger: the removals of one park in one year, what became of them, and how the promises were kept."""

    park: str
    year: int | None
    book: Ledger
    keeping: Keeping


class Median(Aggregate):
    """Half of the values lie below; those that are not known are left out."""

    function = "PERCENTILE_CONT"
    template = "%(function)s(0.5) WITHIN GROUP (ORDER BY %(expressions)s)"
    output_field = FloatField()


_BOOK = tuple(Ledger.__dataclass_fields__)
_KEEPING = tuple(Keeping.__dataclass_fields__)
# The sums are named apart from the columns of the view, which they would hide.
_SUM = "sum_"


def _sums(today: dt.date) -> dict[str, Any]:
    column = {"waiting": "open", "overdue": "open"}
    past = {"overdue": Q(due_on__lt=today)}
    return {f"{_SUM}{name}": Sum(column.get(name, name), filter=past.get(name), default=0) for name in _BOOK}


def _line_sums(today: dt.date) -> dict[str, Any]:
    kept = {f"{_SUM}{name}": Sum(name, default=0) for name in ("kept", "late")}
    return {**_sums(today), **kept, f"{_SUM}wait_days": Median("wait_days")}


def accounts(park: Park | None = None) -> QuerySet[Account]:
    """Of what one park owes, or of all."""
    found = Account.objects.order_by()
    return found.filter(park=park) if park else found


def ledger(today: dt.date, park: Park | None = None) -> Ledger:
    """The books of one park, or of all parks together."""
    return _book(accounts(park).aggregate(**_sums(today)))


def by_park(today: dt.date) -> dict[int, Ledger]:
    """Park number → its ledger; a park that owes nothing is absent."""
    return {row["park"]: _book(row) for row in accounts().values("park").annotate(**_sums(today))}


def by_park_and_year(today: dt.date, park: Park | None = None) -> list[Line]:
    """One query: a line for each park and year of removal, by park and year."""
    rows = accounts(park).values("park__name", "year").annotate(**_line_sums(today)).order_by("park__name", "year")
    return [_line(row["park__name"], row["year"], row) for row in rows]


def in_all(today: dt.date, park: Park | None = None) -> Line:
    """The same for all of them together."""
    return _line("", None, accounts(park).aggregate(**_line_sums(today)))


def _line(park: str, year: int | None, row: Mapping[str, Any]) -> Line:
    return Line(park, year, _book(row), Keeping(**{name: row[f"{_SUM}{name}"] for name in _KEEPING}))


def _book(row: Mapping[str, Any]) -> Ledger:
    return Ledger(**{name: row[f"{_SUM}{name}"] for name in _BOOK})


def owed_by_another_task() -> QuerySet[Tree]:
    """Young trees that were lost: the task they were planted for owes them."""
    return Tree.objects.removed().filter(planting__failed_on__isnull=False, replacement_tasks__isnull=True)


def unpromised() -> QuerySet[Tree]:
    """Removed trees that nothing replaces; the database keeps this empty."""
    lost = owed_by_another_task().values("pk")
    return Tree.objects.removed().filter(replacement_tasks__isnull=True).exclude(pk__in=lost).order_by("tag")
