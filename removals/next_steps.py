"""What may happen to an order next: for this reader as links, and in sentences what it waits for."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.urls import reverse

from inventory.access import ROLE_PERMISSIONS, Permission
from removals.models import DOWN, FellingPlan, OrderState, RemovalOrder
from removals.readiness import felling_gaps, hanging, hanging_words, latest_plan, plan_gaps
from removals.site_work import after_gap, before_gaps
from removals.states import TABLE, Action, permission
from removals.taking_down import taking_down

LABELS = {
    Action.PLAN: "Make a felling plan",
    Action.APPROVE: "Approve",
    Action.SCHEDULE: "Schedule",
    Action.BRIEF: "Brief the crew",
    Action.FELL: "Report it felled",
    Action.ALREADY_DOWN: "Report it already down",
    Action.WITHDRAW: "Withdraw",
    Action.CLOSE: "Close",
}
NOT_FELLED = "Method and briefing are complete: the tree may be taken down, and is then reported"
AGAIN = {Action.PLAN: "Make a new plan", Action.SCHEDULE: "Change day or lead"}
ADDRESSES = {
    Action.PLAN: "removals:plan",
    Action.APPROVE: "removals:approve",
    Action.SCHEDULE: "removals:schedule",
    Action.FELL: "removals:fell",
    Action.ALREADY_DOWN: "removals:down",
    Action.WITHDRAW: "removals:withdraw",
    Action.CLOSE: "removals:close",
}
WAITS_FOR = {
    Action.APPROVE: "It waits for approval",
    Action.SCHEDULE: "It waits to be given a day and a crew lead",
    Action.PLAN: "It waits for a felling plan that holds, or for another method chosen on the latest plan",
    Action.BRIEF: "It waits for the job briefing",
    Action.FELL: "Plan and briefing are complete: the tree may be felled, and is then reported",
    Action.CLOSE: "The tree is down; once stump, clean-up and reading are settled the order is closed",
}


@dataclass(frozen=True)
class Link:
    label: str
    url: str
    danger: bool = False


@dataclass(frozen=True)
class Outlook:
    """``main``: the step that brings the order on, when the reader may take it; ``waits``: what it waits for, in sentences."""

    main: Link | None
    others: tuple[Link, ...]
    waits: tuple[str, ...]


def outlook(order: RemovalOrder, granted: frozenset[Permission], today: dt.date) -> Outlook:
    lodged = hanging(order)
    if lodged:
        link = Link("It hangs no more", reverse("removals:clear_lodged", args=[order.pk]))
        return Outlook(main=link if Permission.FELL in granted else None, others=(), waits=(hanging_words(lodged),))
    plan = latest_plan(order)
    gaps = felling_gaps(order, today) if order.state == OrderState.SCHEDULED else ()
    main = _main(order, plan, gaps)
    possible = [
        action
        for action, step in TABLE[OrderState(order.state)].items()
        if step.needs in granted and not _too_early(action, plan, gaps)
    ]
    others = tuple(_link(order, action, plan) for action in possible if action is not main)
    return Outlook(
        main=_link(order, main, plan) if main in possible else None,
        others=(*_way_out(order, plan, granted), *others),
        waits=_waits(_waits_for(order, main, plan), main, gaps or _work_gaps(order, today)),
    )


def _way_out(order: RemovalOrder, plan: FellingPlan | None, granted: frozenset[Permission]) -> tuple[Link, ...]:
    """Where another method is chosen, while the latest plan brings the tree no further."""
    if plan is None or not order.before_felling or permission(Action.PLAN) not in granted or not plan_gaps(plan):
        return ()
    return (Link("Compare the methods", reverse("removals:methods", args=[order.pk])),)


def _waits_for(order: RemovalOrder, main: Action | None, plan: FellingPlan | None) -> str:
    if main is Action.FELL and not taking_down(order, plan).felled:
        return NOT_FELLED
    return WAITS_FOR[main] if main else ""


def _work_gaps(order: RemovalOrder, today: dt.date) -> tuple[str, ...]:
    """The work that holds up the day of the felling, or the closing."""
    if order.state == OrderState.APPROVED:
        return before_gaps(order, today, at_work=False)
    still_open = after_gap(order) if order.state in DOWN else ""
    return (still_open,) if still_open else ()


def _main(order: RemovalOrder, plan: FellingPlan | None, gaps: tuple[str, ...]) -> Action | None:
    if order.state == OrderState.PROPOSED:
        return Action.APPROVE
    if order.state == OrderState.APPROVED:
        return Action.SCHEDULE
    if order.state == OrderState.SCHEDULED:
        return Action.PLAN if plan_gaps(plan) else Action.BRIEF if gaps else Action.FELL
    return Action.CLOSE if order.state in DOWN else None


def _too_early(action: Action, plan: FellingPlan | None, gaps: tuple[str, ...]) -> bool:
    return bool(action is Action.FELL and gaps) or bool(action is Action.BRIEF and plan_gaps(plan))


def _waits(words: str, main: Action | None, gaps: tuple[str, ...]) -> tuple[str, ...]:
    if main is None:
        return ()
    who = " or ".join(f"a {role.value}" for role, grants in ROLE_PERMISSIONS.items() if permission(main) in grants)
    return (f"{words}, by {who}.", *gaps)


def _link(order: RemovalOrder, action: Action, plan: FellingPlan | None) -> Link:
    again = (action is Action.PLAN and plan) or (action is Action.SCHEDULE and order.scheduled_for)
    label = AGAIN[action] if again else LABELS[action]
    if action is Action.FELL and not taking_down(order, plan).felled:
        label = "Report it taken down"
    if action is Action.BRIEF and plan:
        return Link(label, reverse("removals:briefing", args=[plan.pk]))
    return Link(label, reverse(ADDRESSES[action], args=[order.pk]), danger=action is Action.WITHDRAW)


@dataclass(frozen=True)
class Stage:
    """One state on the order's way; ``current``: it stands here; ``on``: when it was reached."""

    state: str
    on: dt.date | None
    who: str = ""
    current: bool = False
    reached: bool = False


def way(order: RemovalOrder) -> tuple[Stage, ...]:
    """The states from the proposal to the end, those reached with their day; the other exits only when they were taken."""
    rows = [
        (OrderState.PROPOSED, order.proposed_on, order.proposed_by),
        (OrderState.APPROVED, order.approved_on, order.approved_by),
        (OrderState.SCHEDULED, order.scheduled_for, order.crew_lead),
        (OrderState.ALREADY_DOWN if order.found_down else OrderState.FELLED, order.felled_on, None),
        (OrderState.CLOSED, order.closed_on, None),
    ]
    if order.state == OrderState.WITHDRAWN:
        rows = [*(row for row in rows[:3] if row[1]), (OrderState.WITHDRAWN, order.withdrawn_on, None)]
    elif order.found_down:
        rows = [row for row in rows if row[1] or row[0] == OrderState.CLOSED]
    return tuple(
        Stage(state, on, str(who.get_full_name() or who) if who else "", state == order.state, on is not None)
        for state, on, who in rows
    )
