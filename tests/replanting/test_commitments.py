"""``check_commitments``: is every removed tree promised back?"""

from io import StringIO

import pytest
from django.core.management import call_command
from django.db import transaction

from inventory.models import Tree, TreeStatus
from inventory.record import COMMAND
from replanting import workflow
from tests.factories import TODAY, ParkFactory, TreeFactory
from tests.replanting.walk import opened, planted

pytestmark = pytest.mark.django_db


def check() -> str:
    out = StringIO()
    call_command("check_commitments", stdout=out)
    return out.getvalue()


def test_a_city_that_promised_each_tree_says_the_counts():
    opened()
    workflow.fail(by=COMMAND, task=planted().task, on=TODAY, reason="drought")
    said = check()
    assert "3 removed trees, 1 of them young ones" in said
    assert "Owed 2 = waiting 2 + planted 0 + established 0 + waived 0; 0 overdue, 1 failures" in said


def test_a_city_without_removals_is_fine():
    assert "0 removed trees" in check()


def test_a_removed_tree_without_a_task_is_named():
    """The database refuses this state when a transaction ends, so the test looks before the end and takes it back."""
    err = StringIO()
    with transaction.atomic():
        tree = TreeFactory(tag="OAK-17", park=ParkFactory(code="ALB", name="Albion Green"))
        Tree.objects.filter(pk=tree.pk).update(status=TreeStatus.REMOVED, removed_on=TODAY)
        with pytest.raises(SystemExit) as stopped:
            call_command("check_commitments", stderr=err)
        transaction.set_rollback(True)
    assert stopped.value.code == 1
    assert "OAK-17 in Albion Green was removed on 2026-06-01" in err.getvalue()
