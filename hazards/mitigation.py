"""Every change to an order for work other than removal: one function, one transaction, one entry in the record.

The tree's row is locked first, then the order's, so that work on one tree is taken one step after the other. Work that is
done lowers no rating: it asks for the look that does.
"""

from __future__ import annotations

import datetime as dt

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from hazards import states
from hazards.asked import ask_look
from hazards.city_policy import current
from hazards.matrix import Failure, Rating
from hazards.models import Assessment, InspectionLevel, MitigationKind, MitigationOrder, MitigationState, Standing
from hazards.policy import work_due
from hazards.states import Action
from inventory import record
from inventory.access import Permission, allowed
from inventory.errors import Refused
from inventory.models import Tree
from inventory.record import Actor
from inventory.steps import day_words, name_of, past, permit, said, short

HOURS_MAX = 2000.0


@transaction.atomic
def propose(
    *,
    by: Actor,
    tree: Tree,
    kind: str,
    reason: str,
    assessment: Assessment | None = None,
    estimated_hours: float | None = None,
    on: dt.date | None = None,
) -> MitigationOrder:
    """Propose work on a standing tree. Rating and due day are those of ``assessment``, else of its standing today."""
    permit(by, states.permission(Action.PROPOSE))
    tree = Tree.objects.select_for_update(of=("self",)).get(pk=tree.pk)
    if not tree.stands:
        raise Refused(f"{tree.tag} was removed on {day_words(tree.removed_on)}; nothing is left to work on.")
    kind = _known(kind)
    _refuse_second(tree, kind)
    rating, due_on = _asked_by(tree, assessment)
    order = MitigationOrder(
        tree=tree,
        park_id=tree.park_id,
        kind=kind,
        assessment=assessment,
        reason=said(reason, "Say what is to be done, and why."),
        rating=rating,
        due_on=due_on,
        estimated_hours=_hours(estimated_hours),
        proposed_on=past(on),
        proposed_by=by.user,
    )
    return _saved(order, Action.PROPOSE, by, f"Proposed to {order.kind}: {order.reason}")


@transaction.atomic
def schedule(
    *,
    by: Actor,
    order: MitigationOrder,
    scheduled_for: dt.date,
    assigned_to: User,
    estimated_hours: float | None = None,
    on: dt.date | None = None,
) -> MitigationOrder:
    """Give the work a day and somebody who sees to it, or another day or person. ``on``: the day this was decided."""
    order = _taken(order, Action.SCHEDULE, by)
    if not order.tree.stands:
        raise Refused(
            f"{order.tree.tag} was removed on {day_words(order.tree.removed_on)}; withdraw the order instead."
        )
    decided = past(on, since=order.proposed_on)
    if scheduled_for < decided:
        raise Refused(f"{day_words(scheduled_for)} has passed; schedule the work for {day_words(decided)} or later.")
    if not allowed(assigned_to, Permission.REPORT_MITIGATION):
        raise Refused(f"{name_of(assigned_to)} may not report such work done; name a crew lead, inspector or manager.")
    order.scheduled_for, order.assigned_to = scheduled_for, assigned_to
    if estimated_hours is not None:
        order.estimated_hours = _hours(estimated_hours)
    summary = f"Scheduled to {order.kind} on {day_words(scheduled_for)}, {name_of(assigned_to)}."
    return _saved(order, Action.SCHEDULE, by, summary)


@transaction.atomic
def report_done(
    *, by: Actor, order: MitigationOrder, on: dt.date, outcome: str, actual_hours: float | None = None
) -> MitigationOrder:
    """The work is done. The rating stays as it is, and the look that rates the tree anew falls due by the policy."""
    order = _taken(order, Action.REPORT, by)
    order.done_on, order.done_by = past(on, since=order.proposed_on), by.user
    order.outcome = said(outcome, "Say how the work went and what was done.")
    order.actual_hours = _hours(actual_hours)
    _saved(order, Action.REPORT, by, f"Done on {day_words(on)} ({order.kind}): {order.outcome}")
    if order.tree.stands:
        _ask_new_rating(by, order)
    return order


@transaction.atomic
def withdraw(*, by: Actor, order: MitigationOrder, reason: str, on: dt.date | None = None) -> MitigationOrder:
    """The work is not done; the order ends with its reason."""
    order = _taken(order, Action.WITHDRAW, by)
    order.withdrawn_reason = said(reason, "Say why the order is withdrawn.", 300)
    order.withdrawn_on = past(on, since=order.proposed_on)
    return _saved(order, Action.WITHDRAW, by, f"Withdrawn: {order.withdrawn_reason}")


def withdraw_with_tree(*, by: Actor, tree: Tree, on: dt.date) -> int:
    """The tree is gone, and its open orders end with it; how many. Call inside the transaction that removes the tree."""
    waiting = list(MitigationOrder.objects.open().filter(tree=tree).select_for_update(of=("self",)))
    for order in waiting:
        order.state = MitigationState.WITHDRAWN
        order.withdrawn_on = max(on, order.proposed_on)
        order.withdrawn_reason = "The tree was removed."
        _saved(order, Action.WITHDRAW, by, f"Withdrawn: {order.withdrawn_reason}")
    return len(waiting)


# ---- What the functions above share ----------------------------------------------------------------------------------


def _known(kind: str) -> str:
    if kind not in MitigationKind.values:
        raise Refused(
            f"“{kind}” is not work that can be ordered here; it is one of {', '.join(MitigationKind.values)}."
        )
    return kind


def _refuse_second(tree: Tree, kind: str) -> None:
    waiting = MitigationOrder.objects.open().filter(tree=tree, kind=kind).first()
    if waiting:
        raise Refused(
            f"{tree.tag} has an open order to {kind} already, {waiting.number} ({waiting.state}): go on with it."
        )


def _asked_by(tree: Tree, assessment: Assessment | None) -> tuple[str, dt.date | None]:
    """Rating and due day, which runs from the day of the observation, whenever the order is made."""
    if assessment is None:
        standing = Standing.objects.filter(tree=tree).first()
        return (standing.rating, standing.work_due) if standing else ("", None)
    if assessment.inspection.tree_id != tree.pk:
        raise Refused("The finding is one of another tree; propose the work on the tree that it was made on.")
    observed_on = timezone.localtime(assessment.inspection.observed_at).date()
    imminent = assessment.failure == Failure.IMMINENT.value
    due = work_due(Rating(assessment.rating), imminent=imminent, observed_on=observed_on, policy=current())
    return assessment.rating, due


def _hours(hours: float | None) -> float | None:
    if hours is not None and not 0 <= hours <= HOURS_MAX:
        raise Refused(f"{hours:g} crew hours are out of bounds; give 0 to {HOURS_MAX:g}.")
    return hours


def _taken(order: MitigationOrder, action: Action, by: Actor) -> MitigationOrder:
    """The order's locked row, moved on by ``action`` if the table allows it and ``by`` may; not yet saved."""
    tree = Tree.objects.select_for_update(of=("self",)).get(pk=order.tree_id)
    order = MitigationOrder.objects.select_for_update(of=("self",)).get(pk=order.pk)
    order.tree = tree
    permit(by, states.permission(action))
    step = states.step(order.state, action)
    if step is None:
        raise Refused(states.refusal(order.number, order.state, action))
    order.state = step.to
    return order


def _saved(order: MitigationOrder, action: Action, by: Actor, summary: str) -> MitigationOrder:
    order.save()
    record.write(by=by, verb=action.value, subject=order, tree=order.tree, summary=short(summary, 300))
    return order


def _ask_new_rating(by: Actor, order: MitigationOrder) -> None:
    """After an advanced assessment its own inspection meets the look; after other work only one that saw it done."""
    assert order.done_on is not None  # noqa: S101 - for the type checker
    advanced = order.kind == MitigationKind.ADVANCED
    ask_look(
        by=by,
        tree=order.tree,
        due_on=order.done_on + dt.timedelta(days=current().rerating_days),
        why=f"To rate it anew after order {order.number}, {order.kind}",
        level=InspectionLevel.ADVANCED if advanced else InspectionLevel.BASIC,
        since=_midnight(order.proposed_on) if advanced else _seen_done(order.done_on),
    )


def _seen_done(on: dt.date) -> dt.datetime:
    """From when on a look shows the work done: now, or for an earlier day the end of that day."""
    return min(timezone.now(), _midnight(on + dt.timedelta(days=1)))


def _midnight(on: dt.date) -> dt.datetime:
    return timezone.make_aware(dt.datetime.combine(on, dt.time()))
