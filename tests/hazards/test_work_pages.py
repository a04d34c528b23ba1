"""The pages of work other than removal, of closures and of looks that are asked for."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone
from uuid_utils.compat import uuid7

from hazards import mitigation
from hazards.asked import ask_look
from hazards.closures import close_area
from hazards.models import AskedLook, Closure, MitigationOrder, PruningLimit
from hazards.options import OptionPick
from hazards.pest_workflow import add_limit, watch_pest
from inventory.access import Role
from inventory.record import COMMAND, Actor
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory
from tests.hazards.factories import EXTREME, HIGH, TargetFactory, inspect, pick
from tests.removals.builders import Story

pytestmark = pytest.mark.django_db
WORDS = {"area": "the play area", "barrier": "fence and signs", "reason": "A union splits"}


@pytest.fixture
def elm():
    return TreeFactory(tag="E/1", species=SpeciesFactory(botanical="Ulmus minor", genus="Ulmus"))


@pytest.fixture
def manager_client(as_role):
    return as_role(Role.MANAGER)


def proposed(tree, kind="prune") -> MitigationOrder:
    return mitigation.propose(by=COMMAND, tree=tree, kind=kind, reason="Take the limb off")


def limited(first: str, last: str) -> None:
    watch = watch_pest(by=Actor(), pest="DED", since=dt.date(2026, 1, 1))
    facts = {"genus": "Ulmus", "region": "Alderquay", "first": first, "last": last}
    add_limit(by=Actor(), limit=PruningLimit(watch=watch, rule="no pruning", authority="the forester", **facts))


def all_year() -> None:
    limited("01-01", "12-31")


def text(answer) -> str:
    return " ".join(answer.content.decode().split())


class TestWorkList:
    def test_shows_the_open_orders_and_marks_the_overdue(self, manager_client):
        tree = TreeFactory()
        inspect(tree, pick(TargetFactory(park=tree.park), **HIGH))
        order, ended = proposed(tree), proposed(tree, "cable or brace")
        mitigation.withdraw(by=COMMAND, order=ended, reason="Not needed")
        page = text(manager_client.get(reverse("hazards:work")))
        assert order.number in page
        assert ended.number not in page
        assert "overdue" in page

    def test_filters(self, manager_client, cast):
        tree, other = TreeFactory(), TreeFactory()
        inspect(tree, pick(TargetFactory(park=tree.park), **HIGH))
        late, free = proposed(tree), proposed(other, "cable or brace")
        mine = mitigation.schedule(
            by=COMMAND, order=proposed(other), scheduled_for=timezone.localdate(), assigned_to=cast[Role.MANAGER]
        )
        found = {
            query: set(manager_client.get(reverse("hazards:work") + query).context["page"].rows)
            for query in (
                "?overdue=on",
                "?kind=cable+or+brace",
                "?mine=on",
                f"?park={tree.park.code}",
                "?state=scheduled",
            )
        }
        assert list(found.values()) == [{late}, {free}, {mine}, {late}, {mine}]

    def test_goes_on_by_key_and_asks_the_same_however_many(self, manager_client, django_assert_max_num_queries):
        for _ in range(51):
            proposed(TreeFactory())
        with django_assert_max_num_queries(7):
            page = manager_client.get(reverse("hazards:work")).context["page"]
        assert len(page.rows) == 50
        assert len(manager_client.get(reverse("hazards:work"), {"page": page.next}).context["page"].rows) == 1


class TestOrder:
    def test_goes_its_way_through_the_pages(self, as_role, cast, elm):
        look = inspect(elm, pick(TargetFactory(park=elm.park), options=(OptionPick("prune", "low", chosen=True),)))
        finding = look.assessments.get()
        inspector, manager, lead = as_role(Role.INSPECTOR), as_role(Role.MANAGER), as_role(Role.CREW_LEAD)
        address = reverse("hazards:propose_work", args=[elm.tag]) + f"?assessment={finding.pk}"
        start = inspector.get(address).context["form"].initial
        assert start["kind"] == "prune"
        inspector.post(address, {**start, "estimated_hours": "3"})
        order = MitigationOrder.objects.get()
        assert (order.assessment, order.due_on) == (finding, dt.date(2026, 6, 1))
        day = timezone.localdate()
        manager.post(
            reverse("hazards:schedule_work", args=[order.pk]),
            {"scheduled_for": day, "assigned_to": cast[Role.CREW_LEAD].pk, "estimated_hours": "3"},
        )
        lead.post(
            reverse("hazards:work_done", args=[order.pk]), {"on": day, "actual_hours": "2.5", "outcome": "Taken off"}
        )
        order.refresh_from_db()
        assert (order.state, order.estimated_hours, order.actual_hours) == ("done", 3, 2.5)
        assert "until it is looked at anew" in text(manager.get(reverse("hazards:work_order", args=[order.pk])))

    def test_offers_only_what_the_reader_may_do(self, as_role, elm):
        order = proposed(elm)
        address = reverse("hazards:work_order", args=[order.pk])
        assert reverse("hazards:schedule_work", args=[order.pk]) in text(as_role(Role.MANAGER).get(address))
        reader = text(as_role(Role.READER).get(address))
        assert reverse("hazards:schedule_work", args=[order.pk]) not in reader
        assert reverse("hazards:withdraw_work", args=[order.pk]) not in reader

    def test_a_refusal_stands_on_the_form(self, manager_client, elm):
        proposed(elm)
        answer = manager_client.post(
            reverse("hazards:propose_work", args=[elm.tag]), {"kind": "prune", "reason": "Again"}
        )
        assert "has an open order to prune already" in text(answer)

    def test_costs_few_queries(self, manager_client, elm, django_assert_max_num_queries):
        order = proposed(elm)
        with django_assert_max_num_queries(9):
            manager_client.get(reverse("hazards:work_order", args=[order.pk]))


class TestPruningLimit:
    def test_is_said_where_the_work_is_proposed_and_scheduled(self, manager_client, elm):
        all_year()
        order = proposed(elm)
        for address in (
            reverse("hazards:propose_work", args=[elm.tag]),
            reverse("hazards:schedule_work", args=[order.pk]),
        ):
            page = text(manager_client.get(address))
            assert "No day from 01-01 to 12-31 for pruning" in page
            assert "no pruning for" in page
            assert "(the forester)" in page

    def test_warns_on_the_order_and_bars_nothing(self, manager_client, cast, elm):
        all_year()
        order = mitigation.schedule(
            by=COMMAND, order=proposed(elm), scheduled_for=timezone.localdate(), assigned_to=cast[Role.CREW_LEAD]
        )
        page = text(manager_client.get(reverse("hazards:work_order", args=[order.pk])))
        assert "its day falls within 01-01 to 12-31" in page
        assert order.state == "scheduled"

    def test_says_nothing_of_other_work_or_other_trees(self, manager_client, elm):
        all_year()
        other = TreeFactory(species=SpeciesFactory(botanical="Tilia cordata", genus="Tilia"))
        for order in (proposed(elm, "cable or brace"), proposed(other)):
            assert "message--warning" not in text(manager_client.get(reverse("hazards:work_order", args=[order.pk])))

    def test_says_nothing_outside_the_season(self, manager_client, elm):
        far = timezone.localdate() + dt.timedelta(days=60)
        limited(f"{far:%m-%d}", f"{far:%m-%d}")
        order = proposed(elm)
        assert "message--warning" not in text(manager_client.get(reverse("hazards:work_order", args=[order.pk])))

    def test_of_the_due_day_is_said_too(self, manager_client, elm):
        due = timezone.localdate() + dt.timedelta(days=60)
        limited(f"{due:%m-%d}", f"{due:%m-%d}")
        order = proposed(elm)
        MitigationOrder.objects.filter(pk=order.pk).update(due_on=due)
        page = text(manager_client.get(reverse("hazards:work_order", args=[order.pk])))
        assert "its due day falls within" in page

    def test_stands_on_a_removal_order_in_the_season(self, manager_client, cast, elm):
        all_year()
        story = Story(cast, elm).scheduled()
        page = text(manager_client.get(reverse("removals:order", args=[story.order.pk])))
        assert "the day of the felling falls within" in page
        assert "(the forester)" in page


class TestClosures:
    @pytest.fixture
    def grave(self):
        tree = TreeFactory(tag="GR-1")
        inspect(tree, pick(TargetFactory(park=tree.park), **EXTREME))
        return tree

    def test_is_offered_where_the_grave_finding_stands(self, as_role, grave):
        inspector, look = as_role(Role.INSPECTOR), grave.inspections.get()
        link = reverse("hazards:close_for_tree", args=[grave.tag])
        pages = (
            reverse("hazards:ranking"),
            reverse("hazards:closures"),
            reverse("reports:tree", args=[grave.tag]),
            reverse("hazards:inspection", args=[look.pk]),
        )
        assert all(link in text(inspector.get(page)) for page in pages)
        close_area(by=COMMAND, park=grave.park, tree=grave, **WORDS)
        assert not any(link in text(inspector.get(page)) for page in pages)

    def test_a_reader_sees_the_gap_and_is_offered_nothing(self, as_role, grave):
        page = text(as_role(Role.READER).get(reverse("hazards:ranking")))
        assert "Extreme or imminent with nothing closed around: 1 tree" in page
        assert reverse("hazards:close_for_tree", args=[grave.tag]) not in page

    def test_the_list_for_paper_says_what_is_closed(self, as_role, grave):
        client = as_role(Role.READER)
        assert "Nothing is closed around it." in text(client.get(reverse("hazards:ranking_print")))
        close_area(by=COMMAND, park=grave.park, tree=grave, **WORDS)
        assert "An area is closed around it." in text(client.get(reverse("hazards:ranking_print")))

    def test_the_gap_stands_on_the_home_page(self, as_role, grave):
        home = text(as_role(Role.INSPECTOR).get("/"))
        assert "Extreme or imminent, nothing closed" in home

    def test_a_high_tree_is_offered_no_closure(self, as_role):
        tree = TreeFactory()
        inspect(tree, pick(TargetFactory(park=tree.park), **HIGH))
        assert "Close the area" not in text(as_role(Role.INSPECTOR).get(reverse("reports:tree", args=[tree.tag])))

    def test_is_kept_with_its_finding_and_once_however_often_sent(self, as_role, grave):
        lead, look = as_role(Role.CREW_LEAD), grave.inspections.get()
        sent = {"id": str(uuid7()), **WORDS}
        address = reverse("hazards:close_for_tree", args=[grave.tag]) + f"?inspection={look.pk}"
        for _ in range(2):
            assert lead.post(address, sent).status_code == 302
        closure = Closure.objects.get()
        assert (closure.tree, closure.inspection, closure.area) == (grave, look, "the play area")

    def test_of_an_area_without_a_tree_names_its_park(self, as_role):
        park = ParkFactory(code="QW")
        answer = as_role(Role.CREW_LEAD).post(
            reverse("hazards:close_area"), {"id": str(uuid7()), "park": "QW", **WORDS}
        )
        assert answer.status_code == 302
        assert Closure.objects.get().park == park

    def test_lifting_asks_why_and_warns_while_the_tree_is_as_grave(self, as_role, grave):
        closure = close_area(by=COMMAND, park=grave.park, tree=grave, **WORDS)
        inspector, address = as_role(Role.INSPECTOR), reverse("hazards:lift_closure", args=[closure.pk])
        assert "Still about to fail" in text(inspector.get(address))
        inspector.post(address, {"reason": ""})
        assert Closure.objects.open().exists()
        inspector.post(address, {"reason": "Mistaken for another tree"})
        assert not Closure.objects.open().exists()

    def test_the_list_keeps_those_opened_again(self, as_role, grave):
        closure = close_area(by=COMMAND, park=grave.park, tree=grave, **WORDS)
        client = as_role(Role.INSPECTOR)
        client.post(reverse("hazards:lift_closure", args=[closure.pk]), {"reason": "The limb is down"})
        assert not client.get(reverse("hazards:closures")).context["page"].rows
        assert client.get(reverse("hazards:closures"), {"lifted": "on"}).context["page"].rows == [closure]

    def test_of_a_tree_that_is_gone_is_listed_until_it_is_opened(self, as_role, cast, grave):
        closure = close_area(by=COMMAND, park=grave.park, tree=grave, **WORDS)
        Story(cast, grave).felled()
        other = TreeFactory(park=grave.park)
        close_area(by=COMMAND, park=grave.park, tree=other, **WORDS)
        client = as_role(Role.INSPECTOR)
        assert "Still closed, the tree is gone" in text(client.get("/"))
        assert client.get(reverse("hazards:closures"), {"gone": "on"}).context["page"].rows == [closure]

    def test_is_offered_no_more_once_a_later_look_found_the_tree_sound(self, as_role, grave):
        first = grave.inspections.get()
        inspect(
            grave, pick(TargetFactory(park=grave.park), **HIGH), observed_at=first.observed_at + dt.timedelta(days=1)
        )
        page = text(as_role(Role.INSPECTOR).get(reverse("hazards:inspection", args=[first.pk])))
        assert "Close the area" not in page
        assert "Nothing is closed" not in page

    def test_the_list_asks_the_same_however_many(self, as_role, django_assert_max_num_queries):
        client, park = as_role(Role.INSPECTOR), ParkFactory()
        for _ in range(12):
            tree = TreeFactory(park=park)
            inspect(tree, pick(TargetFactory(park=park), **EXTREME))
            close_area(by=COMMAND, park=park, tree=TreeFactory(park=park), **WORDS)
        with django_assert_max_num_queries(8):
            client.get(reverse("hazards:closures"))


class TestAskedLook:
    def test_is_asked_on_its_page_and_shown_on_the_tree(self, as_role):
        tree, inspector = TreeFactory(), as_role(Role.INSPECTOR)
        day = timezone.localdate() + dt.timedelta(days=3)
        inspector.post(
            reverse("hazards:ask_look", args=[tree.tag]),
            {"due_on": day, "level": 2, "why": "Roots were cut for the kerb"},
        )
        assert AskedLook.objects.get().due_on == day
        assert "Roots were cut for the kerb" in text(inspector.get(reverse("reports:tree", args=[tree.tag])))

    def test_stands_in_the_list_of_what_is_due_and_on_the_form_of_the_look(self, as_role):
        tree, inspector = TreeFactory(), as_role(Role.INSPECTOR)
        ask_look(by=COMMAND, tree=tree, due_on=timezone.localdate(), why="Roots were cut for the kerb")
        for address in (reverse("hazards:due") + "?when=soon", reverse("hazards:inspect", args=[tree.tag])):
            assert "Roots were cut for the kerb" in text(inspector.get(address))

    def test_not_for_a_day_that_has_passed(self, as_role):
        tree = TreeFactory()
        sent = {"due_on": timezone.localdate() - dt.timedelta(days=1), "level": 2, "why": "Roots were cut"}
        answer = as_role(Role.INSPECTOR).post(reverse("hazards:ask_look", args=[tree.tag]), sent)
        assert "That day has passed" in text(answer)
