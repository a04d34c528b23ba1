"""The ledger of promises: every removed tree is owed, and is waiting, planted, established or waived."""

from __future__ import annotations

import datetime as dt
from dataclasses import astuple, dataclass
from typing import Any

from django.db.models import Count, Q, QuerySet, Sum

from inventory.models import Tree
from replanting.models import WAITING, ReplacementTask, TaskState


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


def owed_by_another_task() -> QuerySet[Tree]:
    """Young trees that were lost: the task they were planted for owes them."""
    return Tree.objects.removed().filter(planting__failed_on__isnull=False, replacement_task__isnull=True)


def unpromised() -> QuerySet[Tree]:
    """Removed trees that nothing replaces; the database keeps this empty."""
    lost = owed_by_another_task().values("pk")
    return Tree.objects.removed().filter(replacement_task__isnull=True).exclude(pk__in=lost).order_by("tag")
