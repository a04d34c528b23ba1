"""The city's open work in the order of the ranking, each order with its estimate, and what its tree counts as afterwards."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Exists, OuterRef
from django.urls import reverse

from hazards.matrix import Rating
from hazards.models import Assessment, MitigationOption, MitigationOrder, Standing, StandingQuerySet
from hazards.triage import MAX_KEY
from removals.city_rules import city_rules, effort_of, rates_of
from removals.estimates import Effort, Estimate, by_size, of_hours
from removals.methods import Rates
from removals.models import MethodChoice, RemovalOrder
from reports.programme import COUNTED, Fall

ORDERS_MOST = 20_000
"""Orders looked at, the first of the ranking; more than any city's crews see through in five years."""
REMOVAL = "removal"


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenWork:
    """One order. ``leaves``: what the tree is rated once it is done, None when the tree is gone; ``place``: its turn."""

    tree: int
    tag: str
    park: str
    rating: str
    imminent: bool
    kind: str
    number: str
    url: str
    state: str
    due: dt.date | None
    agreed_for: dt.date | None
    estimate: Estimate
    leaves: Rating | None
    place: tuple[int, str, dt.date, int]
    supposed: bool = False


@dataclass(frozen=True, slots=True)
class Tables:
    """The city's hours and rates."""

    effort: Effort
    rates: Rates


def tables() -> Tables:
    rules = city_rules()
    return Tables(effort_of(rules), rates_of(rules))


def open_work(city: Tables) -> list[OpenWork]:
    """Every order that waits, in the order of the ranking; the trees that are not rated come last."""
    found = [*_removals(city), *_mitigations(city)]
    return sorted(found, key=lambda work: work.place)[:ORDERS_MOST]


def _place(key: int | None, tag: str, due: dt.date | None, pk: int) -> tuple[int, str, dt.date, int]:
    return (MAX_KEY + 1 if key is None else key, tag, due or dt.date.max, pk)


_REMOVAL_FIELDS = (
    "pk",
    "tree_id",
    "state",
    "due_on",
    "scheduled_for",
    "proposed_on",
    "tree__tag",
    "tree__dbh_cm",
    "tree__height_m",
    "park__name",
    "tree__standing__rating",
    "tree__standing__imminent",
    "tree__standing__triage_key",
)


def _removals(city: Tables) -> Iterator[OpenWork]:
    waiting = RemovalOrder.objects.before_felling().order_by("tree__standing__triage_key", "pk")
    chosen = _chosen_methods()
    for row in waiting.values(*_REMOVAL_FIELDS)[:ORDERS_MOST]:
        pk, tag = row["pk"], row["tree__tag"]
        yield OpenWork(
            tree=row["tree_id"],
            tag=tag,
            park=row["park__name"],
            rating=row["tree__standing__rating"] or "",
            imminent=bool(row["tree__standing__imminent"]),
            kind=REMOVAL,
            number=f"{row['proposed_on']:%Y}-{pk:04d}",
            url=reverse("removals:order", args=[pk]),
            state=row["state"],
            due=row["due_on"],
            agreed_for=row["scheduled_for"],
            estimate=chosen.get(pk) or by_size(row["tree__dbh_cm"], row["tree__height_m"], city.effort, city.rates),
            leaves=None,
            place=_place(row["tree__standing__triage_key"], tag, row["due_on"], pk),
        )


def _chosen_methods() -> dict[int, Estimate]:
    """Order → hours and cost of the method chosen last, as they were compared."""
    waiting = RemovalOrder.objects.before_felling().values("pk")
    latest = MethodChoice.objects.filter(order__in=waiting).order_by("order_id", "-pk").distinct("order_id")
    found = {}
    for order, method, comparison in latest.values_list("order_id", "method", "comparison"):
        for row in comparison.get("rows", ()):
            if row["method"] == method:
                found[order] = Estimate(float(row["hours"]), float(row["cost"]), method)
    return found


_MITIGATION_FIELDS = (
    "pk",
    "tree_id",
    "kind",
    "state",
    "due_on",
    "scheduled_for",
    "proposed_on",
    "estimated_hours",
    "assessment_id",
    "tree__tag",
    "tree__dbh_cm",
    "tree__height_m",
    "park__name",
    "tree__standing__rating",
    "tree__standing__imminent",
    "tree__standing__triage_key",
    "tree__standing__assessment_id",
)


def _mitigations(city: Tables) -> Iterator[OpenWork]:
    """Work that lets the tree stand. Without an estimate it takes as long as taking the tree down would."""
    waiting = MitigationOrder.objects.open().order_by("tree__standing__triage_key", "pk")
    left = _ratings_left()
    for row in waiting.values(*_MITIGATION_FIELDS)[:ORDERS_MOST]:
        pk, tag, rating, hours = row["pk"], row["tree__tag"], row["tree__standing__rating"], row["estimated_hours"]
        decides = row["assessment_id"] is not None and row["assessment_id"] == row["tree__standing__assessment_id"]
        estimate = (
            by_size(row["tree__dbh_cm"], row["tree__height_m"], city.effort, city.rates)
            if hours is None
            else of_hours(hours, "as estimated", city.effort, city.rates)
        )
        yield OpenWork(
            tree=row["tree_id"],
            tag=tag,
            park=row["park__name"],
            rating=rating or "",
            imminent=bool(row["tree__standing__imminent"]),
            kind=row["kind"],
            number=f"M{row['proposed_on']:%Y}-{pk:04d}",
            url=reverse("hazards:work_order", args=[pk]),
            state=row["state"],
            due=row["due_on"],
            agreed_for=row["scheduled_for"],
            estimate=estimate,
            leaves=(left.get(pk) if decides else None) or (Rating(rating) if rating else Rating.LOW),
            place=_place(row["tree__standing__triage_key"], tag, row["due_on"], pk),
        )


def _ratings_left() -> dict[int, Rating]:
    """Order → what its tree would be rated: what the option leaves, or another assessment of the same look if graver.

    Nothing for an order whose finding names no residual rating: the tree stays as it is rated until it is looked at anew.
    """
    waiting = MitigationOrder.objects.open().filter(assessment__isnull=False)
    residuals = {
        (assessment, mitigation): Rating(residual)
        for assessment, mitigation, residual in MitigationOption.objects.filter(
            assessment__in=waiting.values("assessment")
        )
        .exclude(residual_rating="")
        .values_list("assessment_id", "mitigation", "residual_rating")
    }
    looks = Assessment.objects.filter(inspection__in=waiting.values("assessment__inspection"))
    others: dict[Any, list[tuple[Any, Rating]]] = {}
    for look, pk, rating in looks.values_list("inspection_id", "pk", "rating"):
        others.setdefault(look, []).append((pk, Rating(rating)))
    left = {}
    for order, assessment, look, kind in waiting.values_list(
        "pk", "assessment_id", "assessment__inspection_id", "kind"
    ):
        if residual := residuals.get((assessment, kind)):
            graver = [rating for pk, rating in others.get(look, []) if pk != assessment]
            left[order] = max([residual, *graver], key=lambda rating: rating.rank)
    return left


def counts_now() -> dict[Rating, int]:
    """Standing trees of each rating."""
    found = dict(Standing.objects.order_by().exclude(rating="").values_list("rating").annotate(Count("pk")))
    return {rating: found.get(rating.value, 0) for rating in Rating}


def without_order(ratings: Iterable[Rating] = COUNTED) -> StandingQuerySet:
    """The rated trees for which nothing is ordered, in the order of the ranking."""
    removal = RemovalOrder.objects.before_felling().filter(tree=OuterRef("tree"))
    mitigation = MitigationOrder.objects.open().filter(tree=OuterRef("tree"))
    wanted = [rating.value for rating in ratings]
    return Standing.objects.ranked().filter(~Exists(removal), ~Exists(mitigation), rating__in=wanted)


_STANDING_FIELDS = (
    "tree_id",
    "rating",
    "imminent",
    "triage_key",
    "work_due",
    "park__name",
    "tree__tag",
    "tree__dbh_cm",
    "tree__height_m",
)


def supposed_work(city: Tables) -> Iterator[OpenWork]:
    """A removal, by the city's table, for each tree rated extreme or high for which nothing is ordered."""
    bare = without_order((Rating.EXTREME, Rating.HIGH))
    for row in bare.values(*_STANDING_FIELDS)[:ORDERS_MOST]:
        yield OpenWork(
            tree=row["tree_id"],
            tag=row["tree__tag"],
            park=row["park__name"],
            rating=row["rating"],
            imminent=row["imminent"],
            kind=REMOVAL,
            number="",
            url="",
            state="supposed",
            due=row["work_due"],
            agreed_for=None,
            estimate=by_size(row["tree__dbh_cm"], row["tree__height_m"], city.effort, city.rates),
            leaves=None,
            place=_place(row["triage_key"], row["tree__tag"], row["work_due"], 0),
            supposed=True,
        )


def falls_of(work: Iterable[OpenWork]) -> Mapping[int, Fall]:
    """Tree → what it counts as now and when all of its work is done: gone, or the least that one of its orders leaves."""
    falls: dict[int, Fall] = {}
    for each in work:
        if not each.rating:
            continue
        before = falls.get(each.tree)
        falls[each.tree] = Fall(Rating(each.rating), _least(before, each.leaves) if before else each.leaves)
    return falls


def _least(before: Fall, leaves: Rating | None) -> Rating | None:
    if before.after is None or leaves is None:
        return None
    return min(before.after, leaves, key=lambda rating: rating.rank)
