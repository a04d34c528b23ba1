"""Looks asked for beyond the rounds: when the tree falls due, and which inspection meets them."""

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hazards.asked import ask_look, ask_looks
from hazards.city_policy import change_policy
from hazards.governing import met_by
from hazards.matrix import Occupancy
from hazards.models import AskedLook, Inspection, Standing
from hazards.policy import DEFAULT
from hazards.workflow import restand_city
from inventory.errors import Refused
from inventory.models import RecordEntry, Tree
from inventory.record import Actor
from tests.factories import TreeFactory
from tests.hazards.at_once import at_once
from tests.hazards.factories import HIGH, LOW, MORNING, TargetFactory, inspect, pick

LATER = MORNING + dt.timedelta(days=10)
SOON = MORNING.date() + dt.timedelta(days=20)


def asked(tree, **facts):
    return ask_look(
        **{"by": Actor(), "tree": tree, "due_on": SOON, "why": "A limb was pruned", "since": LATER, **facts}
    )


def due(tree) -> dt.date | None:
    return Standing.objects.get(tree=tree).inspect_due


class FakeLook:
    def __init__(self, level: int, hours: int):
        self.level, self.observed_at = level, MORNING + dt.timedelta(hours=hours)


class FakeWanted:
    def __init__(self, level: int, hours: int):
        self.level, self.since = level, MORNING + dt.timedelta(hours=hours)


LOOKS = st.lists(st.builds(FakeLook, st.integers(1, 3), st.integers(0, 9)), max_size=6)


class TestRule:
    @given(looks=LOOKS, level=st.integers(1, 3), hours=st.integers(0, 9))
    def test_the_first_that_is_close_and_late_enough_meets_it(self, looks, level, hours):
        wanted = FakeWanted(level, hours)
        latest_first = sorted(looks, key=lambda look: look.observed_at, reverse=True)
        enough = [look.observed_at for look in looks if look.level >= level and look.observed_at >= wanted.since]
        found = met_by(wanted, latest_first)
        assert (found.observed_at if found else None) == min(enough, default=None)

    @given(looks=LOOKS, level=st.integers(1, 2), hours=st.integers(0, 8))
    def test_what_meets_a_stricter_wish_meets_the_milder_too(self, looks, level, hours):
        latest_first = sorted(looks, key=lambda look: look.observed_at, reverse=True)
        if met_by(FakeWanted(level + 1, hours + 1), latest_first):
            assert met_by(FakeWanted(level, hours), latest_first)


@pytest.mark.django_db
class TestDue:
    def test_the_tree_falls_due_on_the_earlier_of_the_round_and_what_was_asked(self):
        tree = TreeFactory()
        inspect(tree, pick(TargetFactory(park=tree.park)))
        the_round = due(tree)
        asked(tree, due_on=the_round + dt.timedelta(days=5))
        assert due(tree) == the_round
        asked(tree)
        assert due(tree) == SOON

    def test_a_tree_that_nobody_has_inspected_falls_due_too(self):
        tree = TreeFactory()
        asked(tree)
        assert due(tree) == SOON

    def test_a_later_look_of_that_level_meets_it(self):
        tree = TreeFactory()
        look = asked(tree)
        seen = inspect(tree, observed_at=LATER)
        look.refresh_from_db()
        assert look.met_by == seen
        assert due(tree) > SOON

    @pytest.mark.parametrize("facts", [{"level": 1, "observed_at": LATER}, {"observed_at": MORNING}])
    def test_a_lesser_or_an_earlier_look_does_not(self, facts):
        tree = TreeFactory()
        look = asked(tree)
        inspect(tree, **facts)
        look.refresh_from_db()
        assert look.met_by is None
        assert due(tree) == SOON

    def test_a_correction_that_was_not_close_enough_opens_it_again(self):
        tree = TreeFactory()
        look = asked(tree)
        wrong = inspect(tree, observed_at=LATER)
        inspect(tree, observed_at=LATER, level=1, supersedes=wrong)
        look.refresh_from_db()
        assert look.met_by is None
        assert due(tree) == SOON

    def test_a_look_that_was_there_already_meets_what_is_asked_afterwards(self):
        tree = TreeFactory()
        seen = inspect(tree, observed_at=LATER)
        assert asked(tree, since=MORNING).met_by == seen

    def test_a_level_1_look_asked_for_leaves_the_rating_to_the_last_look_all_around(self):
        tree = TreeFactory()
        target = TargetFactory(park=tree.park)
        inspect(tree, pick(target, **HIGH))
        look = asked(tree, level=1)
        inspect(tree, pick(target, **LOW), level=1, observed_at=LATER)
        look.refresh_from_db()
        assert look.met_by is not None
        assert Standing.objects.get(tree=tree).rating == "high"

    def test_is_in_the_record(self):
        tree = TreeFactory()
        asked(tree)
        summary = RecordEntry.objects.get(tree=tree, verb="asked for a look").summary
        assert summary == "A look of level 2 or more is due by 24 May 2026: A limb was pruned"


@pytest.mark.django_db
class TestRefused:
    @pytest.mark.parametrize(
        ("facts", "sentence"),
        [
            ({"level": 4}, "There is no inspection level 4; it is 1, 2 or 3."),
            ({"why": " "}, "Say why the tree is to be looked at."),
            ({"due_on": dt.date(202, 1, 1)}, "cannot be meant; mend the year."),
        ],
    )
    def test_says_what_would_be_right(self, facts, sentence):
        with pytest.raises(Refused, match=sentence):
            asked(TreeFactory(), **facts)
        assert not AskedLook.objects.exists()

    def test_nothing_is_asked_of_a_tree_that_is_gone(self):
        with pytest.raises(Refused, match="ask for a look at a standing tree"):
            asked(TreeFactory(removed=True))


@pytest.mark.django_db
class TestMany:
    def test_all_standing_trees_fall_due_in_a_few_statements(self, django_assert_max_num_queries):
        trees = [TreeFactory() for _ in range(12)]
        gone = TreeFactory(removed=True)
        inspect(trees[0], pick(TargetFactory(park=trees[0].park)))
        with django_assert_max_num_queries(8):
            count = ask_looks(by=Actor(), trees=Tree.objects.all(), due_on=SOON, why="The gale of May")
        assert count == 12
        assert {due(tree) for tree in trees} == {SOON}
        assert RecordEntry.objects.filter(verb="asked for a look").count() == 12
        assert not AskedLook.objects.filter(tree=gone).exists()

    def test_leaves_each_tree_as_if_it_were_asked_alone(self):
        tree = TreeFactory()
        ask_looks(by=Actor(), trees=Tree.objects.all(), due_on=SOON, why="The gale of May")
        before = due(tree)
        asked(tree, due_on=SOON + dt.timedelta(days=3))
        assert due(tree) == before


@pytest.mark.django_db(transaction=True)
def test_a_policy_changed_while_many_are_asked_for_keeps_their_days():
    trees = [TreeFactory() for _ in range(20)]
    for tree in trees:
        inspect(tree, pick(TargetFactory(park=tree.park)))
    shorter = replace(DEFAULT, round_months={**DEFAULT.round_months, Occupancy.CONSTANT: 6})
    raised = at_once(
        lambda: change_policy(by=Actor(), policy=shorter, seen=0),
        lambda: ask_looks(by=Actor(), trees=Tree.objects.all(), due_on=SOON, why="The gale of May"),
    )
    assert raised == []
    assert {due(tree) for tree in trees} == {SOON}
    assert restand_city() == 0


@pytest.mark.django_db(transaction=True)
def test_a_look_and_what_it_is_asked_by_at_the_same_moment_meet():
    tree = TreeFactory()
    target = TargetFactory(park=tree.park)
    raised = at_once(*[lambda: asked(tree)] * 2, *[lambda: inspect(tree, pick(target), observed_at=LATER)] * 2)
    assert raised == []
    assert Inspection.objects.count() == 2
    assert not AskedLook.objects.open().exists()
