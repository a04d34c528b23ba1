"""What removals took of crown cover and what is planted, read from what is stored for the forecast."""

from __future__ import annotations

import math
from dataclasses import dataclass

from django.db.models import Count, F, Q, Sum
from django.db.models.functions import ExtractYear

from inventory.models import Park, TreeStatus
from replanting.canopy import FT_A_YEAR, Plantings
from replanting.models import Planting, ReplacementTask

_SIZES = ("height_min_m", "height_max_m", "spread_min_m", "spread_max_m")


@dataclass(frozen=True)
class Crowns:
    """``unmeasured``: removed trees without a crown spread. ``unfigured``: plantings whose taxon has no figures."""

    taken_m2: float
    unmeasured: int
    plantings: tuple[Plantings, ...]
    unfigured: int


def crowns(park: Park | None = None) -> Crowns:
    """Of one park or of the city: the trees that opened a promise, and the plantings that stand."""
    taken = ReplacementTask.objects.filter(first=True)
    if park:
        taken = taken.filter(park=park)
    square = F("removed_tree__crown_spread_m") * F("removed_tree__crown_spread_m")
    unmeasured = Count("pk", filter=Q(removed_tree__crown_spread_m__isnull=True))
    gone = taken.order_by().aggregate(squares=Sum(square), unmeasured=unmeasured)
    groups = _standing(park)
    known = tuple(
        Plantings(year, number, growth, *sizes)
        for year, growth, *sizes, number in groups
        if growth in FT_A_YEAR and all(sizes)
    )
    planted = sum(group[-1] for group in groups)
    return Crowns(
        math.pi / 4 * (gone["squares"] or 0.0), gone["unmeasured"], known, planted - sum(some.number for some in known)
    )


def _standing(park: Park | None) -> list[tuple[int, str, float, float, float, float, int]]:
    """Living plantings by year and by the figures of their taxon."""
    young = Planting.objects.filter(failed_on__isnull=True, tree__status=TreeStatus.STANDING)
    if park:
        young = young.filter(tree__park=park)
    columns = ("year", "tree__species__growth", *(f"tree__species__{size}" for size in _SIZES))
    rows = young.order_by().annotate(year=ExtractYear("planted_on")).values_list(*columns)
    return list(rows.annotate(number=Count("pk")))
