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
from replanting.canopy import Plantings
from replanting.crowns import crowns
from replanting.ledger import Ledger, by_park, by_park_and_year, in_all, ledger, unpromised
from replanting.models import Planting, ReplacementTask, Stock
from tests.factories import TODAY, ParkFactory, SpeciesFactory, TreeFactory
from tests.replanting.walk import chosen, felled, opened, ordered, planted

pytestmark = pytest.mark.django_db


def test_an_empty_city_owes_nothing():
    assert ledger(TODAY) == Ledger()


def test_each_state_stands_in_one_column():
    opened(), chosen(), ordered(), planted()
    workflow.establish(by=COMMAND, task=planted().task, on=TODAY)
    workflow.waive(by=COMMAND, task=opened(), reason="no room", on=TODAY)
    assert ledger(TODAY) == Ledger(owed=6, waiting=3, planted=1, established=1, waived=1)


def test_overdue_is_waiting_past_its_day():
    opened(on=dt.date(2025, 6, 1))
    planted(on=dt.date(2025, 6, 1))
    assert ledger(dt.date(2026, 6, 1)).overdue == 0
    assert ledger(dt.date(2026, 6, 2)).overdue == 1


def test_ledgers_of_parks_add_up_to_the_city():
    opened(TreeFactory(park=ParkFactory(code="A")))
    planted(TreeFactory(park=ParkFactory(code="B")))
    assert sum(by_park(TODAY).values(), Ledger()) == ledger(TODAY)


def lines(today=TODAY):
    return {(line.park, line.year): line for line in by_park_and_year(today)}


def test_a_line_for_each_park_and_year_of_removal():
    green, mead = ParkFactory(name="Green"), ParkFactory(name="Mead")
    opened(TreeFactory(park=green), on=dt.date(2025, 3, 1))
    opened(TreeFactory(park=green), on=dt.date(2026, 3, 1))
    planted(TreeFactory(park=mead), on=dt.date(2026, 3, 1))
    found = lines()
    assert list(found) == [("Green", 2025), ("Green", 2026), ("Mead", 2026)]
    assert found["Green", 2025].book == Ledger(owed=1, waiting=1, overdue=1)
    assert found["Mead", 2026].book == Ledger(owed=1, planted=1)


def test_a_promise_is_kept_by_a_living_tree_planted_by_its_day():
    """Kept: planted in time. Late: planted after the day. Overdue counts against it; waived, or not yet due, is neither."""
    due_soon, waived = opened(), opened()
    workflow.waive(by=COMMAND, task=waived, reason="no room", on=TODAY)
    planted()
    opened(on=dt.date(2024, 1, 1))
    late = opened(on=dt.date(2024, 1, 1))
    workflow.choose_species(by=COMMAND, task=late, species=SpeciesFactory(), reason="fits", on=TODAY)
    workflow.plant(by=COMMAND, task=late, on=TODAY, stock=Stock.CONTAINER)
    keeping = in_all(TODAY).keeping
    assert (keeping.kept, keeping.late, keeping.overdue) == (1, 1, 1)
    assert keeping.kept_pct == pytest.approx(100 / 3)
    assert due_soon.due_on > TODAY


def test_a_lost_planting_keeps_no_promise():
    workflow.fail(by=COMMAND, task=planted().task, on=TODAY, reason="drought")
    assert in_all(TODAY).keeping.kept_pct is None


def test_the_median_wait_is_that_of_the_first_plantings():
    """Days 0, 9 and 31: the median is 9, also after a second planting; promises without one are left out."""
    for days in (0, 9, 31):
        task = ordered(on=TODAY - dt.timedelta(100))
        workflow.plant(by=COMMAND, task=task, on=TODAY - dt.timedelta(100 - days))
    workflow.fail(by=COMMAND, task=task, on=TODAY, reason="drought")
    planted(task=task, on=TODAY)
    opened()
    assert in_all(TODAY).keeping.wait_days == 9


def test_nothing_removed_gives_no_line():
    assert by_park_and_year(TODAY) == []
    assert in_all(TODAY).book == Ledger()


def test_the_lines_are_one_query(django_assert_num_queries):
    for _ in range(4):
        planted()
    with django_assert_num_queries(1):
        lines()


def test_what_removals_took_of_the_crowns_and_what_is_planted():
    """Spreads of 20 and 10 m: π/4 · (400 + 100) m². A lost planting stands no more; a taxon without figures is counted apart."""
    figures = {"growth": "fast", "height_min_m": 9, "height_max_m": 12, "spread_min_m": 6, "spread_max_m": 9}
    SpeciesFactory(botanical="Quercus rubra", **figures)
    planted(TreeFactory(crown_spread_m=20), on=TODAY)
    workflow.fail(by=COMMAND, task=planted(TreeFactory(crown_spread_m=10)).task, on=TODAY, reason="drought")
    planted(TreeFactory(crown_spread_m=None))
    Tree.objects.filter(pk=Planting.objects.latest("pk").tree_id).update(
        species=SpeciesFactory(botanical="Nomen nudum")
    )
    found = crowns()
    assert found.taken_m2 == pytest.approx(392.699, abs=1e-3)
    assert (found.unmeasured, found.unfigured) == (1, 1)
    assert found.plantings == (Plantings(2026, 1, "fast", 9, 12, 6, 9),)


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
            book = ledger(TODAY)
            assert book.balances
            assert book == tally(states, failures)
            assert sum((line.book for line in by_park_and_year(TODAY)), Ledger()) == book
            assert not unpromised().exists()
        transaction.set_rollback(True)
