"""The city at a glance: one row a park with the main numbers, and their totals."""

from __future__ import annotations

import datetime as dt
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from django.db.models import Count, Q

from hazards.matrix import Rating
from hazards.models import Standing
from inventory.models import Park, Tree, TreeStatus
from removals.models import BEFORE_FELLING, OPEN_STATES, RemovalOrder
from replanting.ledger import Ledger, by_park

if TYPE_CHECKING:
    from pandas import DataFrame

Rows = list[dict[str, Any]]


def _counts(today: dt.date) -> dict[Any, dict[str, Any]]:
    """Model → column → what it counts; each model is read once, grouped by park."""
    return {
        Tree: {
            "standing": Count("pk", filter=Q(status=TreeStatus.STANDING)),
            "dead_standing": Count("pk", filter=Q(status=TreeStatus.DEAD_STANDING)),
            "removed": Count("pk", filter=Q(status=TreeStatus.REMOVED)),
        },
        Standing: {
            "extreme": Count("pk", filter=Q(rating=Rating.EXTREME.value)),
            "high": Count("pk", filter=Q(rating=Rating.HIGH.value)),
            "imminent": Count("pk", filter=Q(imminent=True)),
            "never_inspected": Count("pk", filter=Q(inspected_on=None)),
            "inspections_overdue": Count("pk", filter=Q(inspect_due__lt=today)),
            "work_overdue": Count("pk", filter=Q(work_due__lt=today)),
        },
        RemovalOrder: {
            "orders_open": Count("pk", filter=Q(state__in=OPEN_STATES)),
            "orders_overdue": Count("pk", filter=Q(state__in=BEFORE_FELLING, due_on__lt=today)),
        },
    }


def _grouped(model: Any, counts: dict[str, Any]) -> Rows:
    return list(model.objects.order_by().values("park").annotate(**counts))


def _ledgers(today: dt.date) -> Rows:
    renamed = {
        "overdue": "replacements_overdue",
        "failures": "plantings_lost",
        "elsewhere": "planted_elsewhere",
        "fund": "fund_in_lieu",
    }
    return [
        {"park": park, **{renamed.get(name, name): count for name, count in asdict(book).items()}}
        for park, book in (by_park(today) or {0: Ledger()}).items()
    ]


def city_report(today: dt.date) -> DataFrame:
    """Columns code, name and the counts; one row a park by name, parks without trees too. Five queries."""
    from pandas import DataFrame

    parks = DataFrame(Park.objects.values_list("pk", "code", "name"), columns=["park", "code", "name"])
    city = parks.set_index("park")
    for model, counts in _counts(today).items():
        found = DataFrame(_grouped(model, counts), columns=["park", *counts]).set_index("park")
        city = city.join(found)
    city = city.join(DataFrame(_ledgers(today)).set_index("park"))
    numbers = city.columns.drop(["code", "name"])
    city[numbers] = city[numbers].fillna(0).astype(int)
    return city.sort_values(["name", "code"]).reset_index(drop=True)


def totals(city: DataFrame) -> dict[str, int]:
    """Column → its sum over all parks."""
    return {str(name): int(total) for name, total in city.drop(columns=["code", "name"]).sum().items()}
