"""A tree corrected into another park takes its order and its replacement task along, whoever corrects it."""

import pytest

from inventory.models import Tree
from inventory.record import COMMAND
from inventory.workflow import edit_tree
from tests.factories import ParkFactory, TreeFactory
from tests.removals.builders import Story
from tests.replanting.walk import opened

pytestmark = pytest.mark.django_db


def test_an_open_order_follows_its_tree(cast):
    order = Story(cast).order
    park = ParkFactory()
    edit_tree(by=COMMAND, tree=order.tree, changes={"park": park})
    order.refresh_from_db()
    assert order.park == park


def test_a_replacement_task_follows_the_tree_that_it_replaces():
    task, other = opened(), opened(TreeFactory())
    park = ParkFactory()
    Tree.objects.filter(pk=task.removed_tree_id).update(park=park)
    task.refresh_from_db()
    assert task.park == park
    other.refresh_from_db()
    assert other.park != park
