"""The stand that a choice of species is weighed against: living trees, and plantings promised but not yet in the ground."""

from __future__ import annotations

from collections import Counter

from django.db.models import Count, Sum

from inventory.models import Park, Tree, TreeStatus
from replanting.diversity import Taxon
from replanting.models import ReplacementTask

_NAMES = ("species__botanical", "species__genus", "species__family")


def living_and_promised(park: Park | None = None) -> Counter[Taxon]:
    """Trees by taxon in one park, or in the whole city; trees of unknown species are not counted."""
    living = Tree.objects.filter(status=TreeStatus.STANDING, species__isnull=False)
    promised = ReplacementTask.objects.waiting().filter(species__isnull=False)
    stand: Counter[Taxon] = Counter()
    if park:
        living, promised = living.filter(park=park), promised.filter(stands_in=park.pk)
    stand_now = living.order_by().values_list(*_NAMES).annotate(Count("pk"))
    to_come = promised.order_by().values_list(*_NAMES).annotate(Sum("units"))
    for rows in (stand_now, to_come):
        for *names, number in rows:
            stand[Taxon(*names)] += number
    return stand
