"""The number owed, and how its trees are moved, split, merged and waived."""

import datetime as dt

import pytest
import time_machine
from django.db import IntegrityError, connection, transaction

from inventory.access import Role
from inventory.errors import Refused
from inventory.models import PlantingPlace, RecordEntry
from inventory.record import COMMAND, Actor
from replanting import owed, workflow
from replanting.city_policy import change_policy, current
from replanting.models import ObstacleKind, Owed, ReplacementTask, ReplantingPolicy, TaskState
from replanting.obstacles import clear_obstacle, open_obstacles, put_obstacle, stump_is_in, stump_is_out
from replanting.owing import fix_by_hand, fix_owed
from replanting.parting import merge, move, split
from replanting.policy import Policy
from tests.factories import TODAY, ParkFactory, TreeFactory
from tests.replanting.walk import chosen, opened, ordered, planted

pytestmark = pytest.mark.django_db
NOON = dt.datetime(2026, 7, 1, 12, tzinfo=dt.UTC)
LATER = dt.date(2026, 7, 1)


@pytest.fixture(autouse=True)
def _on_the_first_of_july():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def by(cast) -> Actor:
    return Actor(cast[Role.PLANNER])


def by_class(**rule) -> Policy:
    """A city that counts by diameter class."""
    wanted = Policy(rule=owed.Rule(owed.CLASSES, owed.PRINTED[owed.CLASSES], section="§ 4.2", **rule))
    row = ReplantingPolicy.objects.first()
    return change_policy(by=COMMAND, policy=wanted, seen=row.version if row else 0)


@transaction.atomic
def closed(task: ReplacementTask, **facts) -> Owed | None:
    """What the closing of the removal order does to the number owed."""
    return fix_owed(by=COMMAND, tree=task.removed_tree, on=LATER, **facts)


def further(dbh_cm: float = 70.0) -> ReplacementTask:
    """The task of those owed beyond the first: two of three for a tree of 70 cm."""
    task = opened(TreeFactory(dbh_cm=dbh_cm))
    by_class()
    closed(task)
    return ReplacementTask.objects.get(removed_tree=task.removed_tree, first=False)


def units_of(tree) -> int:
    return sum(ReplacementTask.objects.filter(removed_tree=tree).values_list("units", flat=True))


class TestTheNumber:
    def test_is_one_until_the_closing_and_then_what_the_policy_says(self):
        task = opened(TreeFactory(dbh_cm=70))
        by_class()
        assert units_of(task.removed_tree) == 1
        fixed = closed(task)
        assert (fixed.trees, fixed.rule, fixed.section) == (3, "trees by diameter class", "§ 4.2")
        assert fixed.cm == pytest.approx(3 * 5.08)
        assert units_of(task.removed_tree) == 3

    def test_the_further_ones_wait_for_a_place_with_the_first_ones_promise(self):
        task = further()
        first = ReplacementTask.objects.get(removed_tree=task.removed_tree, first=True)
        assert (task.units, task.state, task.due_on, task.opened_on) == (2, "open", first.due_on, first.opened_on)
        assert [each.kind for each in open_obstacles(task)] == [ObstacleKind.DESIGN]

    def test_a_later_policy_leaves_it_alone(self):
        task = further()
        change_policy(by=COMMAND, policy=Policy(), seen=1)
        assert closed(task).trees == 3
        assert units_of(task.removed_tree) == 3

    def test_a_tree_planted_before_the_closing_keeps_its_task(self):
        task = planted(TreeFactory(dbh_cm=70)).task
        by_class()
        closed(task)
        assert sorted(ReplacementTask.objects.values_list("state", "units")) == [("open", 2), ("planted", 1)]

    @pytest.mark.parametrize(("dead", "owed"), [(True, 1), (False, 3)])
    def test_a_dead_tree_is_counted_as_the_city_says(self, dead, owed):
        task = opened(TreeFactory(dbh_cm=70))
        by_class(dead_counted=False)
        assert closed(task, dead=dead).trees == owed

    def test_where_the_table_is_silent_a_person_fixes_it(self, by):
        task = opened(TreeFactory(dbh_cm=None))
        by_class()
        assert closed(task) is None
        assert "never measured" in open_obstacles(task)[-1].note
        fix_by_hand(by=by, task=task, trees=2, reason="a stump of 40 cm")
        assert (units_of(task.removed_tree), Owed.objects.get().rule) == (2, "by hand")
        assert [each.kind for each in open_obstacles(task)] == [ObstacleKind.STUMP]

    def test_where_the_table_speaks_nobody_fixes_it_by_hand(self, by):
        task = opened(TreeFactory(dbh_cm=70))
        with pytest.raises(Refused, match="when its removal order closes"):
            fix_by_hand(by=by, task=task, trees=9, reason="more")

    def test_a_lost_young_tree_owes_nothing_of_its_own(self):
        planting = planted()
        workflow.fail(by=COMMAND, task=planting.task, on=LATER, reason="drought")
        with transaction.atomic():
            assert fix_owed(by=COMMAND, tree=planting.tree, on=LATER) is None


class TestTheDatabase:
    """It holds what a bulk write could break."""

    def refuses(self, change):
        with pytest.raises(IntegrityError):
            self.at_once(change)

    @transaction.atomic
    def at_once(self, change):
        change()
        with connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")

    def test_no_more_and_no_fewer_than_owed(self):
        task = further()
        self.refuses(lambda: ReplacementTask.objects.filter(pk=task.pk).update(units=5))
        self.refuses(lambda: ReplacementTask.objects.filter(pk=task.pk).delete())
        self.refuses(lambda: Owed.objects.update(trees=2))

    def test_one_first_task_a_tree(self):
        task = further()
        self.refuses(lambda: ReplacementTask.objects.filter(pk=task.pk).update(first=True))

    def test_one_in_the_ground(self):
        planting = planted()
        self.refuses(lambda: ReplacementTask.objects.filter(pk=planting.task_id).update(units=2))


class TestParting:
    def test_a_split_keeps_choice_promise_and_obstacles(self, by):
        task = ordered(task=further())
        part = split(by=by, task=task, units=1, reason="one goes to the pond")
        task.refresh_from_db()
        assert (task.units, part.units) == (1, 1)
        same = ("state", "species_id", "stock", "nursery", "ordered_on", "due_on", "park_id", "removed_tree_id")
        assert all(getattr(task, name) == getattr(part, name) for name in same)
        assert [each.kind for each in open_obstacles(part)] == [ObstacleKind.DESIGN]

    @pytest.mark.parametrize("units", [0, 2, 3])
    def test_a_split_of_none_or_of_all_is_refused(self, by, units):
        with pytest.raises(Refused, match="cannot be split off; give 1 to 1"):
            split(by=by, task=further(), units=units, reason="x")

    def test_merged_they_are_together_and_the_earlier_promise_holds(self, by):
        task = further()
        part = split(by=by, task=task, units=1, reason="x")
        ReplacementTask.objects.filter(pk=part.pk).update(due_on=dt.date(2026, 9, 1))
        into = merge(by=by, task=part, into=task, reason="both fit there")
        part.refresh_from_db()
        assert (into.units, into.due_on) == (2, dt.date(2026, 9, 1))
        assert (part.state, part.units, part.merged_into) == (TaskState.MERGED, 0, task)

    def test_what_differs_is_not_merged(self, by):
        task = further()
        first = ReplacementTask.objects.get(removed_tree=task.removed_tree, first=True)
        other = opened()
        with pytest.raises(Refused, match="first task"):
            merge(by=by, task=first, into=task, reason="x")
        with pytest.raises(Refused, match="another tree"):
            merge(by=by, task=task, into=other, reason="x")
        with pytest.raises(Refused, match="with itself"):
            merge(by=by, task=task, into=task, reason="x")
        with pytest.raises(Refused, match="differ in place, choice or order"):
            merge(by=by, task=task, into=chosen(task=first), reason="x")

    def test_planting_of_several_splits_one_off_and_asks_where(self, by):
        task = ordered(task=further())
        with pytest.raises(Refused, match="Say where it stands"):
            workflow.plant(by=by, task=task, on=LATER)
        planting = workflow.plant(by=by, task=task, on=LATER, lon=10.0, lat=50.0)
        task.refresh_from_db()
        assert (task.state, task.units) == (TaskState.ORDERED, 1)
        assert (planting.task.state, planting.task.units) == (TaskState.PLANTED, 1)
        assert planting.task != task

    def test_a_part_is_waived_or_paid_for(self, by):
        task = further()
        part = workflow.waive(by=by, task=task, reason="no room", on=LATER, kind="fund in lieu", units=1)
        task.refresh_from_db()
        assert (part.state, part.units, part.waived_kind, task.state, task.units) == (
            *(TaskState.WAIVED, 1, "fund in lieu"),
            *(TaskState.OPEN, 1),
        )


class TestMoving:
    def test_to_a_vacant_place_of_another_park_it_stays_owed_by_its_own(self, by):
        task, pond = ordered(), ParkFactory(code="PON")
        place = PlantingPlace.objects.create(tag="PON-7", park=pond, kind="vacant site", lon=9.5, lat=51.0)
        moved = move(by=by, task=task, place=place, reason="the path runs there now")
        assert (moved.park, moved.site_park) == (task.park, pond)
        tree = workflow.plant(by=by, task=task, on=LATER).tree
        assert (tree.park, tree.lon, tree.lat, tree.replaces) == (pond, 9.5, 51.0, task.removed_tree)

    def test_what_stood_in_the_way_of_the_old_spot_stays_behind(self, by):
        task = opened()
        put_obstacle(by=by, task=task, kind=ObstacleKind.OTHER, note="a concert in May")
        move(by=by, task=task, park=ParkFactory(), reason="the lime is dense there")
        assert [each.kind for each in open_obstacles(task)] == [ObstacleKind.OTHER]

    def test_a_place_takes_one_tree(self, by):
        place = PlantingPlace.objects.create(tag="P-7", park=ParkFactory(), kind="vacant site", lon=9.5, lat=51.0)
        with pytest.raises(Refused, match="takes one tree, and these are 2"):
            move(by=by, task=further(), place=place, reason="x")
        task = opened()
        move(by=by, task=task, place=place, reason="x")
        with pytest.raises(Refused, match=f"taken, by the replacement of {task.removed_tree}"):
            move(by=by, task=opened(), place=place, reason="x")

    def test_what_is_planted_is_not_moved(self, by):
        with pytest.raises(Refused, match="one cannot move it"):
            move(by=by, task=planted().task, park=ParkFactory(), reason="x")


class TestObstacles:
    def test_a_stump_is_in_the_way_until_it_is_out(self):
        task = opened()
        assert [each.kind for each in open_obstacles(task)] == [ObstacleKind.STUMP]
        with transaction.atomic():
            stump_is_out(by=COMMAND, tree=task.removed_tree, on=LATER)
        assert open_obstacles(task) == []

    def test_a_kept_stump_stays_in_the_way_and_says_so(self):
        task = opened()
        with transaction.atomic():
            stump_is_in(by=COMMAND, tree=task.removed_tree, on=LATER, note="Kept: stump, 0.4 m")
        assert [each.note for each in open_obstacles(task)] == ["Kept: stump, 0.4 m"]

    def test_comes_and_goes_with_a_name(self, by):
        task = opened()
        made = put_obstacle(by=by, task=task, kind=ObstacleKind.WATER, note="the main is dug up")
        with pytest.raises(Refused, match="already, by planner"):
            put_obstacle(by=by, task=task, kind=ObstacleKind.WATER)
        gone = clear_obstacle(by=by, obstacle=made, note="tap mended")
        assert (gone.put_by, gone.cleared_by, gone.cleared_on) == ("planner", "planner", LATER)
        with pytest.raises(Refused, match="was cleared on"):
            clear_obstacle(by=by, obstacle=made)

    def test_other_says_what(self, by):
        with pytest.raises(Refused, match="Say what stands in the way"):
            put_obstacle(by=by, task=opened(), kind=ObstacleKind.OTHER)

    def test_planting_clears_the_way(self, by):
        planting = workflow.plant(by=by, task=ordered(), on=LATER)
        assert open_obstacles(planting.task) == []


class TestPolicy:
    def test_the_promise_follows_the_citys_months(self):
        change_policy(by=COMMAND, policy=Policy(plant_within_months=6, replant_within_months=3), seen=0)
        task = opened(on=TODAY)
        assert task.due_on == dt.date(2026, 12, 1)

    def test_two_at_once_the_second_is_told(self, cast):
        change_policy(by=Actor(cast[Role.MANAGER]), policy=Policy(plant_within_months=6), seen=0)
        with pytest.raises(Refused, match="changed while this page was open"):
            change_policy(by=Actor(cast[Role.ADMINISTRATOR]), policy=Policy(plant_within_months=9), seen=0)
        assert current().plant_within_months == 6

    def test_the_record_says_who_changed_what(self, cast):
        change_policy(by=Actor(cast[Role.MANAGER]), policy=Policy(plant_within_months=6), seen=0)
        entry = RecordEntry.objects.get(verb="set the policy")
        assert (entry.actor_name, entry.data["changes"]) == ("manager", {"plant_within_months": [12, 6]})

    def test_a_planner_does_not_set_it(self, by):
        with pytest.raises(Refused, match="may not"):
            change_policy(by=by, policy=Policy(), seen=0)

    def test_an_impossible_one_is_refused(self):
        with pytest.raises(Refused, match="Months to the planting: 0 is out of bounds"):
            change_policy(by=COMMAND, policy=Policy(plant_within_months=0), seen=0)
