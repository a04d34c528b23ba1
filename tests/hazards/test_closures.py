"""Areas closed to people and opened again, and the grave trees around which nothing is closed."""

import datetime as dt

import pytest
from django.utils import timezone
from uuid_utils.compat import uuid7

from hazards.closures import close_area, lift, not_closed
from hazards.models import Closure
from inventory.access import Role
from inventory.errors import Refused
from inventory.models import RecordEntry
from inventory.record import COMMAND, Actor
from tests.factories import ParkFactory, TreeFactory
from tests.hazards.at_once import at_once
from tests.hazards.factories import EXTREME, HIGH, TargetFactory, inspect, pick

WORDS = {"area": "the play area", "barrier": "fence and two signs", "reason": "A split union hangs over it"}


def closed(tree, **facts) -> Closure:
    return close_area(**{"by": COMMAND, "park": tree.park, "tree": tree, **WORDS, **facts})


@pytest.fixture
def grave(db):
    tree = TreeFactory()
    inspect(tree, pick(TargetFactory(park=tree.park), **EXTREME))
    return tree


class TestClosing:
    def test_says_who_closed_what_and_why(self, grave, cast):
        closure = closed(grave, by=Actor(cast[Role.CREW_LEAD]))
        assert closure.closed_by == cast[Role.CREW_LEAD]
        entry = RecordEntry.objects.get(verb="closed an area")
        assert entry.tree == grave
        assert entry.summary == "Closed the play area (fence and two signs): A split union hangs over it"

    def test_the_same_closure_sent_twice_is_kept_once(self, grave):
        known = uuid7()
        assert closed(grave, id=known) == closed(grave, id=known, barrier="other words")
        assert Closure.objects.get().barrier == "fence and two signs"

    def test_its_id_belongs_to_one_place(self, grave):
        known = uuid7()
        closed(grave, id=known)
        with pytest.raises(Refused, match="kept for another place"):
            closed(TreeFactory(park=grave.park), id=known)

    def test_an_area_without_a_tree_can_be_closed(self, db):
        closure = close_area(by=COMMAND, park=ParkFactory(), **WORDS)
        assert closure.tree is None

    @pytest.mark.parametrize("missing", ["area", "barrier", "reason"])
    def test_asks_for_what_is_missing(self, grave, missing):
        with pytest.raises(Refused, match=r"^Say wh"):
            closed(grave, **{missing: "  "})

    def test_refuses_a_time_to_come(self, grave):
        with pytest.raises(Refused, match="is not a time that has passed"):
            closed(grave, at=timezone.now() + dt.timedelta(hours=1))

    def test_refuses_a_tree_of_another_park(self, grave):
        with pytest.raises(Refused, match="close an area of the park in which it stands"):
            closed(grave, park=ParkFactory())

    def test_refuses_the_finding_of_another_tree(self, grave):
        with pytest.raises(Refused, match="The finding is one of another tree"):
            closed(grave, inspection=inspect(TreeFactory()))

    @pytest.mark.parametrize("role", [Role.PLANNER, Role.READER, Role.ADMINISTRATOR])
    def test_not_everybody_may(self, grave, cast, role):
        with pytest.raises(Refused, match="may not close an area"):
            closed(grave, by=Actor(cast[role]))

    def test_nobody_unnamed_may(self, grave):
        with pytest.raises(Refused, match="Nobody is named"):
            closed(grave, by=Actor())


class TestLifting:
    def test_needs_a_reason_and_says_who(self, grave, by_manager):
        closure = closed(grave)
        with pytest.raises(Refused, match="Say why the area can be opened again"):
            lift(by=by_manager, closure=closure, reason="")
        lifted = lift(by=by_manager, closure=closure, reason="The limb is down")
        assert lifted.lifted_by == by_manager.user
        assert not Closure.objects.open().exists()

    def test_a_crew_lead_may_close_but_not_open(self, grave, cast):
        closure = closed(grave)
        with pytest.raises(Refused, match="may not open a closed area again"):
            lift(by=Actor(cast[Role.CREW_LEAD]), closure=closure, reason="The limb is down")

    def test_not_before_it_was_closed(self, grave, by_manager):
        closure = closed(grave)
        with pytest.raises(Refused, match="cannot be opened before it was closed"):
            lift(by=by_manager, closure=closure, reason="Mistaken", at=timezone.now() - dt.timedelta(days=1))


class TestGap:
    def test_an_extreme_or_imminent_tree_without_an_open_closure_is_one(self, grave, by_manager):
        assert [standing.tree for standing in not_closed()] == [grave]
        closure = closed(grave)
        assert not not_closed().exists()
        lift(by=by_manager, closure=closure, reason="Opened too soon")
        assert [standing.tree for standing in not_closed()] == [grave]

    def test_an_imminent_failure_counts_whatever_its_rating(self, db):
        tree = TreeFactory()
        target = TargetFactory(park=tree.park, occupancy="rare")
        low = {"impact": pick(target).suggested_impact}
        inspect(tree, pick(target, **EXTREME, **low))
        assert [standing.rating for standing in not_closed()] == ["low"]

    def test_a_high_rating_is_none(self, db):
        tree = TreeFactory()
        inspect(tree, pick(TargetFactory(park=tree.park), **HIGH))
        assert not not_closed().exists()

    def test_a_closure_of_another_tree_fills_no_gap(self, grave):
        closed(TreeFactory(park=grave.park))
        assert not_closed().exists()


@pytest.mark.django_db(transaction=True)
class TestAtOnce:
    def test_of_two_who_open_it_the_second_is_told(self):
        closure = closed(TreeFactory())
        raised = at_once(*[lambda: lift(by=COMMAND, closure=closure, reason="The limb is down")] * 2)
        assert [type(error) for error in raised] == [Refused]
        assert "was opened again on" in str(raised[0])

    def test_one_closure_sent_by_two_requests_is_kept_once(self):
        tree, known = TreeFactory(), uuid7()
        assert at_once(*[lambda: closed(tree, id=known)] * 4) == []
        assert Closure.objects.count() == 1
