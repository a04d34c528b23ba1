"""The table of a replacement's life, read as a table."""

import pytest

from inventory.access import ROLE_PERMISSIONS, Permission, Role
from inventory.errors import Refused
from replanting.models import TaskState
from replanting.states import STEPS, Action, open_to, step

S, A = TaskState, Action
ALLOWED = {
    (S.OPEN, A.CHOOSE_SPECIES): S.SPECIES_CHOSEN,
    (S.OPEN, A.WAIVE): S.WAIVED,
    (S.SPECIES_CHOSEN, A.ORDER): S.ORDERED,
    (S.SPECIES_CHOSEN, A.PLANT): S.PLANTED,
    (S.SPECIES_CHOSEN, A.SET_ASIDE): S.OPEN,
    (S.SPECIES_CHOSEN, A.WAIVE): S.WAIVED,
    (S.ORDERED, A.PLANT): S.PLANTED,
    (S.ORDERED, A.SET_ASIDE): S.OPEN,
    (S.ORDERED, A.WAIVE): S.WAIVED,
    (S.PLANTED, A.VISIT): S.PLANTED,
    (S.PLANTED, A.ESTABLISH): S.ESTABLISHED,
    (S.PLANTED, A.FAIL): S.OPEN,
    (S.PLANTED, A.FIX): S.PLANTED,
    (S.ESTABLISHED, A.FIX): S.ESTABLISHED,
}
for waiting in (S.OPEN, S.SPECIES_CHOSEN, S.ORDERED):
    ALLOWED |= {(waiting, action): waiting for action in (A.PUT_OBSTACLE, A.MOVE, A.SPLIT, A.MERGE, A.FIX)}


@pytest.mark.parametrize("action", Action)
@pytest.mark.parametrize("state", TaskState)
def test_every_pair_of_state_and_action(state, action):
    if to := ALLOWED.get((state, action)):
        assert step(state, action).to == to
        return
    with pytest.raises(Refused, match=f"“{state.value}”: one cannot {action.value} now"):
        step(state, action)


def test_a_refusal_says_what_can_be_done():
    with pytest.raises(Refused, match=r"what can be done is: choose the species, .*, waive it"):
        step(TaskState.OPEN, Action.PLANT)


def test_every_state_can_be_reached_from_open():
    reached, found = set(), {TaskState.OPEN}
    while found != reached:
        reached = set(found)
        found |= {taken.to for state in reached for taken in STEPS[state].values()}
    # What was merged into another ends beside the table, by the task that took it.
    assert reached == set(TaskState) - {TaskState.MERGED}


def test_nothing_follows_a_waived_or_merged_promise():
    assert STEPS[TaskState.WAIVED] == STEPS[TaskState.MERGED] == {}


def test_of_a_kept_promise_only_the_number_owed_may_still_be_fixed():
    assert list(STEPS[TaskState.ESTABLISHED]) == [A.FIX]


def test_every_action_is_open_to_some_role():
    granted = frozenset[Permission]().union(*ROLE_PERMISSIONS.values())
    assert {action for state in TaskState for action in open_to(state, granted)} == set(Action)


def test_a_reader_is_offered_nothing():
    assert not any(open_to(state, ROLE_PERMISSIONS[Role.READER]) for state in TaskState)


def test_a_crew_lead_is_offered_the_care_visit_alone():
    assert open_to(TaskState.PLANTED, ROLE_PERMISSIONS[Role.CREW_LEAD]) == (Action.VISIT,)
