"""The programme as its readers meet it: orders in the order of the ranking, what-ifs that store nothing, the download."""

import csv
import datetime as dt
import re
from html import unescape
from io import StringIO

import pytest
import time_machine
from django.urls import reverse

from hazards import mitigation
from hazards.matrix import Rating
from hazards.models import Standing
from hazards.options import OptionPick
from inventory.access import Role
from inventory.models import RecordEntry
from inventory.record import COMMAND
from removals import workflow
from removals.city_rules import set_rules
from removals.models import MethodChoice
from tests.factories import TreeFactory
from tests.hazards.factories import EXTREME, HIGH, MODERATE, TargetFactory, inspect, pick
from tests.reports.city import small_city

pytestmark = pytest.mark.django_db
MONDAY = dt.date(2026, 6, 1)
FRIDAY = dt.date(2026, 6, 5)
URL = "/reports/programme/"


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(MONDAY, tick=False):
        yield


@pytest.fixture(autouse=True)
def _hours(db):
    hours = {"small_hours": 4, "medium_hours": 8, "large_hours": 16, "very_large_hours": 30}
    set_rules(by=COMMAND, rates={"person_hour": 50.0}, effort={**hours, "crew_people": 3, "week_hours": 16})


def rated(tag, severity, **facts):
    tree = TreeFactory(tag=tag, **facts)
    inspect(tree, pick(TargetFactory(park=tree.park), **severity))
    return tree


def ordered(tag, severity=HIGH, **facts):
    return workflow.propose(by=COMMAND, tree=rated(tag, severity, **facts), reason="hollow")


def shown(client, **asked):
    response = client.get(URL, asked)
    assert response.status_code == 200
    return response.context


def turns(context):
    return [(line.work.tag, line.ends) for line in context["shown"].lines]


def words(client, **asked):
    html = client.get(URL, asked).content.decode()
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", html)))


def test_orders_take_their_turn_in_the_order_of_the_ranking(as_role):
    for tag, severity in (("T1", MODERATE), ("T2", EXTREME), ("T3", HIGH)):
        ordered(tag, severity)
    context = shown(as_role(Role.READER))
    ranked = list(Standing.objects.ranked().values_list("tree__tag", flat=True))
    assert [tag for tag, _ in turns(context)] == ranked == ["T2", "T3", "T1"]
    assert [ends for _, ends in turns(context)] == [MONDAY, MONDAY, MONDAY + dt.timedelta(weeks=1)]


def test_an_unrated_tree_with_an_order_comes_last(as_role):
    workflow.propose(by=COMMAND, tree=TreeFactory(tag="T0"), reason="in the way of a bridge")
    ordered("T1", MODERATE)
    assert [tag for tag, _ in turns(shown(as_role(Role.READER)))] == ["T1", "T0"]


def test_the_counts_fall_as_the_orders_are_done(as_role):
    ordered("T1", EXTREME)
    ordered("T2", HIGH, dbh_cm=70.0)
    rated("T3", HIGH)
    weeks = shown(as_role(Role.READER))["weeks"]
    assert [week["counts"][:2] for week in weeks[:3]] == [[0, 2], [0, 1], [0, 1]]
    assert [week["used"] for week in weeks[:3]] == [16, 8, 0]


def test_the_hours_of_a_chosen_method_come_before_those_of_the_size(as_role):
    order = ordered("T1")
    row = {"method": "dismantled from a lift", "hours": 6.0, "cost": 1300.0}
    MethodChoice.objects.create(
        order=order, method=row["method"], reason="wet", comparison={"rows": [row]}, chosen_at=dt.datetime.now(dt.UTC)
    )
    (line,) = shown(as_role(Role.READER))["shown"].lines
    assert (line.work.estimate.hours, line.work.estimate.cost, line.work.estimate.source) == (
        6.0,
        1300.0,
        row["method"],
    )


def pruned(tag, tree=None, residual="low", hours=4.0, **facts):
    tree = tree or TreeFactory(tag=tag, **facts)
    option = OptionPick("prune", residual, chosen=True)
    look = inspect(tree, pick(TargetFactory(park=tree.park), options=(option,)))
    finding = look.assessments.get()
    return mitigation.propose(
        by=COMMAND, tree=tree, kind="prune", reason="dead limb", assessment=finding, estimated_hours=hours
    )


def test_work_other_than_removal_takes_its_turn_and_leaves_what_its_option_says(as_role):
    order = pruned("T1")
    context = shown(as_role(Role.READER))
    (line,) = context["shown"].lines
    assert (line.work.kind, line.work.number, line.work.estimate.hours) == ("prune", order.number, 4.0)
    assert line.work.leaves is Rating.LOW
    assert (context["shown"].made.now[Rating.HIGH], context["weeks"][0]["counts"][1]) == (1, 0)
    assert not context["bare"]


def test_work_without_a_said_outcome_lowers_no_count(as_role):
    tree = rated("T1", HIGH)
    mitigation.propose(by=COMMAND, tree=tree, kind="prune", reason="dead limb")
    context = shown(as_role(Role.READER))
    (line,) = context["shown"].lines
    assert line.work.estimate.hours == 8
    assert [week["counts"][1] for week in context["weeks"][:2]] == [1, 1]


def test_by_money_a_week_holds_what_it_can_pay(as_role):
    for tag in ("T1", "T2"):
        ordered(tag)
    context = shown(as_role(Role.READER), budget="1200")
    assert [ends for _, ends in turns(context)] == [MONDAY, MONDAY + dt.timedelta(weeks=1)]
    assert context["weeks"][0]["used"] == 8 * 3 * 50


def test_says_which_miss_their_day_and_by_how_much(as_role):
    ordered("T1", EXTREME)
    ordered("T2", MODERATE)
    client = as_role(Role.READER)
    late = (FRIDAY - dt.date(2026, 5, 5)).days
    assert f"1 misses its day, by up to {late} days." in words(client)
    only = shown(client, only="late")["page"].rows
    assert [line.work.tag for line in only] == ["T1"]


def test_trees_without_an_order_are_shown_as_not_reached(as_role):
    rated("T1", HIGH)
    client = as_role(Role.READER)
    said = words(client)
    assert "Without any order: 1 rated high; they are not reached." in said
    assert "T1 Park" in said.split("Not reached: nothing is ordered")[1]


def test_a_what_if_supposes_orders_for_the_gravest_and_stores_nothing(as_role):
    rated("T1", EXTREME)
    rated("T2", MODERATE)
    client, before = as_role(Role.READER), RecordEntry.objects.count()
    context = shown(client, suppose="on", hours="8", start="2026-06-10")
    assert turns(context) == [("T1", dt.date(2026, 6, 8))]
    assert context["weeks"][0]["counts"] == [0, 0, 1]
    assert RecordEntry.objects.count() == before


def test_an_extra_crew_for_some_weeks_ends_it_sooner(as_role):
    for number in range(4):
        ordered(f"T{number}")
    client = as_role(Role.READER)
    assert turns(shown(client))[-1][1] == dt.date(2026, 6, 8)
    assert turns(shown(client, extra="16", extra_weeks="1"))[-1][1] == MONDAY


@pytest.mark.parametrize("asked", [{"hours": "-4"}, {"start": "soon"}, {"budget": "much"}, {"extra_weeks": "2.5"}])
def test_what_cannot_be_read_is_told_and_the_citys_own_figures_stand(as_role, asked):
    ordered("T1")
    response = as_role(Role.READER).get(URL, asked)
    assert response.context["form"].errors
    assert response.context["weeks"][0]["has"] == 16


def test_without_hours_nothing_is_reached(as_role):
    ordered("T1")
    said = words(as_role(Role.READER), hours="0")
    assert "1 of them is not reached within five years." in said
    assert "not within five years" in said


def test_the_download_holds_all_orders_and_the_trees_without(as_role):
    ordered("T1", EXTREME)
    rated("=T2", HIGH)
    content = b"".join(as_role(Role.READER).get("/reports/programme.csv").streaming_content).decode("utf-8-sig")
    first, second = csv.DictReader(StringIO(content))
    assert (first["tag"], first["week_done"], first["hours"], first["reached"]) == ("T1", "2026-06-01", "8", "yes")
    assert (second["tag"], second["week_done"], second["reached"]) == ("'=T2", "", "no order")
    assert first["days_late_at_most"] == str((FRIDAY - dt.date(2026, 5, 5)).days)


def test_the_page_asks_the_same_questions_however_many_orders(as_role, django_assert_max_num_queries):
    small_city()
    client = as_role(Role.MANAGER)
    client.get(URL)
    with django_assert_max_num_queries(17):
        client.get(URL, {"suppose": "on"})


def test_ranking_and_removals_lead_to_it(as_role):
    client = as_role(Role.READER)
    for page in ("hazards:ranking", "removals:orders"):
        assert f'href="{URL}"' in client.get(reverse(page)).content.decode()
