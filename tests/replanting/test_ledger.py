"""The ledger balances after any history, and agrees with a tally kept beside it."""

import datetime as dt
from collections import Counter

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.models import Tree, TreeStatus
from inventory.record import COMMAND
from replanting import workflow
from replanting.ledger import Ledger, by_park, ledger, unpromised
from replanting.models import ReplacementTask, Stock
from tests.factories import TODAY, ParkFactory, SpeciesFactory, TreeFactory
from tests.replanting.walk import chosen, felled, opened, ordered, planted

pytestmark = pytest.mark.django_db
ALL = ReplacementTask.objects.all


def test_an_empty_city_owes_nothing():
    assert ledger(ALL(), TODAY) == Ledger()


def test_each_state_stands_in_one_column():
    opened(), chosen(), ordered(), planted()
    workflow.establish(by=COMMAND, task=planted().task, on=TODAY)
    workflow.waive(by=COMMAND, task=opened(), reason="no room", on=TODAY)
    assert ledger(ALL(), TODAY) == Ledger(owed=6, waiting=3, planted=1, established=1, waived=1)


def test_overdue_is_waiting_past_its_day():
    opened(on=dt.date(2025, 6, 1))
    planted(on=dt.date(2025, 6, 1))
    assert ledger(ALL(), dt.date(2026, 6, 1)).overdue == 0
    assert ledger(ALL(), dt.date(2026, 6, 2)).overdue == 1


def test_ledgers_of_parks_add_up_to_the_city():
    opened(TreeFactory(park=ParkFactory(code="A")))
    planted(TreeFactory(park=ParkFactory(code="B")))
    assert sum(by_park(TODAY).values(), Ledger()) == ledger(ALL(), TODAY)


def test_a_missing_task_is_found():
    """Seen before the transaction ends, where the database would refuse it."""
    tree = TreeFactory()
    with transaction.atomic():
        Tree.objects.filter(pk=tree.pk).update(status=TreeStatus.REMOVED, removed_on=TODAY)
        assert unpromised().get() == tree
        transaction.set_rollback(True)


STEPS = (
    "open",
    "choose",
    "set aside",
    "order",
    "plant",
    "fail",
    "establish",
    "waive",
    "fell the young",
    "fell the established",
)
MOVES = {
    "choose": ("open", "chosen"),
    "set aside": ("chosen", "open"),
    "order": ("chosen", "ordered"),
    "plant": ("ordered", "planted"),
    "fail": ("planted", "open"),
    "fell the young": ("planted", "open"),
    "establish": ("planted", "established"),
    "waive": ("open", "waived"),
}
COLUMN = {"open": "waiting", "chosen": "waiting", "ordered": "waiting"}


def take(step: str, task: ReplacementTask) -> None:
    oak = SpeciesFactory()
    match step:
        case "choose":
            workflow.choose_species(by=COMMAND, task=task, species=oak, reason="fits", on=TODAY)
        case "set aside":
            workflow.set_aside(by=COMMAND, task=task, on=TODAY, reason="out of stock")
        case "order":
            workflow.order_stock(by=COMMAND, task=task, stock=Stock.CONTAINER, nursery="Lowfield", on=TODAY)
        case "plant":
            workflow.plant(by=COMMAND, task=task, on=TODAY)
        case "fail":
            workflow.fail(by=COMMAND, task=task, on=TODAY, reason="drought")
        case "establish":
            workflow.establish(by=COMMAND, task=task, on=TODAY)
        case "waive":
            workflow.waive(by=COMMAND, task=task, reason="no room", on=TODAY)
        case "fell the young":
            felled(task.plantings.get(failed_on__isnull=True).tree)


def tally(states: dict[int, str], failures: int) -> Ledger:
    columns = Counter(COLUMN.get(state, state) for state in states.values())
    return Ledger(owed=len(states), failures=failures, **columns)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(history=st.lists(st.tuples(st.sampled_from(STEPS), st.integers(0, 20)), max_size=14))
def test_the_ledger_balances_at_every_step_of_any_history(history):
    """``states`` is the plain-minded bookkeeping: a task number and where it is."""
    with transaction.atomic():
        states: dict[int, str] = {}
        failures = 0
        for step, pick in history:
            if step == "open":
                states[opened().pk] = "open"
            elif step == "fell the established":
                if grown := [pk for pk, state in states.items() if state == "established"]:
                    tree = ReplacementTask.objects.get(pk=grown[pick % len(grown)]).plantings.latest("pk").tree
                    if tree.stands:
                        states[felled(tree).pk] = "open"
            elif ready := [pk for pk, state in states.items() if state == MOVES[step][0]]:
                pk = ready[pick % len(ready)]
                take(step, ReplacementTask.objects.get(pk=pk))
                states[pk] = MOVES[step][1]
                failures += MOVES[step] == ("planted", "open")
            book = ledger(ALL(), TODAY)
            assert book.balances
            assert book == tally(states, failures)
            assert not unpromised().exists()
        transaction.set_rollback(True)
