"""Rounds by park and week: what is due, overdue first, in the order of a walk."""

import datetime as dt

import pytest
import time_machine
from django.urls import reverse

from hazards.asked import ask_look
from hazards.matrix import Impact
from hazards.models import Standing
from hazards.rounds import WEEKS_AHEAD, by_park, the_round, week_of, weeks_ahead
from inventory.access import Role
from inventory.cells import cell
from inventory.models import Tree, TreeStatus
from inventory.record import COMMAND
from tests.factories import ParkFactory, TreeFactory
from tests.hazards.factories import LOW, MORNING, TargetFactory, inspect, pick

WEDNESDAY = dt.date(2026, 6, 3)
MONDAY, SUNDAY = dt.date(2026, 6, 1), dt.date(2026, 6, 7)


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(WEDNESDAY, tick=False):
        yield


@pytest.fixture
def park(db):
    return ParkFactory(code="LG", name="Lantern Green")


def due(park, tag, on, lon=None, lat=50.0) -> Tree:
    position = {} if lon is None else {"lon": lon, "lat": lat, "cell": cell(lon, lat)}
    tree = TreeFactory(park=park, tag=tag, **position)
    Standing.objects.filter(tree=tree).update(inspect_due=on, inspected_on=dt.date(2025, 1, 1))
    return tree


def day(number: int) -> dt.date:
    return MONDAY + dt.timedelta(days=number)


def tags(found) -> list[str]:
    by_number = dict(Tree.objects.values_list("pk", "tag"))
    return [by_number[tree] for tree in found.trees]


def test_a_week_runs_from_monday_to_sunday():
    week = week_of(dt.date(2026, 6, 11), WEDNESDAY)
    assert (week.monday, week.counted_from, week.sunday) == (day(7), day(7), day(13))


def test_of_the_week_that_runs_the_days_gone_by_are_overdue():
    week = week_of(WEDNESDAY, WEDNESDAY)
    assert (week.monday, week.counted_from, week.sunday) == (MONDAY, WEDNESDAY, SUNDAY)


def test_what_is_overdue_comes_first_and_what_is_due_later_not_at_all(park):
    for tag, on in (("T1", day(6)), ("T2", day(1)), ("T3", day(7)), ("T4", day(-400)), ("T5", day(2))):
        due(park, tag, on)
    due(ParkFactory(code="OT"), "T6", day(0))
    TreeFactory(park=park, tag="T7")  # never inspected: nothing is due
    found = the_round(park, week_of(WEDNESDAY, WEDNESDAY))
    assert tags(found) == ["T2", "T4", "T1", "T5"]
    assert found.overdue == 2


def test_neighbours_in_the_park_are_neighbours_on_the_list(park):
    """Two groups of trees 500 m apart, tagged across each other; each group is walked whole, unlocated trees come last."""
    for number in range(4):
        due(park, f"T{number * 2}", day(4), lon=1.0 + number * 1e-5)
        due(park, f"T{number * 2 + 1}", day(4), lon=1.007 + number * 1e-5)
    due(park, "T0-unlocated", day(4))
    walk = tags(the_round(park, week_of(WEDNESDAY, WEDNESDAY)))
    groups = ["".join(sorted(tag[1] for tag in part)) for part in (walk[:4], walk[4:8])]
    assert sorted(groups) == ["0246", "1357"]
    assert walk[8] == "T0-unlocated"


def test_a_week_to_come_holds_what_is_not_seen_before(park):
    due(park, "T1", day(5))
    due(park, "T2", day(8))
    found = the_round(park, week_of(day(7), WEDNESDAY))
    assert (tags(found), found.overdue) == (["T1", "T2"], 1)


def test_counts_each_park_by_week(park):
    other = ParkFactory(code="OT", name="Otter Park")
    for number, on in enumerate([day(1), day(2), day(6), day(7), day(7 * WEEKS_AHEAD - 1), day(7 * WEEKS_AHEAD)]):
        due(park, f"T{number}", on)
    due(other, "T9", day(13))
    first, second = by_park(WEDNESDAY)
    counts = [first[f"week_{number}"] for number in range(WEEKS_AHEAD)]
    assert (first["park__name"], first["overdue"], counts) == ("Lantern Green", 1, [2, 1, 0, 0, 0, 0, 0, 1])
    assert (second["park__name"], second["week_1"]) == ("Otter Park", 1)
    assert len(weeks_ahead(WEDNESDAY)) == WEEKS_AHEAD


def test_standing_dead_trees_come_up_every_ninety_days(park):
    tree = TreeFactory(park=park, tag="T1")
    inspect(tree, pick(TargetFactory(park=park, occupancy="rare"), **LOW, impact=Impact.VERY_LOW), condition="dead")
    due_on = MORNING.date() + dt.timedelta(days=90)
    assert Tree.objects.get(pk=tree.pk).status == TreeStatus.DEAD_STANDING
    assert tags(the_round(park, week_of(due_on, WEDNESDAY))) == ["T1"]
    assert tags(the_round(park, week_of(due_on - dt.timedelta(weeks=1), WEDNESDAY))) == []


def test_the_city_page_leads_to_each_round(park, as_role):
    due(park, "T1", day(9))
    html = as_role(Role.READER).get(reverse("hazards:rounds")).content.decode()
    assert f'href="/hazards/rounds/LG/?week={day(7)}"' in html


def test_a_round_is_shown_with_its_overdue_ones_apart(park, as_role):
    due(park, "T1", day(-10))
    due(park, "T2", day(5))
    context = as_role(Role.INSPECTOR).get("/hazards/rounds/LG/").context
    parts = [(title, [row.tree.tag for row in rows], start) for title, _, rows, start in context["parts"]]
    assert parts == [("Overdue", ["T1"], 1), ("Due in the week", ["T2"], 2)]


def test_a_long_round_takes_several_sheets_and_its_stops_go_on_counting(park, as_role):
    for number in range(130):
        due(park, f"T{number:03d}", day(-3 if number < 110 else 4))
    client = as_role(Role.READER)
    first = client.get("/hazards/rounds/LG/").context
    second = client.get("/hazards/rounds/LG/", {"page": first["page"].next}).context
    shape = [(title, len(rows), start) for title, _, rows, start in [*first["parts"], *second["parts"]]]
    assert shape == [("Overdue", 100, 1), ("Overdue", 10, 101), ("Due in the week", 20, 111)]


@pytest.mark.parametrize("asked", ["", "soon", "2020-01-01", "2026-02-30"])
def test_a_week_that_is_over_or_none_is_this_one(park, as_role, asked):
    week = as_role(Role.READER).get("/hazards/rounds/LG/", {"week": asked}).context["week"]
    assert week.monday == MONDAY


def test_the_tablet_takes_the_round_along(park, as_role):
    due(park, "T1", day(5))
    link = f'href="/field/#/due?park=LG&until={SUNDAY}"'
    assert link in as_role(Role.INSPECTOR).get("/hazards/rounds/LG/").content.decode().replace("&amp;", "&")
    assert "/field/#/due" not in as_role(Role.READER).get("/hazards/rounds/LG/").content.decode()


def test_both_pages_ask_few_questions(park, as_role, django_assert_max_num_queries):
    for number in range(30):
        due(park, f"T{number}", day(number - 10))
    client = as_role(Role.READER)
    for url in ("/hazards/rounds/", "/hazards/rounds/LG/"):
        with django_assert_max_num_queries(8):
            client.get(url)


def test_a_look_that_was_asked_for_says_why(park, as_role):
    tree = TreeFactory(park=park, tag="T1")
    ask_look(by=COMMAND, tree=tree, due_on=day(4), why="After the storm")
    assert "asked for: After the storm" in as_role(Role.READER).get("/hazards/rounds/LG/").content.decode()
