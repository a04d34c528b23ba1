"""What every change to an order shares: the locked row moved on by the table, and the entry in the record.

Who may, words and days are the ground floor's and are handed on from here.
"""

from __future__ import annotations

from typing import Any

from inventory import record
from inventory.errors import Refused
from inventory.record import Actor
from inventory.steps import day_words, moment, name_of, past, permit, said, short
from removals import states
from removals.models import RemovalOrder
from removals.states import Action

__all__ = ["day_words", "moment", "name_of", "past", "permit", "record_step", "said", "saved", "short", "taken"]


def taken(order: RemovalOrder, action: Action, by: Actor) -> RemovalOrder:
    """The order's locked row, moved on by ``action`` if the table allows it and ``by`` may; not yet saved."""
    order = RemovalOrder.objects.select_for_update().get(pk=order.pk)
    permit(by, states.permission(action))
    step = states.step(order.state, action)
    if step is None:
        raise Refused(states.refusal(order.number, order.state, action))
    order.state = step.to
    return order


def saved(order: RemovalOrder, action: Action, *, by: Actor, summary: str) -> RemovalOrder:
    order.save()
    record_step(order, action, by=by, summary=summary)
    return order


def record_step(order: RemovalOrder, action: Action, *, by: Actor, summary: str, **data: Any) -> None:
    record.write(by=by, verb=action.value, subject=order, tree=order.tree, summary=short(summary, 300), **data)
