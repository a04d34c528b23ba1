"""The table of an order's states: what may follow, and who may."""

import pytest

from inventory.access import ROLE_PERMISSIONS, Role
from removals import states
from removals.models import BEFORE_FELLING, OPEN_STATES, OrderState
from removals.states import TABLE, Action

S, A = OrderState, Action

LEADS_TO = {
    (None, A.PROPOSE): S.PROPOSED,
    (None, A.ALREADY_DOWN): S.ALREADY_DOWN,
    (S.PROPOSED, A.PLAN): S.PROPOSED,
    (S.PROPOSED, A.APPROVE): S.APPROVED,
    (S.PROPOSED, A.WITHDRAW): S.WITHDRAWN,
    (S.PROPOSED, A.ALREADY_DOWN): S.ALREADY_DOWN,
    (S.APPROVED, A.PLAN): S.APPROVED,
    (S.APPROVED, A.SCHEDULE): S.SCHEDULED,
    (S.APPROVED, A.WITHDRAW): S.WITHDRAWN,
    (S.APPROVED, A.ALREADY_DOWN): S.ALREADY_DOWN,
    (S.SCHEDULED, A.PLAN): S.SCHEDULED,
    (S.SCHEDULED, A.BRIEF): S.SCHEDULED,
    (S.SCHEDULED, A.FELL): S.FELLED,
    (S.SCHEDULED, A.SCHEDULE): S.SCHEDULED,
    (S.SCHEDULED, A.WITHDRAW): S.WITHDRAWN,
    (S.SCHEDULED, A.ALREADY_DOWN): S.ALREADY_DOWN,
    (S.FELLED, A.CLOSE): S.CLOSED,
    (S.ALREADY_DOWN, A.CLOSE): S.CLOSED,
}

MAY = {
    Role.INSPECTOR: {A.PROPOSE},
    Role.CREW_LEAD: {A.PLAN, A.BRIEF, A.FELL, A.ALREADY_DOWN},
    Role.MANAGER: {
        A.PROPOSE,
        A.APPROVE,
        A.SCHEDULE,
        A.PLAN,
        A.FELL,
        A.ALREADY_DOWN,
        A.CLOSE,
        A.WITHDRAW,
    },
    Role.PLANNER: set(),
    Role.READER: set(),
    Role.ADMINISTRATOR: set(),
}


@pytest.mark.parametrize("action", Action)
@pytest.mark.parametrize("state", [None, *OrderState])
def test_every_pair_of_state_and_action_is_in_the_table_or_not_possible(state, action):
    step = states.step(state, action)
    assert (step and step.to) == LEADS_TO.get((state, action))


@pytest.mark.parametrize("action", Action)
@pytest.mark.parametrize("role", Role)
def test_who_may(role, action):
    assert (states.permission(action) in ROLE_PERMISSIONS[role]) == (action in MAY[role])


@pytest.mark.parametrize("action", Action)
def test_an_action_asks_for_the_same_permission_from_every_state(action):
    assert len({steps[action].needs for steps in TABLE.values() if action in steps}) == 1


def test_a_tree_that_fell_by_itself_has_an_exit_from_every_state_before_felling():
    assert set(states.states_for(A.ALREADY_DOWN)) == set(BEFORE_FELLING)


def test_only_an_open_order_moves():
    assert {state for state, steps in TABLE.items() if steps} == {None, *OPEN_STATES}


def test_a_refusal_names_the_order_its_state_and_what_would_be_right():
    assert states.refusal("2026-0007", S.PROPOSED, A.FELL) == (
        "Order 2026-0007 is proposed; only one that is scheduled can be felled."
    )


def test_a_second_report_hears_that_it_is_done():
    assert states.refusal("2026-0007", S.FELLED, A.FELL) == "Order 2026-0007 is felled already."
