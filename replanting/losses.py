"""Plantings lost, by species, stock and nursery."""

from __future__ import annotations

import datetime as dt

from django.db.models import Count, F, Q

from replanting.models import Planting
from replanting.survival import Losses

YEAR = dt.timedelta(days=365)
BY = {"species": "tree__species__botanical", "stock": "stock", "nursery": "nursery"}


def losses(today: dt.date, by: str) -> list[Losses]:
    """The kinds of ``by`` (a key of `BY`), the most planted first; '' is the kind of those of which it is not known."""
    seasoned = Q(planted_on__lte=today - YEAR)
    rows = (
        Planting.objects.order_by()
        .values_list(BY[by])
        .annotate(
            planted=Count("pk"),
            lost=Count("pk", filter=Q(failed_on__isnull=False)),
            seasoned=Count("pk", filter=seasoned),
            lost_first_year=Count("pk", filter=seasoned & Q(failed_on__lte=F("planted_on") + YEAR)),
        )
    )
    found = [Losses(name or "", *figures) for name, *figures in rows]
    return sorted(found, key=lambda kind: (-kind.planted, kind.name))
