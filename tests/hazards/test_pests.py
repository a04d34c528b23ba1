"""The watch for pests: hosts, crown cover at stake, limits on pruning, who may change what."""

import datetime as dt
from math import pi

import pytest
import time_machine
from django.db import IntegrityError
from django.urls import reverse

from hazards.hosts import failing_first, hosts, hosts_of, limits_in_force
from hazards.models import PestWatch, PruningLimit
from hazards.pest_workflow import add_limit, drop_limit, end_pest_watch, is_day_of_year, watch_pest
from hazards.pests import PESTS, PUBLISHED, Limit, in_season
from inventory.access import Role
from inventory.errors import Refused
from inventory.models import Condition, RecordEntry, TreeStatus
from inventory.record import Actor
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory
from tests.hazards.factories import TargetFactory, inspect, pick

NOW = dt.datetime(2026, 6, 10, 12, 0, tzinfo=dt.UTC)
TODAY = NOW.date()
SINCE = dt.date(2026, 5, 1)


@pytest.fixture(autouse=True)
def _in_june():
    with time_machine.travel(NOW, tick=False):
        yield


def season(first: str, last: str) -> Limit:
    return Limit("Ulmus", "here", first, last, "no pruning", "the forester")


class TestSeasons:
    @pytest.mark.parametrize(
        ("first", "last", "day", "inside"),
        [
            ("04-01", "09-30", dt.date(2026, 4, 1), True),
            ("04-01", "09-30", dt.date(2026, 9, 30), True),
            ("04-01", "09-30", dt.date(2026, 10, 1), False),
            ("11-01", "02-28", dt.date(2026, 1, 15), True),
            ("11-01", "02-28", dt.date(2026, 3, 1), False),
        ],
    )
    def test_both_days_count_and_the_year_may_turn(self, first, last, day, inside):
        assert in_season(season(first, last), day) is inside

    def test_published_limits_are_of_hosts_and_name_who_says_so(self):
        for code, limits in PUBLISHED.items():
            for limit in limits:
                assert limit.genus in PESTS[code].genera
                assert is_day_of_year(limit.first)
                assert is_day_of_year(limit.last)
                assert limit.authority

    @pytest.mark.parametrize("text", ["02-30", "13-01", "4-1", "April", "04-15 "])
    def test_a_day_that_is_none(self, text):
        assert not is_day_of_year(text)


@pytest.fixture
def elms(db) -> PestWatch:
    """Three elms in two parks and an oak; Dutch elm disease on watch."""
    elm = SpeciesFactory(botanical="Ulmus americana", common="American elm")
    bank, side = ParkFactory(code="ALB", name="Alder Bank"), ParkFactory(code="BRK", name="Brook Side")
    TreeFactory(tag="E1", park=bank, species=elm, dbh_cm=20.0, crown_spread_m=4.0, condition=Condition.GOOD)
    TreeFactory(tag="E2", park=bank, species=elm, dbh_cm=70.0, crown_spread_m=None, condition=Condition.DYING)
    TreeFactory(tag="E3", park=side, species=elm, dbh_cm=None, crown_spread_m=6.0, status=TreeStatus.DEAD_STANDING)
    TreeFactory(tag="O1", park=side, crown_spread_m=12.0)
    TreeFactory(tag="GONE", park=side, species=elm, removed=True)
    return watch_pest(by=Actor(), pest="DED", since=SINCE)


class TestHosts:
    def test_by_park_and_size(self, elms):
        found = hosts(elms.kind.genera)
        assert [(park.code, park.trees, park.failing, dict(park.sizes)) for park in found.parks] == [
            ("ALB", 2, 1, {"15-30": 1, "60-90": 1}),
            ("BRK", 1, 1, {"": 1}),
        ]

    def test_the_share_of_crown_cover_at_stake(self, elms):
        found = hosts(elms.kind.genera)
        assert found.crown_m2 == pytest.approx(pi / 4 * (4**2 + 6**2))
        assert found.crown_share == pytest.approx((4**2 + 6**2) / (4**2 + 6**2 + 12**2))
        assert found.without_spread == 1

    def test_no_share_where_no_spread_is_measured(self, db):
        TreeFactory(crown_spread_m=None)
        assert hosts(("Quercus",)).crown_share is None

    def test_the_dead_then_the_dying_then_the_poor(self, elms):
        TreeFactory(tag="E4", species=SpeciesFactory(botanical="Ulmus americana"), condition=Condition.POOR)
        assert [tree.tag for tree in failing_first(hosts_of(["Ulmus"]))] == ["E3", "E2", "E4"]

    def test_costs_the_same_for_many_parks(self, elms, django_assert_max_num_queries):
        with django_assert_max_num_queries(4):
            hosts(elms.kind.genera)


def limit(watch: PestWatch, **facts) -> PruningLimit:
    usual = {"genus": "Ulmus", "region": "Alderquay", "first": "04-01", "last": "09-30"}
    return PruningLimit(watch=watch, **{"rule": "no pruning", "authority": "county forester", **usual, **facts})


class TestWorkflow:
    def test_one_pest_is_watched_once_at_a_time(self, elms):
        with pytest.raises(Refused, match="The Dutch elm disease is watched already"):
            watch_pest(by=Actor(), pest="DED", since=SINCE)
        end_pest_watch(by=Actor(), watch=elms, on=TODAY)
        assert watch_pest(by=Actor(), pest="DED", since=TODAY).pk != elms.pk

    def test_a_day_to_come_is_refused(self, db):
        with pytest.raises(Refused, match="11 Jun 2026 lies in the future"):
            watch_pest(by=Actor(), pest="EAB", since=TODAY + dt.timedelta(days=1))

    @pytest.mark.parametrize("on", [SINCE - dt.timedelta(days=1), TODAY + dt.timedelta(days=1)])
    def test_a_watch_ends_after_it_began_and_not_in_the_future(self, elms, on):
        with pytest.raises(Refused, match="it ends on that day or later, and not in the future"):
            end_pest_watch(by=Actor(), watch=elms, on=on)

    def test_an_ended_watch_ends_no_more(self, elms):
        end_pest_watch(by=Actor(), watch=elms, on=TODAY)
        with pytest.raises(Refused, match="ended on 10 Jun 2026 already"):
            end_pest_watch(by=Actor(), watch=elms, on=TODAY)

    def test_a_limit_is_of_a_host_and_of_days_that_exist(self, elms):
        with pytest.raises(Refused, match="Acer is no host of Dutch elm disease; choose Ulmus"):
            add_limit(by=Actor(), limit=limit(elms, genus="Acer"))
        with pytest.raises(Refused, match="“31 April” is not the last day"):
            add_limit(by=Actor(), limit=limit(elms, last="31 April"))
        with pytest.raises(IntegrityError):
            limit(elms, last="99-99").save()

    def test_a_limit_holds_in_its_season_while_the_pest_is_watched(self, elms):
        kept = add_limit(by=Actor(), limit=limit(elms))
        assert limits_in_force("Ulmus", TODAY) == [kept]
        assert limits_in_force("Ulmus", dt.date(2026, 12, 1)) == []
        end_pest_watch(by=Actor(), watch=elms, on=TODAY)
        assert limits_in_force("Ulmus", TODAY) == []

    def test_every_change_has_its_entry(self, elms):
        kept = add_limit(by=Actor(), limit=limit(elms))
        drop_limit(by=Actor(), limit=kept)
        end_pest_watch(by=Actor(), watch=elms, on=TODAY)
        verbs = (
            RecordEntry.objects.filter(subject_type="hazards.pestwatch").order_by("pk").values_list("verb", flat=True)
        )
        assert list(verbs) == [
            "watched a pest",
            "added a pruning limit",
            "dropped a pruning limit",
            "ended a pest watch",
        ]


class TestPages:
    def test_a_watch_is_begun_on_its_page(self, as_role, db):
        inspector = as_role(Role.INSPECTOR)
        answer = inspector.post(reverse("hazards:pests"), {"pest": "EAB", "since": "2026-05-01", "note": ""})
        assert answer.url == reverse("hazards:pest", args=[PestWatch.objects.get().pk])

    def test_a_second_watch_is_refused_on_the_form(self, as_role, elms):
        html = as_role(Role.INSPECTOR).post(reverse("hazards:pests"), {"pest": "DED", "since": "2026-05-01"})
        assert "is watched already" in html.content.decode()

    def test_shows_the_hosts_and_what_is_at_stake(self, as_role, elms):
        answer = as_role(Role.READER).get(reverse("hazards:pest", args=[elms.pk]))
        assert [tree.tag for tree in answer.context["failing"]] == ["E3", "E2"]
        assert "At stake: 26.5 % of the city's crown area" in " ".join(answer.content.decode().split())

    def test_limits_are_kept_and_taken_out(self, as_role, elms):
        inspector, url = as_role(Role.INSPECTOR), reverse("hazards:pest", args=[elms.pk])
        facts = {"genus": "Ulmus", "region": "Alderquay", "first": "04-01", "last": "09-30", "rule": "no pruning"}
        inspector.post(url, {**facts, "authority": "county forester", "limit": "1"})
        assert "In force today" in inspector.get(url).content.decode()
        inspector.post(url, {"drop": PruningLimit.objects.get().pk})
        assert not PruningLimit.objects.exists()

    def test_a_wrong_day_is_told_on_the_form(self, as_role, elms):
        facts = {"genus": "Ulmus", "region": "A", "first": "04-31", "last": "09-30", "rule": "r", "authority": "a"}
        answer = as_role(Role.INSPECTOR).post(reverse("hazards:pest", args=[elms.pk]), {**facts, "limit": "1"})
        assert "“04-31” is not the first day of a season" in answer.content.decode()
        assert not PruningLimit.objects.exists()

    def test_the_watch_ends(self, as_role, elms):
        url = reverse("hazards:pest", args=[elms.pk])
        as_role(Role.INSPECTOR).post(url, {"ended_on": "2026-06-10", "end": "1"})
        elms.refresh_from_db()
        assert elms.ended_on == TODAY
        assert "End the watch" not in as_role(Role.INSPECTOR).get(url).content.decode()

    def test_an_inspection_that_asks_for_pruning_is_warned_in_season(self, as_role, elms):
        add_limit(by=Actor(), limit=limit(elms))
        tree = hosts_of(["Ulmus"]).get(tag="E1")
        target = TargetFactory(park=tree.park)
        for mitigation, warned in [("prune", True), ("monitor", False)]:
            seen = inspect(tree, pick(target, mitigation=mitigation, residual_rating="low"))
            html = as_role(Role.READER).get(reverse("hazards:inspection", args=[seen.pk])).content.decode()
            assert ("Do not prune now:" in html) is warned

    def test_costs_the_same_for_many_hosts(self, as_role, elms, django_assert_max_num_queries):
        for _ in range(20):
            TreeFactory(species=SpeciesFactory(botanical="Ulmus americana"), condition=Condition.DYING)
        reader = as_role(Role.READER)
        with django_assert_max_num_queries(12):
            reader.get(reverse("hazards:pest", args=[elms.pk]))
