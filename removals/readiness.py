"""What an order still lacks before its tree may be felled: read from plan, crew, work before the felling, and briefings."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from django.utils import timezone

from removals import briefing as rules
from removals.crew_work import crew_gaps
from removals.felling_result import Verdict
from removals.models import FellingPlan, JobBriefing, LodgedTree, RemovalOrder
from removals.order_place import place_gap
from removals.site_work import before_gaps
from removals.taking_down import TakingDown, taking_down

WORKABLE = frozenset({Verdict.ADEQUATE, Verdict.MARGINAL})

Crew = Sequence[Sequence[str]]


def latest_plan(order: RemovalOrder) -> FellingPlan | None:
    """The plan that holds: the latest one."""
    return order.plans.order_by("-pk").first()


def named_crew(order: RemovalOrder) -> list[list[str]]:
    """The order's crew as [name, role] rows; empty while nobody is named."""
    return [[member.worker.name, member.role] for member in order.crew.select_related("worker")]


def hanging(order: RemovalOrder) -> LodgedTree | None:
    """The order's tree, while it hangs in another."""
    return order.lodged.filter(cleared_at=None).first()


def plan_gaps(plan: FellingPlan | None, at: dt.datetime | None = None) -> tuple[str, ...]:
    """Why nobody works by this plan and the method of now (or of a time).

    A tree that is not felled needs no plan that holds. It needs one all the same: its measurements were compared, and the
    signatures name it; so a method chosen before the plan was made has not seen it.
    """
    if plan is None:
        return ("No felling plan has been made yet.",)
    down = taking_down(plan.order, plan, at)
    if not down.felled and down.chosen_at and down.chosen_at < plan.made_at:
        return (f"The plan was made after “{down.method}” was chosen: compare the methods again, and choose.",)
    if down.felled and plan.verdict not in WORKABLE:
        return (
            f"The latest plan is “{plan.verdict}”: change it, or compare the methods and choose one that does not fell "
            "the tree in one piece.",
        )
    changed = place_gap(plan)
    return (changed,) if changed else ()


def voided(briefing: JobBriefing, plan: FellingPlan, crew: Crew, at: dt.datetime | None = None) -> str:
    """Why the briefing holds no longer for this crew and the method of now (or of a time); empty: it does."""
    if not rules.same_crew(briefing.crew, crew):
        return "The crew has changed since the briefing, which voids it: brief the crew of today."
    if briefed_on(briefing, plan).method != taking_down(plan.order, plan, at).method:
        return "The method was changed after the briefing, which voids it: brief the crew on the method of today."
    return ""


def briefed_on(briefing: JobBriefing, plan: FellingPlan) -> TakingDown:
    """How the tree was to come down when the briefing was held."""
    return taking_down(plan.order, plan, briefing.held_at)


def worked_as(plan: FellingPlan) -> TakingDown:
    """How the crew that was briefed on the plan took the tree down; as planned now while nobody was briefed."""
    held = plan.briefings.first()
    return briefed_on(held, plan) if held else taking_down(plan.order, plan)


def briefing_gaps(
    briefing: JobBriefing, plan: FellingPlan, crew: Crew, at: dt.datetime | None = None
) -> tuple[str, ...]:
    """What a briefing of ``plan`` lacks for ``crew`` and the method of now (or of a time): items, or signatures under them."""
    void = voided(briefing, plan, crew, at)
    if void:
        return (void,)
    down = briefed_on(briefing, plan)
    digest = rules.signed_digest(plan.digest, crew, down.method)
    valid = [each for each in briefing.signatures.all() if each.plan_digest == digest]
    open_items = rules.not_covered(briefing.checked, pull_line=down.pull_line, method=down.method)
    uncovered = tuple(f"The briefing left this open: {item.words}" for item in open_items)
    unsigned = rules.unsigned(crew, [each.name for each in valid])
    # Which roles are lacking is worth saying once all who are named have signed.
    return uncovered + (unsigned or rules.crew_gaps([each.role for each in valid], pull_line=down.pull_line))


def scheduling_gaps(order: RemovalOrder, day: dt.date) -> tuple[str, ...]:
    """What keeps the work from being fixed for a day: open items, and a named crew that may not do it then."""
    crew = crew_gaps(order, day) if order.crew.exists() else ()
    return (*before_gaps(order, day, at_work=False), *crew)


def felling_gaps(order: RemovalOrder, on: dt.date | None = None) -> tuple[str, ...]:
    """Everything that stands between ``order`` and its felling on a day (default: any), a sentence each; empty: nothing."""
    lodged = hanging(order)
    if lodged:
        return (hanging_words(lodged),)
    plan = latest_plan(order)
    lacking = plan_gaps(plan)
    if plan is None or lacking:
        return lacking
    day = on or order.scheduled_for or timezone.localdate()
    return (
        *crew_gaps(order, day),
        *before_gaps(order, day, at_work=True),
        *_gaps_of_briefings(order, plan, on),
    )


def _gaps_of_briefings(order: RemovalOrder, plan: FellingPlan, on: dt.date | None) -> tuple[str, ...]:
    held = _briefings(plan)
    if not held:
        return (_no_briefing(order),)
    of_the_day = _of_the_day(held, on)
    if not of_the_day:
        return (
            f"The crew was briefed on {_day(held[0])}; a briefing holds for its own day, and {on:%-d %b %Y} needs one.",
        )
    gaps = [briefing_gaps(each, plan, named_crew(order)) for each in of_the_day]
    return () if () in gaps else gaps[0]


def was_briefed(plan: FellingPlan, on: dt.date) -> bool:
    """Whether a whole briefing of that plan, for its own crew and method, was signed on that day, older plan or not."""
    return any(
        not plan_gaps(plan, each.held_at) and not briefing_gaps(each, plan, each.crew, each.held_at)
        for each in _of_the_day(_briefings(plan), on)
    )


def hanging_words(lodged: LodgedTree) -> str:
    return f"The tree hangs in another since {timezone.localtime(lodged.reported_at):%-d %b %Y, %H:%M}: bring it down first."


def _briefings(plan: FellingPlan) -> list[JobBriefing]:
    return list(plan.briefings.prefetch_related("signatures").order_by("-held_at"))


def _of_the_day(held: list[JobBriefing], on: dt.date | None) -> list[JobBriefing]:
    return [each for each in held if on is None or timezone.localdate(each.held_at) == on]


def _day(briefing: JobBriefing) -> str:
    return f"{timezone.localdate(briefing.held_at):%-d %b %Y}"


def _no_briefing(order: RemovalOrder) -> str:
    if JobBriefing.objects.filter(plan__order=order).exists():
        return "The briefing was held on an older plan, and a new plan voids it: brief the crew on the latest one."
    return "The crew has not been briefed on the plan yet."
