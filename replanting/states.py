"""The life of a replacement as one table: from a state, by an action, to the next state, and who may take it there."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from inventory.access import Permission
from inventory.errors import Refused
from replanting.models import TaskState


class Action(Enum):
    """What can happen to a replacement; the value reads after “it can” and names the button."""

    CHOOSE_SPECIES = "choose the species"
    ORDER = "order stock"
    PLANT = "plant"
    SET_ASIDE = "set the choice aside"
    VISIT = "record a care visit"
    ESTABLISH = "declare it established"
    FAIL = "record that it failed"
    WAIVE = "waive it"
    MOVE = "move it to another site"
    SPLIT = "split it"
    MERGE = "merge it with another"
    PUT_OBSTACLE = "say what stands in the way"
    FIX = "fix the number owed"


@dataclass(frozen=True)
class Step:
    """Where an action leads, and the permission that it asks for."""

    to: TaskState
    permission: Permission


_S, _A, _P = TaskState, Action, Permission


def _while_it_waits(state: TaskState) -> dict[Action, Step]:
    return {
        **{action: Step(state, _P.REPLANT) for action in (_A.PUT_OBSTACLE, _A.MOVE, _A.SPLIT, _A.MERGE, _A.FIX)},
        _A.WAIVE: Step(_S.WAIVED, _P.WAIVE_REPLANTING),
    }


STEPS: dict[TaskState, dict[Action, Step]] = {
    _S.OPEN: {
        _A.CHOOSE_SPECIES: Step(_S.SPECIES_CHOSEN, _P.REPLANT),
        **_while_it_waits(_S.OPEN),
    },
    _S.SPECIES_CHOSEN: {
        _A.ORDER: Step(_S.ORDERED, _P.REPLANT),
        # Stock on hand needs no order.
        _A.PLANT: Step(_S.PLANTED, _P.REPLANT),
        _A.SET_ASIDE: Step(_S.OPEN, _P.REPLANT),
        **_while_it_waits(_S.SPECIES_CHOSEN),
    },
    _S.ORDERED: {
        _A.PLANT: Step(_S.PLANTED, _P.REPLANT),
        _A.SET_ASIDE: Step(_S.OPEN, _P.REPLANT),
        **_while_it_waits(_S.ORDERED),
    },
    _S.PLANTED: {
        _A.VISIT: Step(_S.PLANTED, _P.CARE),
        _A.ESTABLISH: Step(_S.ESTABLISHED, _P.REPLANT),
        _A.FAIL: Step(_S.OPEN, _P.REPLANT),
        _A.FIX: Step(_S.PLANTED, _P.REPLANT),
    },
    _S.ESTABLISHED: {_A.FIX: Step(_S.ESTABLISHED, _P.REPLANT)},
    _S.WAIVED: {},
    _S.MERGED: {},
}


def step(state: str, action: Action) -> Step:
    """The step that ``action`` takes from ``state``; Refused with a sentence when the table has none."""
    steps = STEPS[TaskState(state)]
    if found := steps.get(action):
        return found
    possible = ", ".join(possible_action.value for possible_action in steps) or "nothing more"
    raise Refused(f"This replacement is “{state}”: one cannot {action.value} now; what can be done is: {possible}.")


def open_to(state: str, granted: frozenset[Permission]) -> tuple[Action, ...]:
    """What may happen next, for somebody with these permissions."""
    return tuple(action for action, found in STEPS[TaskState(state)].items() if found.permission in granted)
