"""Every change to a removal order: one function, one transaction, one entry in the record.

The table in `removals.states` says what may follow and who may; each function here refuses the rest with a sentence.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from hazards.mitigation import withdraw_with_tree
from hazards.models import Standing
from inventory.access import Permission, allowed
from inventory.errors import Refused
from inventory.models import Tree
from inventory.record import Actor
from inventory.workflow import mark_removed
from removals import kept_plan, states
from removals.felling_input import FellingInput
from removals.models import (
    FellingPlan,
    OrderState,
    RemovalOrder,
)
from removals.order_place import with_place
from removals.outcome import Went
from removals.outcome_work import keep_outcome, plan_worked_by
from removals.readiness import hanging, hanging_words, scheduling_gaps, worked_as
from removals.site_work import after_gap, open_stage
from removals.states import Action
from removals.steps import day_words, moment, name_of, past, permit, record_step, said, saved, short, taken
from removals.work_items import Stage
from replanting.owing import fix_owed
from replanting.workflow import open_task

OUTCOME_MOST = 400
"""Characters of an outcome, with the method before it when the tree was not felled."""


@transaction.atomic
def propose(*, by: Actor, tree: Tree, reason: str, on: dt.date | None = None) -> RemovalOrder:
    """Propose the removal of a standing tree; rating and due date are those of its standing today."""
    permit(by, states.permission(Action.PROPOSE))
    tree = Tree.objects.select_for_update().get(pk=tree.pk)
    _refuse_second_order(tree)
    standing = Standing.objects.filter(tree=tree).first()
    order = RemovalOrder(
        tree=tree,
        park_id=tree.park_id,
        reason=said(reason, "Say why the tree has to come down."),
        rating=standing.rating if standing else "",
        due_on=standing.work_due if standing else None,
        proposed_on=past(on),
        proposed_by=by.user,
    )
    return saved(order, Action.PROPOSE, by=by, summary=f"Proposed the removal of {tree.tag}: {order.reason}")


@transaction.atomic
def approve(*, by: Actor, order: RemovalOrder, on: dt.date | None = None) -> RemovalOrder:
    order = taken(order, Action.APPROVE, by)
    order.approved_on, order.approved_by = past(on, since=order.proposed_on), by.user
    open_stage(order, Stage.BEFORE)
    return saved(order, Action.APPROVE, by=by, summary="Approved.")


@transaction.atomic
def schedule(
    *, by: Actor, order: RemovalOrder, scheduled_for: dt.date, crew_lead: User, on: dt.date | None = None
) -> RemovalOrder:
    """Give the work a day and a crew lead, or another day or lead. ``on``: the day this was decided.

    Waits for the work before the felling; a crew that is named already must be one that may do the work on that day.
    """
    order = taken(order, Action.SCHEDULE, by)
    decided = past(on, since=order.approved_on)
    if scheduled_for < decided:
        raise Refused(f"{day_words(scheduled_for)} has passed; schedule the felling for {day_words(decided)} or later.")
    if not allowed(crew_lead, Permission.BRIEF_CREW):
        raise Refused(f"{name_of(crew_lead)} is no crew lead; name somebody who may hold the job briefing.")
    gaps = scheduling_gaps(order, scheduled_for)
    if gaps:
        raise Refused(gaps[0])
    order.scheduled_for, order.crew_lead = scheduled_for, crew_lead
    return saved(
        order,
        Action.SCHEDULE,
        by=by,
        summary=f"Scheduled for {day_words(scheduled_for)}, crew lead {name_of(crew_lead)}.",
    )


@transaction.atomic
def make_plan(
    *,
    by: Actor,
    order: RemovalOrder,
    inputs: FellingInput,
    assumptions: Sequence[str] = (),
    entered: Mapping[str, Any] | None = None,
    at: dt.datetime | None = None,
) -> FellingPlan:
    """Compute a felling plan and keep it as computed. It takes the place of an earlier plan and voids its briefings.

    ``assumptions``: sentences on what was assumed, not measured; ``entered``: the measurements as somebody gave them (for
    instance which point of the tree was plumbed). The place of the order goes into the plan, so that a lay is refused for
    what stands in its swath. A plan outside the method is kept too, with its reasons.
    """
    order = taken(order, Action.PLAN, by)
    inputs, unknown = with_place(order, inputs)
    kept = kept_plan.computed(inputs, (*assumptions, *unknown), entered or {})
    plan = FellingPlan.objects.create(
        order=order,
        inputs=kept.inputs,
        results=kept.results,
        assumptions=kept.assumptions,
        verdict=kept.results["verdict"],
        method_version=kept.results["method_version"],
        digest=kept.digest,
        made_by=by.user,
        made_at=moment(at),
    )
    summary = f"Felling plan made: {plan.verdict}."
    record_step(order, Action.PLAN, by=by, summary=summary, plan=plan.pk, digest=plan.digest)
    return plan


@transaction.atomic
def fell(
    *,
    by: Actor,
    order: RemovalOrder,
    on: dt.date,
    outcome: str,
    plan_digest: str = "",
    went: Went | None = None,
) -> RemovalOrder:
    """The tree is down: it leaves the inventory's standing trees and the ranking, and its replacement task opens.

    Needs a plan that holds, or another method than felling that was chosen on that plan, and a whole, signed briefing of
    both on that day. Of two crews, one wins. ``plan_digest``: of the plan that the reporting page showed; an older one that
    was briefed is kept and raises an alarm. ``went``: what was seen and measured.
    """
    order = taken(order, Action.FELL, by)
    plan = plan_worked_by(order, past(on, since=order.approved_on), plan_digest)
    down = worked_as(plan)
    how = "felled" if down.felled else down.method
    before = "" if down.felled else f"{how.capitalize()}: "
    told = said(outcome, "Say how the felling went.", OUTCOME_MOST - len(before))
    order.outcome = f"{before}{told}"
    summary = f"{how.capitalize()} on {day_words(on)}: {told}"
    felled = _down(order, Action.FELL, by=by, on=on, why=how, summary=summary)
    keep_outcome(by=by, order=felled, plan=plan, went=went or Went(), down=down)
    return felled


@transaction.atomic
def already_down(*, by: Actor, order_or_tree: RemovalOrder | Tree, on: dt.date, cause: str) -> RemovalOrder:
    """A tree that storm, vehicle or utility brought down: an exit without plan or briefing; its task opens all the same."""
    cause = said(cause, "Say what brought the tree down.")
    order = _order_for_fallen(by, order_or_tree, past(on), cause)
    _refuse_hanging(order)
    order.outcome, order.found_down = cause, True
    return _down(
        order,
        Action.ALREADY_DOWN,
        by=by,
        on=on,
        why=f"found down, {cause}",
        summary=f"Found down on {day_words(on)}: {cause}",
    )


@transaction.atomic
def close(
    *,
    by: Actor,
    order: RemovalOrder,
    on: dt.date | None = None,
    dead: bool | None = None,
    diseased: bool = False,
) -> RemovalOrder:
    """Stump, clean-up and reading are done or waived by name, and with them the paperwork; the number owed is fixed.

    ``dead``, ``diseased``: what the tree was before it came down, where the city counts such trees apart; None: as stored.
    """
    order = taken(order, Action.CLOSE, by)
    still_open = after_gap(order)
    if still_open:
        raise Refused(still_open)
    order.closed_on = past(on, since=order.felled_on)
    closed = saved(order, Action.CLOSE, by=by, summary="Closed: stump, clean-up and reading are settled.")
    fix_owed(by=by, tree=order.tree, on=order.closed_on, dead=dead, diseased=diseased)
    return closed


@transaction.atomic
def withdraw(*, by: Actor, order: RemovalOrder, reason: str, on: dt.date | None = None) -> RemovalOrder:
    """The tree stays; the order ends with its reason."""
    order = taken(order, Action.WITHDRAW, by)
    _refuse_hanging(order)
    order.withdrawn_reason = said(reason, "Say why the order is withdrawn.", 300)
    order.withdrawn_on = past(on, since=order.proposed_on)
    return saved(order, Action.WITHDRAW, by=by, summary=f"Withdrawn: {order.withdrawn_reason}")


# ---- What the functions above share ----------------------------------------------------------------------------------


def _down(order: RemovalOrder, action: Action, *, by: Actor, on: dt.date, why: str, summary: str) -> RemovalOrder:
    """The one place where a tree goes: order, tree and task in the caller's transaction, the order locked before."""
    tree = Tree.objects.select_for_update().get(pk=order.tree_id)
    if not tree.stands:
        raise Refused(f"{tree.tag} was removed on {day_words(tree.removed_on)} already.")
    order.felled_on = on
    saved(order, action, by=by, summary=summary)
    open_stage(order, Stage.AFTER)
    mark_removed(by=by, tree=tree, on=on, why=short(why, 250), died=order.found_down)
    withdraw_with_tree(by=by, tree=tree, on=on)
    open_task(by=by, tree=tree, on=on)
    order.tree = tree
    return order


def _order_for_fallen(by: Actor, order_or_tree: RemovalOrder | Tree, on: dt.date, cause: str) -> RemovalOrder:
    """The order that ends with the fallen tree: the one given, the tree's open one, or a new one not yet saved."""
    if isinstance(order_or_tree, RemovalOrder):
        return taken(order_or_tree, Action.ALREADY_DOWN, by)
    waiting = RemovalOrder.objects.before_felling().filter(tree=order_or_tree).first()
    if waiting:
        return taken(waiting, Action.ALREADY_DOWN, by)
    permit(by, states.permission(Action.ALREADY_DOWN))
    tree = Tree.objects.select_for_update().get(pk=order_or_tree.pk)
    _refuse_second_order(tree)
    return RemovalOrder(
        tree=tree,
        park_id=tree.park_id,
        reason=cause,
        proposed_on=on,
        proposed_by=by.user,
        state=OrderState.ALREADY_DOWN,
    )


def _refuse_second_order(tree: Tree) -> None:
    if not tree.stands:
        raise Refused(f"{tree.tag} was removed on {day_words(tree.removed_on)}; nothing is left to take down.")
    order = RemovalOrder.objects.open().filter(tree=tree).first()
    if order:
        raise Refused(f"{tree.tag} has an open order already, {order.number} ({order.state}): go on with that one.")


def _refuse_hanging(order: RemovalOrder) -> None:
    lodged = hanging(order) if order.pk else None
    if lodged:
        raise Refused(hanging_words(lodged))
