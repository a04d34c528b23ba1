"""A storm from its opening to the looks that are due after it, and its pages."""

import datetime as dt

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone
from uuid_utils.compat import uuid7

from hazards.matrix import Occupancy
from hazards.models import AskedLook, Closure, Standing, StormEvent, StormFind
from hazards.storm import ENERGISED, FindKind
from hazards.storms import (
    LOOK_AGAIN_DAYS,
    FindReport,
    close_off,
    deal_with,
    end_event,
    open_event,
    photos_of,
    record_find,
    trees_to_look_at_again,
)
from inventory.access import Role
from inventory.errors import Refused
from inventory.models import RecordEntry, Tree, TreeStatus
from inventory.record import COMMAND, Actor
from tests.factories import ParkFactory, TreeFactory
from tests.hazards.at_once import at_once
from tests.hazards.factories import HIGH, LOW, MODERATE, TargetFactory, inspect, pick
from tests.inventory.test_photos import picture

NOW = dt.datetime(2026, 6, 10, 12, 0, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def _in_june():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def park(db):
    return ParkFactory(code="ALB", name="Alder Bank")


@pytest.fixture
def storm(park) -> StormEvent:
    return open_event(by=COMMAND, name="Gale", parks=[park], gust_ms=28)


def hanging(tree: Tree | None, **facts) -> FindReport:
    return FindReport(**{"kind": FindKind.HANGING_LIMB, "occupancy": Occupancy.CONSTANT, "tree": tree, **facts})


def found(storm: StormEvent, tree: Tree | None = None, **facts) -> StormFind:
    tree = tree or (None if "place" in facts else TreeFactory(park=storm.parks.get()))
    return record_find(by=COMMAND, event=storm, report=hanging(tree, **facts))


class TestOpening:
    def test_names_its_parks_in_the_record(self, storm, park):
        assert list(storm.parks.all()) == [park]
        assert RecordEntry.objects.get(verb="opened a storm").summary == "Opened Gale for Alder Bank."

    @pytest.mark.parametrize(
        ("facts", "sentence"),
        [
            ({"parks": []}, "Choose at least one park"),
            ({"name": " "}, "Give the storm a name"),
            ({"gust_ms": 121}, "out of bounds"),
            ({"began_at": NOW + dt.timedelta(days=1)}, "not a time that has passed"),
        ],
    )
    def test_refuses(self, park, facts, sentence):
        with pytest.raises(Refused, match=sentence):
            open_event(**{"by": COMMAND, "name": "Gale", "parks": [park], **facts})

    def test_needs_the_permission(self, park, cast):
        with pytest.raises(Refused, match="may not open or end a storm"):
            open_event(by=Actor(cast[Role.CREW_LEAD]), name="Gale", parks=[park])


class TestFinds:
    def test_stand_in_the_order_of_danger(self, storm):
        mild = found(storm, size_cm=5)
        grave = found(storm, kind=FindKind.WIRES_DOWN)
        assert list(storm.finds.open()) == [grave, mild]

    def test_take_the_place_of_their_tree(self, storm, park):
        tree = TreeFactory(park=park, lon=8.5, lat=47.2, cell=1)
        find = found(storm, tree)
        assert (find.park, find.lon, find.lat) == (park, 8.5, 47.2)

    def test_may_be_at_no_tree(self, storm, park):
        find = found(storm, place="Lane behind the boathouse", park=park)
        assert find.where == "Lane behind the boathouse"

    def test_sent_again_are_kept_once(self, storm):
        known, tree = uuid7(), TreeFactory(park=storm.parks.get())
        sent = [record_find(by=COMMAND, event=storm, report=hanging(tree), id=known) for _ in range(2)]
        assert sent[0] == sent[1]
        assert RecordEntry.objects.filter(verb="found after a storm").count() == 1

    def test_one_id_belongs_to_one_place(self, storm):
        known = uuid7()
        record_find(by=COMMAND, event=storm, report=hanging(TreeFactory(park=storm.parks.get())), id=known)
        with pytest.raises(Refused, match="kept for another place"):
            record_find(by=COMMAND, event=storm, report=hanging(TreeFactory(park=storm.parks.get())), id=known)

    @pytest.mark.parametrize(
        ("facts", "sentence"),
        [
            ({"place": "By the pond"}, "Say in which park"),
            ({"size_cm": 900}, "out of bounds"),
            ({"seen_at": NOW + dt.timedelta(days=1)}, "not a time that has passed"),
        ],
    )
    def test_refuse(self, storm, facts, sentence):
        with pytest.raises(Refused, match=sentence):
            found(storm, **facts)

    def test_of_another_park_are_refused(self, storm):
        with pytest.raises(Refused, match="is not one of the parks of Gale"):
            found(storm, TreeFactory())

    def test_keep_photos_with_a_tree_or_without(self, storm, park):
        at_tree = found(storm, photos=(picture(),))
        at_place = found(storm, place="Pond", park=park, photos=(picture(colour="olive"),))
        assert photos_of(at_tree).get().tree == at_tree.tree
        assert photos_of(at_place).get().tree is None

    def test_follow_their_tree_to_another_park(self, storm, django_capture_on_commit_callbacks):
        find, other = found(storm), ParkFactory(code="BRK")
        Tree.objects.filter(pk=find.tree_id).update(park=other)
        find.refresh_from_db()
        assert find.park == other


class TestClosingAndDealing:
    def test_an_area_is_closed_for_the_reason_of_the_find(self, storm):
        find = close_off(by=COMMAND, find=found(storm), area="The path", barrier="tape")
        assert find.closure == Closure.objects.get()
        assert find.closure.reason.startswith("Gale: It hangs or splits over a place in much use")

    def test_twice_is_refused(self, storm):
        find = close_off(by=COMMAND, find=found(storm), area="The path", barrier="tape")
        with pytest.raises(Refused, match="closed already: The path"):
            close_off(by=COMMAND, find=find, area="The lawn", barrier="tape")

    def test_a_find_dealt_with_leaves_the_list_and_its_closure_stays(self, storm, by_manager):
        find = close_off(by=COMMAND, find=found(storm), area="The path", barrier="tape")
        find = deal_with(by=by_manager, find=find, how="Limb cut and cleared.")
        assert not storm.finds.open().exists()
        assert Closure.objects.open().exists()
        assert find.dealt_by == by_manager.user

    def test_how_must_be_said(self, storm):
        with pytest.raises(Refused, match="Say what was done"):
            deal_with(by=COMMAND, find=found(storm), how=" ")

    @pytest.mark.django_db(transaction=True)
    def test_of_two_who_deal_with_it_the_second_is_told(self, storm):
        find = found(storm)
        raised = at_once(*[lambda: deal_with(by=COMMAND, find=find, how="Cleared.")] * 2)
        assert [str(error)[:29] for error in raised] == ["Somebody has dealt with this "]
        assert RecordEntry.objects.filter(verb="dealt with a find").count() == 1


class TestEnding:
    @pytest.fixture
    def trees(self, park):
        """Rated high, moderate and low, dead without a rating, and high in another park."""
        target = TargetFactory(park=park)
        for tag, picks in (("HIGH", HIGH), ("MODERATE", MODERATE), ("LOW", LOW)):
            inspect(TreeFactory(tag=tag, park=park), pick(target, **picks))
        TreeFactory(tag="DEAD", park=park, status=TreeStatus.DEAD_STANDING)
        away = TreeFactory(tag="AWAY")
        inspect(away, pick(TargetFactory(park=away.park), **HIGH))
        return {tree.tag: tree for tree in Tree.objects.all()}

    def test_is_refused_while_a_find_waits(self, storm):
        found(storm)
        with pytest.raises(Refused, match="1 find is not dealt with"):
            end_event(by=COMMAND, event=storm)

    def test_looks_fall_due_at_once_where_something_was_found_and_soon_at_the_others(self, storm, trees):
        deal_with(by=COMMAND, find=found(storm, trees["LOW"]), how="Cleared.")
        assert {tree.tag for tree in trees_to_look_at_again(storm)} == {"HIGH", "MODERATE", "DEAD"}
        ended = end_event(by=COMMAND, event=storm)
        assert (ended.at_once, ended.within_days) == (1, 3)
        today = timezone.localdate()
        due = dict(Standing.objects.values_list("tree__tag", "inspect_due"))
        assert due["LOW"] == today
        assert due["HIGH"] == due["DEAD"] == today + dt.timedelta(days=LOOK_AGAIN_DAYS)
        assert due["AWAY"] > today + dt.timedelta(days=LOOK_AGAIN_DAYS)

    def test_a_later_look_meets_it(self, storm, trees):
        deal_with(by=COMMAND, find=found(storm, trees["LOW"]), how="Cleared.")
        end_event(by=COMMAND, event=storm)
        target = trees["LOW"].park.targets.get()
        inspect(trees["LOW"], pick(target, **LOW), observed_at=NOW)
        assert AskedLook.objects.get(tree=trees["LOW"]).met_by is not None

    def test_ends_once_and_takes_no_more_finds(self, storm):
        end_event(by=COMMAND, event=storm)
        with pytest.raises(Refused, match="ended on 10 Jun 2026 already"):
            end_event(by=COMMAND, event=storm)
        with pytest.raises(Refused, match="open a new storm"):
            found(StormEvent.objects.get())


class TestPages:
    @pytest.fixture
    def inspector(self, as_role):
        return as_role(Role.INSPECTOR)

    def test_a_storm_is_opened_in_the_readers_unit(self, inspector, park):
        inspector.cookies["units"] = "us"
        sent = {"name": "Squall", "began_at": "2026-06-10T06:00", "gust_ms": "60", "parks": [park.pk]}
        answer = inspector.post(reverse("hazards:storms"), sent)
        event = StormEvent.objects.get()
        assert answer["Location"] == reverse("hazards:storm", args=[event.pk])
        assert event.gust_ms == pytest.approx(60 * 0.44704, abs=1e-3)  # mph, exact by definition

    @pytest.mark.parametrize(("text", "ms"), [("90 km/h", 25.0), ("25", 25.0), ("50 kn", 25.722), ("56 mph", 25.034)])
    def test_a_gust_is_read_as_it_is_reported(self, inspector, park, text, ms):
        sent = {"name": "Squall", "began_at": "2026-06-10T06:00", "gust_ms": text, "parks": [park.pk]}
        inspector.post(reverse("hazards:storms"), sent)
        assert StormEvent.objects.get().gust_ms == pytest.approx(ms, abs=1e-3)

    def test_wires_are_warned_of_in_the_list_at_the_find_and_at_the_tree(self, inspector, storm):
        find = found(storm, wires=True)
        pages = [("hazards:storm", storm.pk), ("hazards:storm_find", find.pk), ("hazards:deal_find", find.pk)]
        for name, key in pages:
            assert ENERGISED in inspector.get(reverse(name, args=[key])).content.decode(), name
        for name, key in (("hazards:close_find", find.pk), ("reports:tree", find.tree.tag)):
            assert "treat them as energised" in inspector.get(reverse(name, args=[key])).content.decode(), name

    def test_no_wires_no_warning(self, inspector, storm):
        find = found(storm)
        assert "energised" not in inspector.get(reverse("hazards:storm_find", args=[find.pk])).content.decode()

    def test_the_list_costs_the_same_for_many_finds(self, inspector, storm, django_assert_max_num_queries):
        for _ in range(12):
            found(storm)
        deal_with(by=COMMAND, find=found(storm), how="Cleared.")
        with django_assert_max_num_queries(10):
            inspector.get(reverse("hazards:storm", args=[storm.pk]))
        with django_assert_max_num_queries(8):
            inspector.get(reverse("hazards:storm_print", args=[storm.pk]))

    def test_events_cost_the_same_however_many(self, inspector, storm, park, django_assert_max_num_queries):
        for n in range(5):
            open_event(by=COMMAND, name=f"Gale {n}", parks=[park, ParkFactory()])
        with django_assert_max_num_queries(10):
            inspector.get(reverse("hazards:storms"))

    def test_a_list_longer_than_a_page_goes_on_by_key(self, inspector, storm):
        for n in range(55):
            found(storm, size_cm=5 + n % 3)
        first = inspector.get(reverse("hazards:storm", args=[storm.pk]))
        second = inspector.get(reverse("hazards:storm", args=[storm.pk]), {"page": first.context["page"].next})
        seen = [find.pk for answer in (first, second) for find in answer.context["page"].rows]
        assert seen == list(storm.finds.order_by("danger", "id").values_list("pk", flat=True))

    def test_a_reader_is_offered_nothing_to_do(self, as_role, storm):
        find, reader = found(storm), as_role(Role.READER)
        for name, key in (("hazards:storm", storm.pk), ("hazards:storm_find", find.pk)):
            html = reader.get(reverse(name, args=[key])).content.decode()
            assert "Write down a find" not in html
            assert "It is dealt with" not in html
            assert "Close the area" not in html
