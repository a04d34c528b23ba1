"""How a felling went, kept with the plan that the crew worked by; a report under an older plan raises an alarm."""

from __future__ import annotations

import datetime as dt
from dataclasses import asdict, replace
from typing import Any

from django.db.models import QuerySet

from inventory import record
from inventory.errors import Refused
from inventory.record import Actor
from removals.models import FellingOutcome, FellingPlan, OrderState, RemovalOrder
from removals.outcome import Went, contradictions
from removals.readiness import felling_gaps, hanging, latest_plan, was_briefed
from removals.steering import signed_error_deg
from removals.taking_down import TakingDown

ALARM = "alarm: felled under an older plan"


def plan_worked_by(order: RemovalOrder, on: dt.date, plan_digest: str) -> FellingPlan:
    """The plan that a felling reported for that day was made under; Refused when it may not have been.

    ``plan_digest``: of the plan that the reporting page showed. A tree felled under an older plan is down all the same: the
    report is good when a whole briefing of that very plan was signed on that day. Empty: the latest plan.
    """
    shown = order.plans.filter(digest=plan_digest).order_by("-pk").first() if plan_digest else latest_plan(order)
    if plan_digest and shown is None:
        raise Refused("This report names a plan that the order never had: report it from the order’s own page.")
    if shown and shown != latest_plan(order) and was_briefed(shown, on) and not hanging(order):
        return shown
    gaps = felling_gaps(order, on)
    latest = latest_plan(order)
    if gaps or latest is None:
        raise Refused(gaps[0])
    return latest


def keep_outcome(*, by: Actor, order: RemovalOrder, plan: FellingPlan, went: Went, down: TakingDown) -> FellingOutcome:
    """Keep how it went; the caller has locked the order and opened the transaction."""
    if not down.felled and (went.hinge_held is not None or went.actual_lay_deg is not None):
        raise Refused(f"A tree {down.method} has no hinge and falls on no lay: leave both out.")
    went = replace(went, hung_up=went.hung_up or order.lodged.exists(), near_miss=went.near_miss.strip())
    said = contradictions(went, direction_error_deg(plan, went.actual_lay_deg), _steering_error_deg(plan))
    if said:
        raise Refused(said[0])
    older = latest_plan(order) != plan
    kept = FellingOutcome.objects.create(order=order, **asdict(went), plan_digest=plan.digest, older_plan=older)
    if older:
        summary = f"The crew worked by the plan of {plan.made_at:%Y-%m-%d %H:%M}; a newer one had been made."
        record.write(by=by, verb=ALARM, subject=order, tree=order.tree, summary=summary, digest=plan.digest)
    return kept


def alarms() -> QuerySet[FellingOutcome]:
    """Fellings reported under an older plan; each calls for attention until its order is closed."""
    return FellingOutcome.objects.filter(older_plan=True)


def open_alarms() -> QuerySet[FellingOutcome]:
    return alarms().filter(order__state=OrderState.FELLED)


def near_misses() -> QuerySet[FellingOutcome]:
    return FellingOutcome.objects.exclude(near_miss="")


def outcome_parts(order: RemovalOrder) -> dict[str, Any]:
    """What an order's page shows of a tree that hangs and of how the felling went."""
    went = FellingOutcome.objects.filter(order=order).first() if order.felled_on else None
    plan = order.plans.filter(digest=went.plan_digest).order_by("-pk").first() if went else None
    return {
        "lodged": hanging(order) if order.before_felling else None,
        "went": went,
        "direction_error_deg": direction_error_deg(plan, went.actual_lay_deg) if plan and went else None,
    }


def direction_error_deg(plan: FellingPlan, actual_lay_deg: float | None) -> float | None:
    """From the planned lay to where it fell, positive to the right; None when either is unknown."""
    lay_deg: float | None = plan.results["place"]["lay_deg"]
    if lay_deg is None or actual_lay_deg is None:
        return None
    return signed_error_deg(lay_deg, actual_lay_deg)


def _steering_error_deg(plan: FellingPlan) -> float:
    swath_deg: float = plan.results["place"]["swath_half_deg"]
    return swath_deg
