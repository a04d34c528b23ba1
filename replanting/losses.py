"""Plantings lost, by species, stock, nursery, season of planting and crew, and by what they were lost to."""

from __future__ import annotations

import datetime as dt
from collections import Counter

from django.db.models import Case, CharField, Count, F, Q, Value, When
from django.db.models.functions import Cast, Concat, ExtractYear

from replanting.models import Planting
from replanting.survival import Losses

YEAR = dt.timedelta(days=365)
# The seasons of `season.season_name`.
_SEASON = Concat(
    Case(When(planted_on__month__lte=6, then=Value("spring ")), default=Value("autumn ")),
    Cast(ExtractYear("planted_on"), CharField()),
)
BY = {
    "species": F("tree__species__botanical"),
    "stock": F("stock"),
    "nursery": F("nursery"),
    "season": _SEASON,
    "crew": F("crew"),
}


def losses(today: dt.date, by: str) -> list[Losses]:
    """The kinds of ``by`` (a key of `BY`), the most planted first; '' is the kind of those of which it is not known."""
    seasoned = Q(planted_on__lte=today - YEAR)
    rows = (
        Planting.objects.order_by()
        .annotate(kind=BY[by])
        .values_list("kind")
        .annotate(
            planted=Count("pk"),
            lost=Count("pk", filter=Q(failed_on__isnull=False)),
            seasoned=Count("pk", filter=seasoned),
            lost_first_year=Count("pk", filter=seasoned & Q(failed_on__lte=F("planted_on") + YEAR)),
        )
    )
    found = [Losses(name or "", *figures) for name, *figures in rows]
    return sorted(found, key=lambda kind: (-kind.planted, kind.name))


def causes() -> list[tuple[str, int]]:
    """What plantings were lost to, the commonest first; a planting with two causes counts under both."""
    counts: Counter[str] = Counter()
    for named in Planting.objects.filter(failed_on__isnull=False).values_list("failure_causes", flat=True):
        counts.update(named or ["not said"])
    return sorted(counts.items(), key=lambda row: (-row[1], row[0]))
