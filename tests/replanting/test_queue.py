"""The queue of what waits: by park, season and day, with what stands in the way."""

import datetime as dt
from itertools import pairwise

import pytest
import time_machine
from django.db import connection

from inventory.access import Role
from inventory.record import COMMAND
from replanting.due_seasons import seasons_from
from replanting.models import ObstacleKind, ReplacementTask
from replanting.obstacles import put_obstacle, stump_is_out
from replanting.parting import move
from tests.factories import ParkFactory, TreeFactory
from tests.replanting.test_pages import page, tags
from tests.replanting.walk import opened

pytestmark = pytest.mark.django_db
NOON = dt.datetime(2026, 7, 1, 12, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def _on_the_first_of_july():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def planner(as_role):
    return as_role(Role.PLANNER)


def free(tag: str) -> ReplacementTask:
    """A task in whose way nothing stands."""
    task = opened(TreeFactory(tag=tag))
    stump_is_out(by=COMMAND, tree=task.removed_tree, on=dt.date(2026, 6, 2))
    return task


def test_what_stands_in_the_way_is_shown_and_filtered(planner):
    opened(TreeFactory(tag="STUMP"))
    free("FREE")
    put_obstacle(by=COMMAND, task=free("DRY"), kind=ObstacleKind.WATER)
    html = page(planner, "/replanting/")
    assert "Stump still in" in html
    assert "No water" in html
    assert tags(page(planner, "/replanting/?obstacle=stump+still+in")) == ["STUMP"]
    assert tags(page(planner, "/replanting/?obstacle=none")) == ["FREE"]
    assert set(tags(page(planner, "/replanting/?obstacle=any"))) == {"STUMP", "DRY"}


def test_the_park_of_the_queue_is_the_one_in_which_it_is_planted(planner):
    task, pond = opened(TreeFactory(tag="T", park=ParkFactory(code="MEA", name="Mead"))), ParkFactory(code="PON")
    move(by=COMMAND, task=task, park=pond, reason="no room")
    assert tags(page(planner, "/replanting/?park=PON")) == ["T"]
    assert tags(page(planner, "/replanting/?park=MEA")) == []
    assert "owed by Mead" in page(planner, "/replanting/")


def test_by_the_season_in_which_it_must_be_planted_at_the_latest(planner):
    """Due on 14 August it is planted in spring, a day later in autumn still; a day in February belongs to the autumn before."""
    for tag, day in {"SPRING": "2027-08-14", "AUTUMN": "2027-08-15", "FEBRUARY": "2028-02-28"}.items():
        ReplacementTask.objects.filter(pk=opened(TreeFactory(tag=tag)).pk).update(due_on=day)
    assert tags(page(planner, "/replanting/?season=2027-03-01")) == ["SPRING"]
    assert tags(page(planner, "/replanting/?season=2027-08-15")) == ["AUTUMN", "FEBRUARY"]


def test_seasons_follow_each_other_without_a_gap():
    found = seasons_from(dt.date(2026, 7, 1), 5)
    assert [season.name for season in found] == [
        "spring 2026",
        "autumn 2026",
        "spring 2027",
        "autumn 2027",
        "spring 2028",
    ]
    assert all(one.last + dt.timedelta(1) == two.first for one, two in pairwise(found))


def test_asks_the_database_the_same_with_obstacles_and_moves(planner, django_assert_max_num_queries):
    pond = ParkFactory(code="PON")
    for number in range(12):
        task = opened(TreeFactory(tag=f"T{number}"))
        put_obstacle(by=COMMAND, task=task, kind=ObstacleKind.WATER)
        if number % 2:
            move(by=COMMAND, task=task, park=pond, reason="no room")
    with django_assert_max_num_queries(9):
        page(planner, "/replanting/?obstacle=any")


def test_a_page_of_a_park_walks_its_index():
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL enable_seqscan = off")
    rows = ReplacementTask.objects.filter(stands_in=1).order_by("due_on", "id")[:51]
    plan = rows.explain()
    assert "task_stands_in_due" in plan
    assert "Sort" not in plan
