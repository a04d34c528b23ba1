"""The planting plan, and the planting as it is recorded."""

import datetime as dt
import uuid

import pytest
import time_machine
from django.urls import reverse

from inventory.access import Role
from inventory.errors import Refused
from inventory.models import RecordEntry
from inventory.record import COMMAND
from replanting import workflow
from replanting.care import Kind, Young, prunings
from replanting.models import PlannedPlanting, Planting, PlantingDay, Pruning
from replanting.plan_work import plan_planting, unplan
from replanting.planting_checks import CHECKS, faults, review
from tests.factories import ParkFactory, TreeFactory
from tests.replanting.test_at_once import at_once, refusals
from tests.replanting.walk import chosen, opened, ordered, planted

NOON = dt.datetime(2026, 7, 1, 12, tzinfo=dt.UTC)
FRIDAY = dt.date(2026, 7, 3)


@pytest.fixture(autouse=True)
def _on_the_first_of_july():
    with time_machine.travel(NOON, tick=False):
        yield


def plan(task, day=FRIDAY, crew="North crew", **more):
    return plan_planting(by=COMMAND, task=task, day=day, crew=crew, **more)


class TestChecks:
    @pytest.mark.parametrize(
        ("answers", "words"),
        [
            ({"flare": False}, "root flare is buried"),
            ({"top_root": 6.0}, "topmost root lies deeper"),
            ({"top_root": 5.08}, ""),
            ({"hole": 100.0}, ""),
            ({"hole": 80.0}, "Florida's 1.5 times"),
            ({"hole": 70.0}, "narrower than 1.5 times"),
            ({"above": 3.0}, "lift the tree"),
            ({"above": 6.0}, ""),
            ({"mulch": 12.0}, "take some off"),
            ({"off_bark": False}, "rots it"),
            ({"watered": False}, "Water it before you leave"),
            ({"staked": True}, ""),
        ],
    )
    def test_each_says_what_to_do(self, answers, words):
        found = faults(answers, ball_cm=50.0)
        assert [words in advice for advice in found] == ([True] if words else [])

    def test_a_hole_without_a_ball_cannot_be_judged(self):
        assert "measure the ball" in faults({"hole": 100.0}, None)[0]

    def test_what_nobody_looked_at_is_neither_good_nor_bad(self):
        found = list(review({"flare": "perhaps", "top_root": -1, "mulch": True}, 50.0))
        assert len(found) == len(CHECKS)
        assert all(each.answer is None and not each.holds for each in found)


class TestPruning:
    PLANTED = dt.date(2024, 4, 1)

    @pytest.mark.parametrize(
        ("today", "pruned", "due"),
        [
            ("2026-03-31", None, None),
            ("2026-04-01", None, "2026-04-01"),
            ("2026-09-01", "2026-05-01", None),
            ("2028-10-01", "2026-05-01", "2028-10-01"),
            ("2028-10-01", None, "2028-10-01"),
            ("2029-10-01", "2029-01-01", None),
        ],
    )
    def test_in_the_third_year_and_about_the_fifth(self, today, pruned, due):
        young = Young(self.PLANTED, pruned_on=pruned and dt.date.fromisoformat(pruned))
        found = [each.on.isoformat() for each in prunings(young, dt.date.fromisoformat(today))]
        assert found == ([due] if due else [])


@pytest.mark.django_db
class TestPlan:
    def test_a_replacement_stands_on_one_day_and_moves(self):
        task = ordered()
        plan(task)
        plan(task, FRIDAY + dt.timedelta(3))
        assert PlannedPlanting.objects.get().planting_day.day == dt.date(2026, 7, 6)

    def test_a_crew_plants_no_more_than_it_can(self):
        plan(ordered(), capacity=1)
        with pytest.raises(Refused, match="North crew plants 1 trees on 3 Jul 2026, and 1 stand there already"):
            plan(ordered())
        plan(ordered(), crew="South crew")

    @pytest.mark.parametrize("make", [opened, lambda: planted().task])
    def test_what_has_no_species_or_is_planted_is_not_planned(self, make):
        with pytest.raises(Refused, match="planned is what has its species chosen"):
            plan(make())

    def test_planted_it_leaves_the_plan(self):
        task = ordered()
        plan(task)
        workflow.plant(by=COMMAND, task=task, on=NOON.date())
        assert not PlannedPlanting.objects.exists()

    def test_taken_off_it_is_written_down(self):
        task = ordered()
        plan(task)
        unplan(by=COMMAND, task=task)
        assert RecordEntry.objects.filter(verb="planting unplanned").count() == 1
        with pytest.raises(Refused, match="stands on no day"):
            unplan(by=COMMAND, task=task)

    def test_a_day_that_passed_is_overdue_while_it_waits(self):
        task = ordered()
        plan(task, dt.date(2026, 6, 30))
        assert PlannedPlanting.objects.overdue(NOON.date()).count() == 1
        workflow.set_aside(by=COMMAND, task=task, on=NOON.date(), reason="no stock")
        assert PlannedPlanting.objects.overdue(NOON.date()).count() == 0


@pytest.mark.django_db(transaction=True)
def test_two_planners_fill_a_crews_last_place_at_once():
    first, second = ordered(), ordered()
    results = at_once(lambda: plan(first, capacity=1), lambda: plan(second, capacity=1))
    assert len(refusals(results)) == 1
    assert PlannedPlanting.objects.count() == 1


@pytest.mark.django_db
class TestPages:
    @pytest.fixture
    def planner(self, as_role):
        return as_role(Role.PLANNER)

    def test_ticked_replacements_go_on_a_day_and_its_sheet(self, planner):
        tasks = [ordered(TreeFactory(tag=f"OLD-{n}")) for n in (1, 2)]
        sent = {"tasks": [task.pk for task in tasks], "day": "2026-07-03", "crew": "North crew", "capacity": "5"}
        assert planner.post("/replanting/plan/", sent).status_code == 302
        html = planner.get(f"/replanting/plan/{PlantingDay.objects.get().pk}/").content.decode()
        for words in ("OLD-1", "OLD-2", "Is the root flare in sight", "buried services"):
            assert words in html

    def test_more_than_a_crew_can_plant_leaves_none_half_planned(self, planner):
        tasks = [ordered(), ordered()]
        sent = {"tasks": [task.pk for task in tasks], "day": "2026-07-03", "crew": "North crew", "capacity": "1"}
        response = planner.post("/replanting/plan/", sent)
        assert response.status_code == 409
        assert not PlannedPlanting.objects.exists()

    def test_an_overdue_day_is_said(self, planner):
        plan(ordered(), dt.date(2026, 6, 30))
        assert "1 planned for a day that has passed" in planner.get("/replanting/plan/").content.decode()

    def test_asks_the_database_the_same_however_long(self, planner, django_assert_max_num_queries):
        for _ in range(6):
            plan(ordered())
            chosen()
        for address in ("/replanting/plan/", f"/replanting/plan/{PlantingDay.objects.get().pk}/"):
            with django_assert_max_num_queries(8):
                assert planner.get(address).status_code == 200

    def test_the_planting_keeps_what_was_checked_and_shows_what_to_do(self, planner):
        task = ordered()
        sent = {
            "id": str(uuid.uuid4()),
            "on": "2026-06-10",
            "stock": "container",
            "caliper": "2 in",
            "ball": "24 in",
            "crew": "North crew",
            "flare": "no",
            "hole": "48 in",
        }
        for _ in range(2):
            planner.post(reverse("replanting:plant", args=[task.pk]), sent)
        planting = Planting.objects.get()
        assert (planting.ball_cm, planting.crew) == (pytest.approx(60.96), "North crew")
        assert planting.checks == {"flare": False, "hole": pytest.approx(121.92)}
        html = planner.get(reverse("replanting:task", args=[task.pk])).content.decode()
        assert "The root flare is buried" in html

    def test_outside_its_window_it_asks_why_and_then_is_recorded(self, planner):
        task = ordered(TreeFactory(park=ParkFactory(code="ALB", hardiness_zone="9a")))
        address = reverse("replanting:plant", args=[task.pk])
        sent = {"on": "2026-06-10", "stock": "bare root"}
        response = planner.post(address, sent)
        assert "10 Jun 2026 lies outside the window for Quercus, bare root" in response.content.decode()
        planner.post(address, {**sent, "season_reason": "cold store"})
        assert Planting.objects.get().season_reason == "cold store"

    def test_formative_pruning_in_one_tap(self, planner):
        planting = planted(on=dt.date(2024, 6, 1))
        html = planner.get("/replanting/care/?show=all").content.decode()
        assert "Formative pruning: one leader" in html
        sent = {"id": str(uuid.uuid4()), "did": Kind.PRUNE.value}
        planner.post(reverse("replanting:tap", args=[planting.pk]), sent)
        assert Pruning.objects.get().planting == planting
        assert "Formative pruning: one leader" not in planner.get("/replanting/care/?show=all").content.decode()

    def test_a_saturated_ball_is_not_watered_and_the_next_is_due_as_after_a_watering(self, planner):
        planting = planted(on=dt.date(2026, 6, 1))
        with pytest.raises(Refused, match="saturated is not watered"):
            workflow.visit(by=COMMAND, planting=planting, on=NOON.date(), saturated=True, watered_l=20)
        workflow.visit(by=COMMAND, planting=planting, on=NOON.date(), saturated=True)
        assert "Water by rule" not in planner.get("/replanting/care/?show=late").content.decode()

    def test_a_failure_names_its_causes(self, planner):
        planting = planted(on=dt.date(2026, 6, 1))
        sent = {"on": "2026-06-20", "causes": ["drought", "mower or trimmer"], "reason": "no gauge"}
        planner.post(reverse("replanting:fail", args=[planting.task_id]), sent)
        planting.refresh_from_db()
        assert planting.failure_causes == ["drought", "mower or trimmer"]
        assert planting.failure_reason == "drought, mower or trimmer: no gauge"
        html = planner.get("/replanting/care/losses/").content.decode()
        assert "Mower or trimmer" in html
        assert "spring 2026" in html
