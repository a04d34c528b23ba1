"""Two people at the same moment: one acts, the other is told."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection, transaction

from inventory.errors import Refused
from inventory.models import Tree
from inventory.record import COMMAND
from inventory.workflow import mark_removed
from replanting import workflow
from replanting.models import Planting, ReplacementTask, TaskState
from tests.factories import TODAY, SpeciesFactory, TreeFactory
from tests.replanting.walk import felled, opened, ordered, planted

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(*acts):
    """Run each act on its own connection, all let go together; what each gave back, or how it was refused."""
    start = Barrier(len(acts))

    def run(act):
        try:
            start.wait(timeout=10)
            return act()
        except Refused as refused:
            return refused
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(run, acts))


def refusals(results):
    return [str(result) for result in results if isinstance(result, Refused)]


def test_two_planners_choose_for_one_task():
    task = opened()
    oak, maple = SpeciesFactory(botanical="Quercus rubra"), SpeciesFactory(botanical="Acer rubrum")

    def choose(species):
        return lambda: workflow.choose_species(by=COMMAND, task=task, species=species, reason="fits")

    results = at_once(choose(oak), choose(maple))
    (refused,) = refusals(results)
    (kept,) = [result for result in results if not isinstance(result, Refused)]
    assert "species chosen" in refused
    assert ReplacementTask.objects.get().species == kept.species


def test_two_crews_report_one_tree_felled():
    tree = TreeFactory()

    @transaction.atomic
    def report():
        locked = Tree.objects.select_for_update().get(pk=tree.pk)
        if locked.stands:
            mark_removed(by=COMMAND, tree=locked, on=TODAY, why="felled")
        return workflow.open_task(by=COMMAND, tree=locked, on=TODAY)

    assert len(refusals(at_once(report, report))) == 1
    assert ReplacementTask.objects.get().removed_tree == tree


def test_two_gardeners_plant_for_one_task():
    task = ordered()

    def plant():
        return workflow.plant(by=COMMAND, task=task, on=TODAY)

    assert len(refusals(at_once(plant, plant))) == 1
    assert Planting.objects.count() == 1


def test_a_young_tree_is_felled_while_its_failure_is_recorded():
    """Both lock the tree before the task: the second waits and is refused, instead of a deadlock or a second failure."""
    planting = planted()
    at_once(
        lambda: felled_if_standing(planting.tree),
        lambda: workflow.fail(by=COMMAND, task=planting.task, on=TODAY, reason="drought"),
    )
    task = ReplacementTask.objects.get()
    assert (task.state, task.failures) == (TaskState.OPEN, 1)


@transaction.atomic
def felled_if_standing(tree):
    if Tree.objects.select_for_update().get(pk=tree.pk).stands:
        return felled(tree)
    raise Refused("already down")
