"""What an order still lacks before its tree may be felled: read from the latest plan and its briefings."""

from __future__ import annotations

import datetime as dt

from django.utils import timezone

from removals import briefing as rules
from removals.felling_result import Verdict
from removals.models import FellingPlan, JobBriefing, RemovalOrder

WORKABLE = frozenset({Verdict.ADEQUATE, Verdict.MARGINAL})


def latest_plan(order: RemovalOrder) -> FellingPlan | None:
    """The plan that holds: the latest one."""
    return order.plans.order_by("-pk").first()


def has_pull_line(plan: FellingPlan) -> bool:
    return plan.inputs.get("line") is not None


def plan_gaps(plan: FellingPlan | None) -> tuple[str, ...]:
    if plan is None:
        return ("No felling plan has been made yet.",)
    if plan.verdict not in WORKABLE:
        return (f"The latest plan is “{plan.verdict}”: change it, or take the tree down another way.",)
    return ()


def briefing_gaps(briefing: JobBriefing, plan: FellingPlan) -> tuple[str, ...]:
    """What a briefing of ``plan`` lacks: items of the checklist, or signatures under this very plan."""
    line = has_pull_line(plan)
    roles = [each.role for each in briefing.signatures.all() if each.plan_digest == plan.digest]
    open_items = rules.not_covered(briefing.checked, pull_line=line)
    uncovered = tuple(f"The briefing left this open: {item.words}" for item in open_items)
    return uncovered + rules.crew_gaps(roles, pull_line=line)


def felling_gaps(order: RemovalOrder, on: dt.date | None = None) -> tuple[str, ...]:
    """Everything that stands between ``order`` and its felling on a day (default: any), a sentence each; empty: nothing."""
    plan = latest_plan(order)
    lacking = plan_gaps(plan)
    if plan is None or lacking:
        return lacking
    held = list(plan.briefings.prefetch_related("signatures").order_by("-held_at"))
    if not held:
        return (_no_briefing(order),)
    of_the_day = [each for each in held if on is None or timezone.localdate(each.held_at) == on]
    if not of_the_day:
        return (
            f"The crew was briefed on {_day(held[0])}; a briefing holds for its own day, and {on:%-d %b %Y} needs one.",
        )
    gaps = [briefing_gaps(each, plan) for each in of_the_day]
    return () if () in gaps else gaps[0]


def _day(briefing: JobBriefing) -> str:
    return f"{timezone.localdate(briefing.held_at):%-d %b %Y}"


def _no_briefing(order: RemovalOrder) -> str:
    if JobBriefing.objects.filter(plan__order=order).exists():
        return "The briefing was held on an older plan, and a new plan voids it: brief the crew on the latest one."
    return "The crew has not been briefed on the plan yet."
