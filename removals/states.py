"""The removal order's state machine as one table: from each state, what may happen, what it leads to, and who may.

``None`` stands for a tree without an open order. An action that keeps the state (planning, briefing) stands in the table
too, so that the table alone answers what may happen to an order.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from inventory.access import Permission
from removals.models import OrderState


class Action(StrEnum):
    """What may be done to an order; the value reads on in “Order 2026-0001 is closed and cannot be …”."""

    PROPOSE = "proposed"
    APPROVE = "approved"
    SCHEDULE = "scheduled"
    PLAN = "planned"
    BRIEF = "briefed"
    FELL = "felled"
    ALREADY_DOWN = "reported already down"
    CLOSE = "closed"
    WITHDRAW = "withdrawn"


@dataclass(frozen=True, slots=True)
class Step:
    to: OrderState
    needs: Permission


_S, _A, _P = OrderState, Action, Permission
_SCHEDULE = Step(_S.SCHEDULED, _P.SCHEDULE_REMOVAL)
_WITHDRAW = Step(_S.WITHDRAWN, _P.APPROVE_REMOVAL)
_FOUND_DOWN = Step(_S.ALREADY_DOWN, _P.FELL)
_CLOSE = Step(_S.CLOSED, _P.CLOSE_REMOVAL)

TABLE: Mapping[OrderState | None, Mapping[Action, Step]] = {
    None: {_A.PROPOSE: Step(_S.PROPOSED, _P.PROPOSE_REMOVAL), _A.ALREADY_DOWN: _FOUND_DOWN},
    _S.PROPOSED: {
        _A.PLAN: Step(_S.PROPOSED, _P.PLAN_FELLING),
        _A.APPROVE: Step(_S.APPROVED, _P.APPROVE_REMOVAL),
        _A.WITHDRAW: _WITHDRAW,
        _A.ALREADY_DOWN: _FOUND_DOWN,
    },
    _S.APPROVED: {
        _A.PLAN: Step(_S.APPROVED, _P.PLAN_FELLING),
        _A.SCHEDULE: _SCHEDULE,
        _A.WITHDRAW: _WITHDRAW,
        _A.ALREADY_DOWN: _FOUND_DOWN,
    },
    _S.SCHEDULED: {
        _A.PLAN: Step(_S.SCHEDULED, _P.PLAN_FELLING),
        _A.BRIEF: Step(_S.SCHEDULED, _P.BRIEF_CREW),
        _A.FELL: Step(_S.FELLED, _P.FELL),
        _A.SCHEDULE: _SCHEDULE,
        _A.WITHDRAW: _WITHDRAW,
        _A.ALREADY_DOWN: _FOUND_DOWN,
    },
    _S.FELLED: {_A.CLOSE: _CLOSE},
    _S.ALREADY_DOWN: {_A.CLOSE: _CLOSE},
    _S.CLOSED: {},
    _S.WITHDRAWN: {},
}


def step(state: str | None, action: Action) -> Step | None:
    """The step that ``action`` takes from ``state``; None: not from there."""
    return TABLE[None if state is None else OrderState(state)].get(action)


def states_for(action: Action) -> tuple[OrderState, ...]:
    """The states from which ``action`` may happen."""
    return tuple(state for state, steps in TABLE.items() if state is not None and action in steps)


def permission(action: Action) -> Permission:
    """What ``action`` asks for, the same from every state."""
    return next(steps[action].needs for steps in TABLE.values() if action in steps)


def refusal(number: str, state: str, action: Action) -> str:
    """Why ``action`` may not happen to that order now, in one sentence that says what would be right."""
    allowed = states_for(action)
    results = {steps[action].to for steps in TABLE.values() if action in steps}
    if state in results and state not in allowed:
        return f"Order {number} is {state} already."
    return f"Order {number} is {state}; only one that is {' or '.join(allowed)} can be {action}."
