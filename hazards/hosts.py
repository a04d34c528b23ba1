"""The hosts of a watched pest: how many, how large, where, and how much of the city's crown cover stands on them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import pi
from typing import Any

from django.db.models import Case, CharField, Count, F, IntegerField, Q, QuerySet, Sum, Value, When

from hazards.models import PruningLimit
from hazards.pests import in_season
from inventory.models import Condition, Tree, TreeStatus
from inventory.sizes import SIZE_CLASSES, SizeClass

NOT_MEASURED = ""


@dataclass(frozen=True)
class ParkHosts:
    """``sizes``: how many by the key of their size class, the empty key for those not measured."""

    code: str
    name: str
    trees: int
    failing: int
    sizes: Mapping[str, int]


@dataclass(frozen=True)
class Hosts:
    """``crown_share``: of the crown area of all standing trees with a measured spread; None when none is measured."""

    parks: Sequence[ParkHosts]
    trees: int
    failing: int
    crown_m2: float
    crown_share: float | None
    without_spread: int


def hosts_of(genera: Sequence[str]) -> QuerySet[Tree]:
    return Tree.objects.standing().filter(species__genus__in=genera)


def _failing() -> Q:
    """Dead or declining."""
    return Q(status=TreeStatus.DEAD_STANDING) | Q(condition__in=[Condition.DEAD, Condition.DYING, Condition.POOR])


def failing_first(hosts: QuerySet[Tree]) -> QuerySet[Tree]:
    """The dead, then the dying, then those in poor condition; the larger sooner."""
    rank = Case(
        When(Q(status=TreeStatus.DEAD_STANDING), then=Value(0)),
        When(Q(condition=Condition.DYING), then=Value(1)),
        default=Value(2),
        output_field=IntegerField(),
    )
    return hosts.filter(_failing()).order_by(rank, F("dbh_cm").desc(nulls_last=True), "tag")


def hosts(genera: Sequence[str]) -> Hosts:
    counted = hosts_of(genera).order_by().annotate(size=_size_class())
    rows = counted.values("park__code", "park__name", "size").annotate(
        trees=Count("pk"), failing=Count("pk", filter=_failing())
    )
    parks = list(_by_park(rows))
    city = _crown_m2(Tree.objects.standing())
    crown = _crown_m2(hosts_of(genera))
    return Hosts(
        parks=sorted(parks, key=lambda park: (-park.trees, park.name)),
        trees=sum(park.trees for park in parks),
        failing=sum(park.failing for park in parks),
        crown_m2=crown,
        crown_share=crown / city if city else None,
        without_spread=hosts_of(genera).filter(crown_spread_m__isnull=True).count(),
    )


def _size_class() -> Case:
    return Case(
        *(When(_within(size), then=Value(size.key)) for size in SIZE_CLASSES),
        default=Value(NOT_MEASURED),
        output_field=CharField(),
    )


def _within(size: SizeClass) -> Q:
    within = Q(dbh_cm__gte=size.low_cm)
    return within if size.high_cm is None else within & Q(dbh_cm__lt=size.high_cm)


def _by_park(rows: Iterable[Mapping[str, Any]]) -> Iterable[ParkHosts]:
    parks: dict[str, list[Mapping[str, Any]]] = {}
    for row in rows:
        parks.setdefault(row["park__code"], []).append(row)
    for code, mine in parks.items():
        yield ParkHosts(
            code=code,
            name=mine[0]["park__name"],
            trees=sum(row["trees"] for row in mine),
            failing=sum(row["failing"] for row in mine),
            sizes={row["size"]: row["trees"] for row in mine},
        )


def _crown_m2(trees: QuerySet[Tree]) -> float:
    """Of circular crowns."""
    squares = trees.order_by().aggregate(total=Sum(F("crown_spread_m") * F("crown_spread_m")))["total"]
    return pi / 4 * (squares or 0.0)


def limits_in_force(genus: str, on: dt.date) -> list[PruningLimit]:
    """What forbids pruning a tree of the genus on that day, from the pests that are watched."""
    return [limit for limit in limits_of(genus) if in_season(limit, on)]


def limits_of(genus: str) -> list[PruningLimit]:
    """Every season in which a tree of the genus must not be pruned, from the pests that are watched."""
    return list(PruningLimit.objects.filter(genus=genus, watch__ended_on__isnull=True).select_related("watch"))


def pruning_warnings(tree: Tree, days: Mapping[str, dt.date | None]) -> list[tuple[PruningLimit, str]]:
    """Each limit into which one of the days falls, with what that day is called; a warning, never a bar."""
    if tree.species is None:
        return []
    found = []
    for limit in limits_of(tree.species.genus):
        hit = next((name for name, on in days.items() if on and in_season(limit, on)), None)
        if hit:
            found.append((limit, hit))
    return found
