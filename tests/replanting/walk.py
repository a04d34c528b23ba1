"""The steps of a replacement, taken by the program itself, to bring a task to where a test begins."""

import datetime as dt

from django.db import transaction

from inventory.models import Tree
from inventory.record import COMMAND
from inventory.workflow import mark_removed
from replanting import workflow
from replanting.models import Planting, ReplacementTask, Stock
from tests.factories import TODAY, SpeciesFactory, TreeFactory


@transaction.atomic
def felled(tree: Tree, *, on: dt.date = TODAY) -> ReplacementTask:
    """What a removal does to the tree and its task."""
    mark_removed(by=COMMAND, tree=tree, on=on, why="felled")
    return workflow.open_task(by=COMMAND, tree=tree, on=on)


def opened(tree: Tree | None = None, *, on: dt.date = TODAY) -> ReplacementTask:
    return felled(tree or TreeFactory(), on=on)


def chosen(tree: Tree | None = None, *, task: ReplacementTask | None = None, on: dt.date = TODAY) -> ReplacementTask:
    task = task or opened(tree, on=on)
    return workflow.choose_species(by=COMMAND, task=task, species=SpeciesFactory(), reason="fits the site", on=on)


def ordered(tree: Tree | None = None, *, task: ReplacementTask | None = None, on: dt.date = TODAY) -> ReplacementTask:
    task = chosen(tree, task=task, on=on)
    return workflow.order_stock(by=COMMAND, task=task, stock=Stock.CONTAINER, nursery="Lowfield", on=on)


def planted(tree: Tree | None = None, *, task: ReplacementTask | None = None, on: dt.date = TODAY) -> Planting:
    return workflow.plant(by=COMMAND, task=ordered(tree, task=task, on=on), on=on)
