"""The watch over the city's trees: deaths of a stretch of time, read from the inventory and compared.

Counted as a death, on the day of ``dead_since``: a standing tree that an inspection found dead; a tree found lying that had
been held for alive; a planting that failed. Such a tree counts whether it still stands or has been removed since. Felled
alive is no death. A tree stands among those at risk when it was alive at the start, or was planted later.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import BooleanField, Case, Count, Q, QuerySet, Value, When

from hazards import mortality
from hazards.mortality import YOUNG_YEARS, Compared
from hazards.watch_words import Names, sentence
from inventory.models import Condition, Park, Species, Tree, TreeStatus

DEFAULT_DAYS = 365
MOST_DAYS = 3660


@dataclass(frozen=True)
class Watch:
    """From the day after ``start`` to ``end``. ``parks`` and ``species`` are all comparisons, the most improbable first;
    their counts name a park by its code and a species by its botanical name."""

    start: dt.date
    end: dt.date
    parks: Sequence[Compared]
    species: Sequence[Compared]
    trees: int
    deaths: int
    undated: int
    unnamed: int
    park_names: Mapping[str, str]
    common_names: Mapping[str, str]

    @property
    def first_day(self) -> dt.date:
        return self.start + dt.timedelta(days=1)

    @property
    def days(self) -> int:
        return (self.end - self.start).days

    @property
    def flagged(self) -> list[Compared]:
        """Species of the whole city before species of one park."""
        return [each for each in (*self.species, *self.parks) if each.flagged]

    def names_of(self, count: mortality.Count) -> Names:
        park = self.park_names[count.park] if count.park else ""
        return Names(count.species, self.common_names[count.species], park)

    def sentence_of(self, found: Compared) -> str:
        return sentence(found, self.names_of(found.count), start=self.first_day, end=self.end)


def watch(*, end: dt.date, days: int = DEFAULT_DAYS) -> Watch:
    """Deaths in the ``days`` up to and with ``end``, in every park and species."""
    start = end - dt.timedelta(days=days)
    rows = list(_counted(start, end))
    counts = [
        mortality.Count(row["species__botanical"], row["trees"], row["deaths"], row["young"], row["park__code"])
        for row in rows
        if row["species__botanical"]
    ]
    return Watch(
        start=start,
        end=end,
        parks=mortality.by_park(counts),
        species=mortality.by_species(counts),
        trees=sum(count.trees for count in counts),
        deaths=sum(count.deaths for count in counts),
        undated=Tree.objects.filter(_dead_at_some_time(), _not_gone_before(start)).count(),
        unnamed=sum(row["trees"] for row in rows if not row["species__botanical"]),
        park_names=dict(Park.objects.values_list("code", "name")),
        common_names=dict(Species.objects.values_list("botanical", "common")),
    )


def _dead_at_some_time() -> Q:
    """Dead, and nobody knows since when: the death may lie before the start."""
    dead = Q(status=TreeStatus.DEAD_STANDING) | Q(condition=Condition.DEAD)
    return dead & Q(dead_since__isnull=True)


def _not_gone_before(start: dt.date) -> Q:
    return Q(removed_on__isnull=True) | Q(removed_on__gt=start)


def _at_risk(start: dt.date, end: dt.date) -> QuerySet[Tree]:
    alive = Q(dead_since__isnull=True) | Q(dead_since__gt=start)
    planted = Q(planted_on__isnull=True) | Q(planted_on__lte=end)
    return Tree.objects.filter(alive & planted & _not_gone_before(start)).exclude(_dead_at_some_time())


def _counted(start: dt.date, end: dt.date) -> QuerySet[Any, Any]:
    """Trees at risk and deaths by park, species and age, grouped in the database."""
    young = Case(
        When(planted_on__gt=_years_before(start, YOUNG_YEARS), then=Value(True)),
        default=Value(False),
        output_field=BooleanField(),
    )
    return (
        _at_risk(start, end)
        .order_by()
        .annotate(young=young)
        .values("park__code", "species__botanical", "young")
        .annotate(trees=Count("pk"), deaths=Count("pk", filter=Q(dead_since__lte=end)))
    )


def _years_before(day: dt.date, years: int) -> dt.date:
    try:
        return day.replace(year=day.year - years)
    except ValueError:  # 29 February
        return day.replace(year=day.year - years, day=28)
