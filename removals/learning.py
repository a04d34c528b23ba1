"""What the city learns from its fellings: each plan's predictions beside what was measured once the tree lay."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import OuterRef, QuerySet, Subquery

from removals.lay_finder import STEERING_ERROR_MOST_DEG
from removals.models import FellingOutcome, FellingPlan
from removals.steering import Outcome, Steering, signed_error_deg, steering


@dataclass(frozen=True, slots=True)
class Pair:
    """What a plan said and what was measured; ``off`` is the measured one less the planned one."""

    planned: float
    measured: float

    @property
    def off(self) -> float:
        return self.measured - self.planned


@dataclass(frozen=True, slots=True)
class Felling:
    """One felling; a pair is None when the plan did not say it or nobody measured it. Lay in degrees from true north."""

    order_id: int
    number: str
    tag: str
    lay_deg: Pair | None
    diameter_cm: Pair | None
    height_m: Pair | None

    @property
    def direction_error_deg(self) -> float | None:
        return signed_error_deg(self.lay_deg.planned, self.lay_deg.measured) if self.lay_deg else None


def fellings(most: int) -> list[Felling]:
    """The latest fellings of which something was measured, the newest first; one query."""
    rows = _with_predictions().select_related("order__tree").order_by("-order_id")[:most]
    return [_felling(row) for row in rows]


def steering_known() -> Steering:
    """The city's own steering error, from every felling with a planned lay and a measured one."""
    rows = _with_predictions().filter(actual_lay_deg__isnull=False, planned_lay__isnull=False)
    known = rows.values_list("order_id", "planned_lay", "actual_lay_deg")
    return steering([Outcome(str(order), planned, actual) for order, planned, actual in known])


def steering_default() -> float:
    """The steering error in degrees that a new plan and the lay finder take: the city's own, at most what they can take."""
    return min(steering_known().error_deg, STEERING_ERROR_MOST_DEG)


def _with_predictions() -> QuerySet[Any]:
    """Outcomes with anything measured, each beside the plan that the crew worked by."""
    plan = FellingPlan.objects.filter(order=OuterRef("order"), digest=OuterRef("plan_digest")).order_by("-pk")
    measured = FellingOutcome.objects.exclude(actual_lay_deg=None, diameter_cm=None, height_m=None)
    return measured.annotate(
        planned_lay=Subquery(plan.values("results__place__lay_deg")[:1]),
        planned_diameter=Subquery(plan.values("inputs__diameter_m")[:1]),
        planned_height=Subquery(plan.values("inputs__height_m")[:1]),
    )


def _felling(row: FellingOutcome) -> Felling:
    lay, diameter_m, height_m = _predicted(row)
    return Felling(
        order_id=row.order_id,
        number=row.order.number,
        tag=row.order.tree.tag,
        lay_deg=_pair(lay, row.actual_lay_deg),
        diameter_cm=_pair(diameter_m and 100 * diameter_m, row.diameter_cm),
        height_m=_pair(height_m, row.height_m),
    )


def _predicted(row: FellingOutcome) -> Sequence[float | None]:
    return [getattr(row, name) for name in ("planned_lay", "planned_diameter", "planned_height")]


def _pair(planned: float | None, measured: float | None) -> Pair | None:
    return None if planned is None or measured is None else Pair(planned, measured)
