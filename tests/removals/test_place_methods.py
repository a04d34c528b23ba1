"""Methods side by side for an order, the choice of one, and the city's own rates."""

import re
from html import unescape

import pytest
from django.urls import reverse

from inventory.access import Role
from inventory.errors import Refused
from inventory.models import RecordEntry
from removals import place_work
from removals.city_rules import city_rules, effort_of, rates_of, set_rules
from removals.estimates import Effort
from removals.felling_input import Site
from removals.method_work import choose_method, compared
from removals.methods import Access, Method, Rates, Ruling
from removals.models import CityRules
from removals.taking_down import latest_method
from tests.factories import TreeFactory
from tests.removals.builders import Story, inputs

LOOKED = Access(lift=True, crane=False)
RULES = {
    **dict.fromkeys(("person_hour", "climber_hour", "lift_day", "crane_day", "machine_day"), "100"),
    **{"lift_reach_m": "25", "machine_most_cm": "50", "nesting_from": "02-15", "nesting_to": "09-30"},
    **{"snag_inspection_months": "6", "stump_inspection_months": "24"},
    **{"small_hours": "2", "medium_hours": "5", "large_hours": "9", "very_large_hours": "15"},
    **{"crew_people": "4", "week_hours": "80"},
}


@pytest.fixture
def story(cast) -> Story:
    return Story(cast, TreeFactory(dbh_cm=36.0, height_m=15.0, crown_spread_m=6.0))


def row(order, method: Method, access: Access = LOOKED):
    return next(each for each in compared(order, access).rows if each.method is method)


def text(response) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


def choose(story, method: Method, reason: str = "It leaves the path open", access: Access = LOOKED):
    return choose_method(by=story.lead, order=story.order, method=method.value, reason=reason, access=access)


def test_without_a_plan_felling_is_still_to_be_settled(story):
    assert row(story.order, Method.PULLED).ruling is Ruling.TO_SETTLE


def test_the_latest_plan_answers_for_felling_with_a_line(story):
    story.planned()
    place_work.add_thing(by=story.lead, order=story.order, kind="obstacle", name="bin", points=[(200.0, 9.0)])
    assert row(story.order, Method.PULLED).ruling is Ruling.POSSIBLE
    assert row(story.order, Method.FELLED).ruling is Ruling.RULED_OUT


def test_what_stands_in_the_swath_now_rules_out_a_felling_that_was_planned_before(story):
    story.planned(inputs(site=Site(lay_deg=0.0)))
    place_work.add_thing(by=story.lead, order=story.order, kind="obstacle", name="bin", points=[(0.0, 9.0)])
    pulled = row(story.order, Method.PULLED)
    assert pulled.ruling is Ruling.RULED_OUT
    assert "bin (obstacle)" in pulled.against[0]


def test_a_wire_of_the_place_stops_every_method_until_it_is_isolated(story):
    place_work.add_thing(by=story.lead, order=story.order, kind="wire", name="drop", points=[(10.0, 9.0), (100.0, 9.0)])
    assert row(story.order, Method.LIFT).ruling is Ruling.RULED_OUT
    assert row(story.order, Method.LIFT, Access(lift=True, wires_isolated=True)).ruling is Ruling.POSSIBLE


def test_costs_follow_the_citys_rates(story):
    before = row(story.order, Method.CLIMBED).cost
    set_rules(by=story.manager, rates={"person_hour": 100.0, "climber_hour": 130.0})
    # The defaults doubled: 2 · 50 + 65 an hour became 2 · 100 + 130.
    assert row(story.order, Method.CLIMBED).cost == pytest.approx(2 * before)


def test_the_choice_is_kept_with_its_reason_and_the_rows_as_they_stood(story):
    entries = RecordEntry.objects.count()
    choose(story, Method.LIFT)
    kept = latest_method(story.order)
    assert (kept.method, kept.reason) == ("dismantled from a lift", "It leaves the path open")
    assert [each["method"] for each in kept.comparison["rows"]] == [each.value for each in Method]
    assert kept.comparison["access"]["crane"] is False
    assert RecordEntry.objects.count() == entries + 1


def test_a_method_that_is_ruled_out_is_refused(story):
    with pytest.raises(Refused, match="ruled out: It cannot be brought"):
        choose(story, Method.CRANE)
    with pytest.raises(Refused, match="is no method"):
        choose_method(by=story.lead, order=story.order, method="blown up", reason="Quick", access=LOOKED)
    with pytest.raises(Refused, match="Say why"):
        choose(story, Method.LIFT, reason=" ")


def test_the_last_choice_holds(story):
    choose(story, Method.LIFT)
    choose(story, Method.CLIMBED, "The lift sinks in")
    assert latest_method(story.order).method == Method.CLIMBED.value


def test_the_page_compares_chooses_and_remembers_the_answers(as_role, story):
    client, address = as_role(Role.CREW_LEAD), reverse("removals:methods", args=[story.order.pk])
    page = text(client.get(address, {"crane": "no", "lift": "yes"}))
    for words in ("Taken down with a crane ruled out", "It cannot be brought to the tree.", "cheapest", "To settle:"):
        assert words in page
    response = client.post(
        f"{address}?crane=no&lift=yes", {"method": Method.LIFT.value, "reason": "It leaves the path open"}
    )
    assert response.url == address
    again = text(client.get(address))
    assert "Chosen: dismantled from a lift." in again
    assert "It cannot be brought to the tree." in again


def test_a_tree_of_unknown_height_cannot_be_compared(as_role, cast):
    order = Story(cast, TreeFactory(height_m=None)).order
    page = as_role(Role.READER).get(reverse("removals:methods", args=[order.pk]))
    assert "height and diameter are needed" in text(page)


def test_the_citys_rules_start_from_the_defaults_and_are_set_by_a_manager(as_role, db):
    assert rates_of(city_rules()) == Rates()
    client = as_role(Role.MANAGER)
    assert client.post(reverse("removals:rules"), RULES).status_code == 302
    held = CityRules.objects.get()
    assert rates_of(held).lift_reach_m == 25.0
    assert effort_of(held) == Effort(
        small_hours=2, medium_hours=5, large_hours=9, very_large_hours=15, crew_people=4, week_hours=80
    )
    assert (held.nesting_from, held.nesting_to, held.snag_inspection_months) == ("02-15", "09-30", 6)
    assert RecordEntry.objects.filter(verb="rules set").count() == 1


def test_hours_out_of_the_order_of_the_sizes_are_refused_and_nothing_is_set(as_role, db):
    page = as_role(Role.MANAGER).post(reverse("removals:rules"), {**RULES, "large_hours": "4"})
    assert "A larger tree takes no fewer hours than a smaller one" in text(page)
    assert not CityRules.objects.exists()


@pytest.mark.parametrize("day", ["13-01", "02-30", "3-1", "spring"])
def test_a_day_that_does_not_exist_is_refused_and_nothing_is_set(as_role, db, day):
    page = as_role(Role.MANAGER).post(reverse("removals:rules"), {**RULES, "nesting_from": day[:5]})
    assert "is no day of the year" in text(page)
    assert not CityRules.objects.exists()


def test_a_reader_sees_the_rules_and_sets_none(as_role, db):
    client = as_role(Role.READER)
    assert "A climber, an hour" in text(client.get(reverse("removals:rules")))
    assert client.post(reverse("removals:rules"), RULES).status_code == 403


@pytest.mark.parametrize("page", ["order", "sheet"])
def test_the_chosen_method_stands_on_the_order_and_on_its_sheet(as_role, story, page):
    choose(story, Method.LIFT)
    said = text(as_role(Role.READER).get(reverse(f"removals:{page}", args=[story.order.pk])))
    assert re.search(r"dismantled from a lift ?: It leaves the path open", said, re.IGNORECASE)
