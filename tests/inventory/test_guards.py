"""What the database itself refuses, whoever writes."""

import pytest
from django.db import IntegrityError, transaction

from inventory.models import AppendOnlyError, RecordEntry, Tree, TreeStatus
from inventory.record import COMMAND, write
from tests.factories import TODAY, ParkFactory, TreeFactory

pytestmark = pytest.mark.django_db


def test_a_removed_tree_has_a_date():
    with pytest.raises(IntegrityError, match="tree_removed_has_date"), transaction.atomic():
        Tree.objects.create(tag="A", park=ParkFactory(), status=TreeStatus.REMOVED)


def test_a_standing_tree_has_no_removal_date():
    with pytest.raises(IntegrityError, match="tree_removed_has_date"), transaction.atomic():
        Tree.objects.create(tag="A", park=ParkFactory(), removed_on=TODAY)


@pytest.mark.parametrize(("lon", "lat"), [(181, 0), (0, 91), (-180.1, 0), (0, -90.1)])
def test_a_position_lies_on_earth(lon, lat):
    with pytest.raises(IntegrityError, match="tree_l"), transaction.atomic():
        Tree.objects.create(tag="A", park=ParkFactory(), lon=lon, lat=lat, cell=1)


def test_half_a_position_is_none():
    with pytest.raises(IntegrityError, match="tree_position_whole"), transaction.atomic():
        Tree.objects.create(tag="A", park=ParkFactory(), lon=1.0)


def test_a_tag_stands_once():
    TreeFactory(tag="A")
    with pytest.raises(IntegrityError), transaction.atomic():
        TreeFactory(tag="A")


def test_the_record_is_not_rewritten():
    entry = write(by=COMMAND, verb="edited", subject=TreeFactory(), summary="x")
    with pytest.raises(AppendOnlyError):
        RecordEntry.objects.all().delete()
    entry.summary = "y"
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        entry.save()


def test_a_removed_tree_needs_its_task_before_the_transaction_ends(transactional_db):
    tree = TreeFactory()
    with pytest.raises(IntegrityError, match="without a replacement task"), transaction.atomic():
        Tree.objects.filter(pk=tree.pk).update(status=TreeStatus.REMOVED, removed_on=TODAY)


def test_a_task_is_not_taken_from_a_removed_tree(transactional_db):
    tree = TreeFactory(removed=True)
    with pytest.raises(IntegrityError, match="without a replacement task"), transaction.atomic():
        tree.replacement_tasks.get().delete()


def test_a_standing_row_comes_with_each_standing_tree_and_goes_with_its_removal():
    tree = TreeFactory()
    assert tree.standing.rating == ""
    TreeFactory(removed=True)
    assert Tree.objects.filter(standing__isnull=False).get() == tree
