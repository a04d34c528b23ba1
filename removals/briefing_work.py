"""Job briefings: kept as they were held, and signed by each person of the crew; one transaction and one entry each."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence

from django.db import transaction

from inventory.errors import Refused
from inventory.record import Actor
from removals import briefing as rules
from removals import emergency, signals
from removals.models import BriefingSignature, CrewRole, FellingPlan, JobBriefing, RemovalOrder
from removals.readiness import briefed_on, latest_plan, named_crew, plan_gaps, voided
from removals.signals import COMMON_PRACTICE, Signal
from removals.states import Action
from removals.steps import moment, record_step, said, short, taken
from removals.taking_down import taking_down


@transaction.atomic
def hold_briefing(
    *,
    by: Actor,
    plan: FellingPlan,
    checked: Iterable[str],
    gust_ms: float,
    emergency_card: Mapping[str, str],
    agreed: Sequence[Signal] = COMMON_PRACTICE,
    signatures: Sequence[tuple[str, str]] = (),
    weather: str = "",
    at: dt.datetime | None = None,
) -> JobBriefing:
    """Keep a job briefing on the latest plan: its checklist covered, signals agreed, gust measured, card filled in.

    ``gust_ms``: held at 2 m; over the stop wind of plan and method nothing is kept. ``signatures``: (name, role) pairs; more
    people `sign` later, and felling waits until the crew is whole.
    """
    order = taken(plan.order, Action.BRIEF, by)
    _hold_to_latest(order, plan)
    covered = sorted(set(checked))
    _refuse_gaps(plan, covered, gust_ms, emergency_card, agreed)
    held = JobBriefing.objects.create(
        plan=plan,
        checked=covered,
        weather=short(weather, 200),
        gust_ms=gust_ms,
        crew=named_crew(order),
        signals=[each.row() for each in agreed],
        emergency=emergency.kept(emergency_card),
        held_by=by.user,
        held_at=moment(at),
    )
    for name, role in signatures:
        _sign(held, name, role, held.held_at)
    names = ", ".join(held.signatures.values_list("name", flat=True)) or "nobody yet"
    record_step(order, Action.BRIEF, by=by, summary=f"Job briefing held; signed by {names}.", briefing=str(held.pk))
    return held


@transaction.atomic
def sign(*, by: Actor, briefing: JobBriefing, name: str, role: str, at: dt.datetime | None = None) -> BriefingSignature:
    """One more person signs a briefing of the latest plan, and of the crew and the method of today."""
    order = taken(briefing.plan.order, Action.BRIEF, by)
    _hold_to_latest(order, briefing.plan)
    void = voided(briefing, briefing.plan, named_crew(order))
    if void:
        raise Refused(void)
    signature = _sign(briefing, name, role, moment(at))
    record_step(order, Action.BRIEF, by=by, summary=f"{signature.name} signed the briefing as {signature.role}.")
    return signature


def _hold_to_latest(order: RemovalOrder, plan: FellingPlan) -> None:
    latest = latest_plan(order)
    if latest != plan:
        raise Refused("A newer plan has been made for this order: brief the crew on that one.")
    gaps = plan_gaps(latest)
    if gaps:
        raise Refused(gaps[0])


def _refuse_gaps(
    plan: FellingPlan, covered: list[str], gust_ms: float, card: Mapping[str, str], agreed: Sequence[Signal]
) -> None:
    down = taking_down(plan.order, plan)
    missing = rules.not_covered(covered, pull_line=down.pull_line, method=down.method)
    if missing:
        raise Refused(f"The briefing is not complete: {missing[0].words}")
    windy = rules.wind_gap(gust_ms, down.stop_wind_ms, felled=down.felled)
    gaps = (*((windy,) if windy else ()), *signals.gaps(agreed), *emergency.gaps(card))
    if gaps:
        raise Refused(gaps[0])


def _sign(briefing: JobBriefing, name: str, role: str, at: dt.datetime) -> BriefingSignature:
    name = " ".join(said(name, "A signature needs a name.", 120).split())
    if role not in CrewRole.values:
        raise Refused(f"“{role}” is no role in a crew; use {', '.join(CrewRole.values)}.")
    if briefing.signatures.filter(name__iexact=name).exists():
        raise Refused(f"{name} has signed this briefing already; each person signs once.")
    if briefing.crew and [name, role] not in briefing.crew:
        raise Refused(f"{name} is not in this order’s crew as {role}: put them in the crew first, and brief it anew.")
    method = briefed_on(briefing, briefing.plan).method
    digest = rules.signed_digest(briefing.plan.digest, briefing.crew, method)
    return briefing.signatures.create(name=name, role=role, plan_digest=digest, signed_at=at)
