"""The state machine of work other than removal as one table: from each state, what may happen, where it leads, who may.

``None`` stands for a tree without an open order of that kind.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from hazards.models import MitigationState
from inventory.access import Permission


class Action(StrEnum):
    """What may be done to an order; the value reads on in “Order M2026-0001 is done and cannot be …”."""

    PROPOSE = "proposed"
    SCHEDULE = "scheduled"
    REPORT = "reported done"
    WITHDRAW = "withdrawn"


@dataclass(frozen=True, slots=True)
class Step:
    to: MitigationState
    needs: Permission


_S, _A, _P = MitigationState, Action, Permission
_SCHEDULE = Step(_S.SCHEDULED, _P.ORDER_MITIGATION)
_WITHDRAW = Step(_S.WITHDRAWN, _P.ORDER_MITIGATION)

TABLE: Mapping[MitigationState | None, Mapping[Action, Step]] = {
    None: {_A.PROPOSE: Step(_S.PROPOSED, _P.PROPOSE_MITIGATION)},
    _S.PROPOSED: {_A.SCHEDULE: _SCHEDULE, _A.WITHDRAW: _WITHDRAW},
    _S.SCHEDULED: {
        _A.REPORT: Step(_S.DONE, _P.REPORT_MITIGATION),
        _A.SCHEDULE: _SCHEDULE,
        _A.WITHDRAW: _WITHDRAW,
    },
    _S.DONE: {},
    _S.WITHDRAWN: {},
}


def step(state: str | None, action: Action) -> Step | None:
    """The step that ``action`` takes from ``state``; None: not from there."""
    return TABLE[None if state is None else MitigationState(state)].get(action)


def permission(action: Action) -> Permission:
    """What ``action`` asks for, the same from every state."""
    return next(steps[action].needs for steps in TABLE.values() if action in steps)


def refusal(number: str, state: str, action: Action) -> str:
    """Why ``action`` may not happen to that order now, in one sentence that says what would be right."""
    allowed = [each for each, steps in TABLE.items() if each is not None and action in steps]
    if state in {steps[action].to for steps in TABLE.values() if action in steps} and state not in allowed:
        return f"Order {number} is {state} already."
    return f"Order {number} is {state}; only one that is {' or '.join(allowed)} can be {action}."
