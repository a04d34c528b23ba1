"""Two inspectors at one tree at the same moment: both looks are kept, and the standing knows both."""

import pytest
from uuid_utils.compat import uuid7

from hazards.models import Inspection, Standing
from hazards.workflow import record_inspection
from inventory.errors import Refused
from inventory.models import RecordEntry
from inventory.record import Actor
from tests.factories import TreeFactory
from tests.hazards.at_once import at_once
from tests.hazards.factories import HIGH, LOW, MORNING, TargetFactory, inspect, pick, report

pytestmark = pytest.mark.django_db(transaction=True)


def test_two_looks_are_both_kept_and_the_later_observation_governs():
    tree = TreeFactory()
    target = TargetFactory(park=tree.park)
    earlier = report(tree, pick(target, **LOW), dbh_cm=40.0)
    later = report(tree, pick(target, **HIGH), dbh_cm=42.0, observed_at=MORNING.replace(hour=11))
    for _ in range(5):
        raised = at_once(
            lambda: record_inspection(by=Actor(), report=later), lambda: record_inspection(by=Actor(), report=earlier)
        )
        assert raised == []
    tree.refresh_from_db()
    assert Inspection.objects.filter(tree=tree).count() == 10
    assert Standing.objects.get(tree=tree).rating == "high"
    assert tree.dbh_cm == 42.0


def test_one_look_sent_by_two_requests_is_stored_once():
    tree = TreeFactory()
    sent = report(tree, pick(TargetFactory(park=tree.park)), id=uuid7())
    raised = at_once(*[lambda: record_inspection(by=Actor(), report=sent)] * 4)
    assert raised == []
    assert Inspection.objects.count() == 1
    assert RecordEntry.objects.filter(tree=tree).count() == 1


def test_of_two_corrections_one_holds_and_the_other_is_told():
    tree = TreeFactory()
    target = TargetFactory(park=tree.park)
    wrong = inspect(tree, pick(target, **LOW))
    raised = at_once(*[lambda: inspect(tree, pick(target, **HIGH), supersedes=wrong)] * 2)
    assert [type(error) for error in raised] == [Refused]
    assert Inspection.objects.filter(supersedes=wrong).count() == 1
