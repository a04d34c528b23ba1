"""A city's own times: what they may be, that a change reaches every tree at once, and who changed them."""

import datetime as dt
import re
from dataclasses import replace

import pytest
from django.urls import reverse

from hazards.city_policy import change_policy, current, fields_of
from hazards.matrix import Consequences, Failure, Occupancy, Rating
from hazards.models import CityPolicy, Standing
from hazards.policy import DEFAULT, Policy, faults
from hazards.policy_views import places_of
from hazards.triage import ORDER, Criterion
from hazards.workflow import restand_city
from inventory.access import Role
from inventory.errors import Refused
from inventory.models import RecordEntry
from inventory.record import Actor
from tests.factories import TreeFactory
from tests.hazards.at_once import at_once
from tests.hazards.factories import EXTREME, HIGH, LOW, MODERATE, MORNING, TargetFactory, inspect, pick
from tests.hazards.random_city import random_city

DAY = MORNING.date()


def work(**days: int | None) -> Policy:
    return replace(DEFAULT, work_days={**DEFAULT.work_days, **{Rating(name): value for name, value in days.items()}})


def rounds(**months: int) -> Policy:
    return replace(
        DEFAULT, round_months={**DEFAULT.round_months, **{Occupancy(name): value for name, value in months.items()}}
    )


EVERYTHING = replace(
    Policy(),
    work_days={Rating.EXTREME: 3, Rating.HIGH: 14, Rating.MODERATE: 200, Rating.LOW: 900},
    imminent_work_days=2,
    round_months={Occupancy.CONSTANT: 6, Occupancy.FREQUENT: 12, Occupancy.OCCASIONAL: 24, Occupancy.RARE: 48},
    dead_inspection_days=45,
    rerating_days=10,
    look_days={Rating.EXTREME: 3, Rating.HIGH: 30, Rating.MODERATE: 120, Rating.LOW: None},
    order=(Criterion.DECLINE, Criterion.DUE, Criterion.OCCUPANCY, Criterion.WEAK_WOOD),
)


def ordered(*order: Criterion) -> Policy:
    return replace(DEFAULT, order=order)


def looks(**days: int | None) -> Policy:
    return replace(DEFAULT, look_days={**DEFAULT.look_days, **{Rating(name): value for name, value in days.items()}})


class TestFaults:
    @pytest.mark.parametrize("sound", [DEFAULT, EVERYTHING, work(moderate=None)], ids=["default", "other", "open end"])
    def test_a_sound_policy_has_none(self, sound):
        assert faults(sound) == []

    @pytest.mark.parametrize(
        ("policy", "sentence"),
        [
            (work(high=400), "What is high waits longer than what is moderate; give it 365 days or fewer."),
            (work(extreme=29), "What is extreme waits longer than what is high; give it 28 days or fewer."),
            (
                work(moderate=None, low=400),
                "What is moderate waits longer than what is low; give it 400 days or fewer.",
            ),
            (replace(DEFAULT, imminent_work_days=2), "What is imminent waits longer than what is extreme"),
            (work(low=4000), "4000 days to the work of low is out of bounds; it is 0 to 3650 days."),
            (rounds(frequent=40), "Places in frequent use are inspected less often than those in occasional use"),
            (rounds(rare=0), "A round of 0 months for rare use is out of bounds"),
            (replace(DEFAULT, rerating_days=0), "A new rating 0 days after the work is out of bounds; it is 1 to 365"),
            (replace(DEFAULT, dead_inspection_days=800), "Dead trees every 800 days is out of bounds; it is 1 to 730"),
            (looks(high=0), "A look at what is rated high every 0 days is out of bounds; it is 1 to 730 days."),
            (
                looks(extreme=91),
                "What is rated extreme is looked at less often than what is rated high; give it 90 days",
            ),
            (looks(high=None, moderate=300), "What is rated high is looked at less often than what is rated moderate"),
            (ordered(Criterion.DUE, Criterion.DUE), "Due day stands twice in the order; give each place once."),
        ],
    )
    def test_what_is_graver_waits_no_longer(self, policy, sentence):
        assert any(said.startswith(sentence) for said in faults(policy))


@pytest.mark.django_db
class TestChange:
    def test_until_the_city_sets_one_the_defaults_hold(self):
        assert current() == DEFAULT

    def test_what_was_set_holds(self, by_manager):
        change_policy(by=by_manager, policy=EVERYTHING, seen=0)
        assert current() == EVERYTHING

    def test_reaches_the_dates_the_order_and_the_reasons(self, by_manager):
        tree = TreeFactory()
        inspect(tree, pick(TargetFactory(park=tree.park), **HIGH))
        before = Standing.objects.get(tree=tree)
        assert change_policy(by=by_manager, policy=work(high=7), seen=0) == 1
        after = Standing.objects.get(tree=tree)
        assert after.work_due == DAY + dt.timedelta(days=7)
        assert before.triage_key - after.triage_key == 21
        assert after.reason == before.reason.replace("work due by 1 Jun 2026", "work due by 11 May 2026")

    def test_work_may_come_to_be_due_and_to_be_due_no_more(self, by_manager):
        tree = TreeFactory()
        inspect(tree, pick(TargetFactory(park=tree.park), **LOW))
        change_policy(by=by_manager, policy=work(low=400), seen=0)
        assert "work due by 8 Jun 2027." in Standing.objects.get(tree=tree).reason
        change_policy(by=by_manager, policy=DEFAULT, seen=1)
        assert Standing.objects.get(tree=tree).work_due is None
        assert "no work due before the next inspection." in Standing.objects.get(tree=tree).reason

    @pytest.mark.parametrize(
        "policy",
        [
            EVERYTHING,
            work(moderate=None, low=None),
            rounds(rare=16, occasional=16),
            looks(extreme=1, high=2, moderate=3, low=4),
            ordered(*reversed(Criterion)),
            ordered(Criterion.WEAK_WOOD, Criterion.CONSEQUENCES),
            ordered(),
        ],
    )
    def test_leaves_every_tree_as_if_it_were_worked_out_one_by_one(self, by_manager, policy):
        random_city()
        assert change_policy(by=by_manager, policy=policy, seen=0) > 0
        assert restand_city() == 0

    def test_an_inspection_made_afterwards_takes_the_new_times(self, by_manager):
        change_policy(by=by_manager, policy=EVERYTHING, seen=0)
        tree = TreeFactory()
        inspect(tree, pick(TargetFactory(park=tree.park), **MODERATE))
        assert Standing.objects.get(tree=tree).work_due == DAY + dt.timedelta(days=200)

    def test_a_new_order_moves_the_ranking_and_leaves_its_dates_alone(self, by_manager):
        used, grave = TreeFactory(tag="T1"), TreeFactory(tag="T2")
        for tree, use, consequences in ((used, "constant", "significant"), (grave, "rare", "severe")):
            target = TargetFactory(park=tree.park, occupancy=use)
            inspect(tree, pick(target, consequences=Consequences(consequences), impact_reason="seen"))
        ranked = Standing.objects.ranked().values_list("tree__tag", "work_due")
        before = dict(ranked)
        assert list(before) == ["T2", "T1"]
        own = ordered(Criterion.OCCUPANCY, Criterion.CONSEQUENCES)
        assert change_policy(by=by_manager, policy=own, seen=0) == 2
        assert list(ranked.all()) == [("T1", before["T1"]), ("T2", before["T2"])]

    def test_the_next_rating_takes_its_place_in_the_citys_order(self, by_manager):
        change_policy(by=by_manager, policy=ordered(), seen=0)
        for tag, severity in (("T2", HIGH), ("T1", HIGH), ("T0", LOW)):
            tree = TreeFactory(tag=tag)
            inspect(tree, pick(TargetFactory(park=tree.park), **severity))
        assert list(Standing.objects.ranked().values_list("tag", flat=True)) == ["T1", "T2", "T0"]

    def test_a_grave_rating_is_looked_at_again_before_its_round(self, by_manager):
        tree = TreeFactory()
        inspect(tree, pick(TargetFactory(park=tree.park), **HIGH))
        assert Standing.objects.get(tree=tree).inspect_due == DAY + dt.timedelta(days=90)
        change_policy(by=by_manager, policy=looks(high=20), seen=0)
        assert Standing.objects.get(tree=tree).inspect_due == DAY + dt.timedelta(days=20)
        change_policy(by=by_manager, policy=looks(extreme=None, high=None), seen=1)
        assert Standing.objects.get(tree=tree).inspect_due == DAY + dt.timedelta(
            days=DEFAULT.round_days(Occupancy.CONSTANT)
        )

    def test_an_imminent_failure_is_looked_at_again_as_what_is_rated_extreme(self):
        tree = TreeFactory()
        failing = pick(TargetFactory(park=tree.park), failure=Failure.IMMINENT, consequences=Consequences.NEGLIGIBLE)
        inspect(tree, failing)
        standing = Standing.objects.get(tree=tree)
        assert (standing.rating, standing.inspect_due) == ("low", DAY + dt.timedelta(days=7))

    def test_an_imminent_failure_keeps_its_own_time(self, by_manager):
        tree = TreeFactory()
        inspect(tree, pick(TargetFactory(park=tree.park), **EXTREME))
        change_policy(by=by_manager, policy=replace(work(extreme=5), imminent_work_days=0), seen=0)
        assert Standing.objects.get(tree=tree).work_due == DAY

    def test_one_statement_dates_the_city(self, by_manager, django_assert_max_num_queries):
        random_city()
        with django_assert_max_num_queries(8):
            change_policy(by=by_manager, policy=EVERYTHING, seen=0)

    def test_the_record_keeps_each_old_and_new_time(self, by_manager):
        change_policy(by=by_manager, policy=work(high=7, low=700), seen=0)
        entry = RecordEntry.objects.get(verb="set the policy")
        assert entry.data["changes"] == {"high_days": [28, 7], "low_days": [None, 700]}
        assert entry.summary == "Set the policy: high, days: 28 → 7; low, days: next round → 700."

    def test_the_record_keeps_the_old_and_the_new_order(self, by_manager):
        change_policy(by=by_manager, policy=ordered(Criterion.DUE), seen=0)
        entry = RecordEntry.objects.get(verb="set the policy")
        assert entry.data["changes"]["order"] == [[each.value for each in ORDER], ["due day"]]
        assert entry.summary.endswith("→ due day.")

    def test_the_same_again_changes_nothing(self, by_manager):
        assert change_policy(by=by_manager, policy=DEFAULT, seen=0) == 0
        assert not CityPolicy.objects.exists()

    def test_a_wrong_one_is_refused_and_nothing_stored(self, by_manager):
        with pytest.raises(Refused, match="What is high waits longer"):
            change_policy(by=by_manager, policy=work(high=400), seen=0)
        assert not CityPolicy.objects.exists()


@pytest.mark.django_db(transaction=True)
class TestAtOnce:
    def test_of_two_managers_the_second_is_told(self):
        first, second = work(high=7), work(high=21)
        raised = at_once(
            lambda: change_policy(by=Actor(), policy=first, seen=0),
            lambda: change_policy(by=Actor(), policy=second, seen=0),
        )
        assert [type(error) for error in raised] == [Refused]
        assert "while this page was open" in str(raised[0])
        assert RecordEntry.objects.filter(verb="set the policy").count() == 1

    def test_of_two_orders_the_second_is_told_and_every_key_is_of_the_first(self):
        trees = [TreeFactory() for _ in range(6)]
        for tree in trees:
            inspect(tree, pick(TargetFactory(park=tree.park)))
        raised = at_once(
            lambda: change_policy(by=Actor(), policy=ordered(Criterion.OCCUPANCY), seen=0),
            lambda: change_policy(by=Actor(), policy=ordered(Criterion.WEAK_WOOD), seen=0),
        )
        assert [type(error) for error in raised] == [Refused]
        assert Standing.objects.values("triage_key").distinct().count() == 1
        assert restand_city() == 0

    def test_no_inspection_stored_meanwhile_keeps_the_old_place(self):
        trees = [TreeFactory() for _ in range(6)]
        targets = [TargetFactory(park=tree.park) for tree in trees]
        acts = [
            lambda tree=tree, target=target: inspect(tree, pick(target))
            for tree, target in zip(trees, targets, strict=True)
        ]
        assert at_once(*acts, lambda: change_policy(by=Actor(), policy=ordered(Criterion.OCCUPANCY), seen=0)) == []
        assert restand_city() == 0

    def test_no_inspection_stored_meanwhile_keeps_the_old_dates(self):
        trees = [TreeFactory() for _ in range(6)]
        targets = [TargetFactory(park=tree.park) for tree in trees]
        looks = [
            lambda tree=tree, target=target: inspect(tree, pick(target))
            for tree, target in zip(trees, targets, strict=True)
        ]
        assert at_once(*looks, lambda: change_policy(by=Actor(), policy=work(high=7), seen=0)) == []
        assert set(Standing.objects.values_list("work_due", flat=True)) == {DAY + dt.timedelta(days=7)}


@pytest.mark.django_db
class TestPage:
    def send(self, client, **values):
        fields = {**fields_of(DEFAULT), **places_of(DEFAULT.order), "seen": 0, **values}
        return client.post(
            reverse("hazards:policy"), {key: "" if value is None else value for key, value in fields.items()}
        )

    def test_shows_everybody_what_holds(self, as_role):
        html = as_role(Role.READER).get(reverse("hazards:policy")).content.decode()
        assert "within 28 days" in html
        assert "Set the policy" not in html

    @pytest.mark.parametrize("role", [Role.MANAGER, Role.ADMINISTRATOR])
    def test_a_manager_sets_it(self, as_role, role):
        assert self.send(as_role(role), high_days=7).status_code == 302
        assert current() == work(high=7)

    def test_a_manager_sets_the_order_and_leaves_something_out(self, as_role):
        places = {
            "place_occupancy": "1",
            "place_consequences": "2",
            "place_failure_and_impact": "4",
            "place_decline": "",
        }
        assert self.send(as_role(Role.MANAGER), **places, place_weak_wood="", place_due="").status_code == 302
        assert current() == ordered(Criterion.OCCUPANCY, Criterion.CONSEQUENCES, Criterion.FAILURE_AND_IMPACT)

    def test_two_criteria_at_one_place_are_told(self, as_role):
        html = self.send(as_role(Role.MANAGER), place_occupancy="1").content.decode()
        assert "Two criteria stand at place 1 of the order; give each a place of its own." in html
        assert current() == DEFAULT

    def test_shows_everybody_the_order(self, as_role):
        html = as_role(Role.READER).get(reverse("hazards:policy")).content.decode()
        listed = re.findall(r"<li>([^<]+)</li>", html.split('class="order-of-ranking"')[1].split("</ol>")[0])
        assert listed[:3] == ["Imminent failure", "Rating", "How likely it is to fail and hit"]
        assert listed[-1] == "Tag"

    def test_an_inspector_may_not(self, as_role):
        assert self.send(as_role(Role.INSPECTOR), high_days=7).status_code == 403

    def test_an_empty_time_for_low_means_the_next_round(self, as_role):
        self.send(as_role(Role.MANAGER), low_days=800)
        self.send(as_role(Role.MANAGER), low_days=None, high_days=7, seen=1)
        assert current() == work(high=7)

    def test_the_second_of_two_is_told_on_the_page(self, as_role):
        self.send(as_role(Role.MANAGER), high_days=7)
        html = self.send(as_role(Role.ADMINISTRATOR), high_days=14).content.decode()
        assert "The policy was changed while this page was open" in html
        assert current() == work(high=7)

    def test_says_who_changed_it(self, as_role):
        manager = as_role(Role.MANAGER)
        self.send(manager, high_days=7)
        html = manager.get(reverse("hazards:policy")).content.decode()
        assert "high, days: 28 → 7" in html
