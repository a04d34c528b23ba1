"""How long a removal takes before a method is chosen."""

from dataclasses import replace

import pytest

from removals.estimates import Effort, by_size, fault, of_hours
from removals.methods import HOURS, Method, Rates

EFFORT = Effort(small_hours=2, medium_hours=5, large_hours=9, very_large_hours=15, crew_people=4, week_hours=80)
RATES = Rates(person_hour=40.0)


@pytest.mark.parametrize(
    ("dbh_cm", "height_m", "hours", "source"),
    [
        (20.0, 8.0, 2, "a small tree"),
        (20.0, 18.0, 5, "a medium tree"),
        (70.0, None, 9, "a large tree"),
        (None, 35.0, 15, "a very large tree"),
        (None, None, 9, "not measured, taken as large"),
    ],
)
def test_hours_follow_the_greater_of_diameter_and_height(dbh_cm, height_m, hours, source):
    estimate = by_size(dbh_cm, height_m, EFFORT, RATES)
    assert (estimate.hours, estimate.source) == (hours, source)
    assert estimate.cost == hours * 4 * 40.0


def test_until_the_city_sets_its_own_the_slowest_way_stands_in():
    assert Effort().by_size == HOURS[Method.CLIMBED]
    assert all(hours <= slowest for hours, slowest in zip(HOURS[Method.FELLED], Effort().by_size, strict=True))


def test_known_hours_are_taken_as_they_are():
    assert of_hours(3.5, "pruning", EFFORT, RATES).cost == 3.5 * 4 * 40.0


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"small_hours": 0.1}, "0.1 hours for a small tree is out of bounds; it is 0.25 to 1000 hours."),
        ({"large_hours": 4}, "A larger tree takes no fewer hours than a smaller one"),
        ({"crew_people": 0}, "A crew of 0 is out of bounds; it has 1 to 20 people."),
        ({"week_hours": -1}, "-1 crew hours a week is out of bounds"),
    ],
)
def test_a_table_that_cannot_be_right_is_told(change, sentence):
    assert fault(EFFORT) == ""
    assert fault(replace(EFFORT, **change)).startswith(sentence)
