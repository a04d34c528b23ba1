"""What the watch counts, whom it compares, and what it says."""

import datetime as dt
import json
from io import StringIO

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.urls import reverse

from hazards.mortality import Count, by_park
from hazards.watch import Watch, watch
from hazards.watch_plot import MOST, plot, x_of
from hazards.watch_words import Names, sentence
from inventory.access import Role
from inventory.models import Condition, DatePrecision, Tree, TreeStatus
from inventory.record import Actor
from removals.workflow import already_down
from replanting.workflow import fail
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory
from tests.hazards.factories import inspect
from tests.replanting.walk import planted

NOW = dt.datetime(2026, 6, 10, 12, 0, tzinfo=dt.UTC)
TODAY = NOW.date()
IN_THE_YEAR = dt.date(2026, 3, 1)
BEFORE = dt.date(2025, 5, 1)


@pytest.fixture(autouse=True)
def _in_june():
    with time_machine.travel(NOW, tick=False):
        yield


def counted(days: int = 365) -> tuple[int, int]:
    found = watch(end=TODAY, days=days)
    return found.trees, found.deaths


def dead(**facts) -> Tree:
    return TreeFactory(status=TreeStatus.DEAD_STANDING, **facts)


@pytest.mark.django_db
class TestWhatIsCounted:
    def test_a_standing_tree_found_dead_by_an_inspection(self):
        inspect(TreeFactory(), condition=Condition.DEAD)
        assert counted() == (1, 1)

    def test_a_tree_found_lying_that_was_held_for_alive(self, by_manager):
        already_down(by=by_manager, order_or_tree=TreeFactory(), on=IN_THE_YEAR, cause="storm")
        assert counted() == (1, 1)

    def test_a_planting_that_failed(self, cast):
        planting = planted(TreeFactory())
        before = counted()
        fail(by=Actor(cast[Role.PLANNER]), task=planting.task, on=TODAY, reason="drought")
        assert counted() == (before[0], before[1] + 1)

    def test_a_tree_felled_alive_is_at_risk_and_no_death(self):
        TreeFactory(removed=True)
        assert counted() == (1, 0)

    def test_a_dead_tree_that_was_felled_since_still_counts(self):
        TreeFactory(removed=True, dead_since=IN_THE_YEAR)
        assert counted() == (1, 1)

    @pytest.mark.parametrize(
        "facts",
        [
            {"status": TreeStatus.DEAD_STANDING, "dead_since": BEFORE},
            {"status": TreeStatus.REMOVED, "removed_on": BEFORE},
            {
                "planted_on": dt.date(2026, 9, 1),
                "planted_precision": DatePrecision.DAY,
            },
        ],
        ids=["dead before", "gone before", "planted afterwards"],
    )
    def test_what_was_not_at_risk_is_not_counted(self, facts):
        TreeFactory(**facts)
        assert counted() == (0, 0)

    def test_a_death_that_nobody_can_date_is_left_out_and_told(self):
        dead(dead_since=None)
        found = watch(end=TODAY)
        assert (found.trees, found.deaths, found.undated) == (0, 0, 1)

    def test_a_tree_dead_at_an_unknown_time_does_not_die_when_it_falls(self, by_manager):
        already_down(by=by_manager, order_or_tree=dead(dead_since=None), on=IN_THE_YEAR, cause="storm")
        assert counted()[1] == 0

    def test_a_tree_of_unknown_species_is_left_out_and_told(self):
        TreeFactory(species=None)
        found = watch(end=TODAY)
        assert (found.trees, found.unnamed) == (0, 1)

    def test_the_window_is_as_long_as_asked(self):
        dead(dead_since=TODAY - dt.timedelta(days=30))
        dead(dead_since=TODAY - dt.timedelta(days=29))
        assert (counted(days=30), counted(days=31)) == ((1, 1), (2, 2))


def grow(park, species, *, alive: int, died: int, **facts) -> None:
    for _ in range(alive):
        TreeFactory(park=park, species=species, **facts)
    for _ in range(died):
        dead(park=park, species=species, dead_since=IN_THE_YEAR, **facts)


@pytest.fixture
def city(db) -> Watch:
    """Ash dies in Alder Bank; oak lives everywhere."""
    ash = SpeciesFactory(botanical="Fraxinus excelsior", common="European ash")
    for code, name, died in [("ALB", "Alder Bank", 8), ("BRK", "Brook Side", 1), ("CRO", "Crow Field", 0)]:
        park = ParkFactory(code=code, name=name)
        grow(park, ash, alive=30 - died, died=died)
        grow(park, SpeciesFactory(), alive=10, died=0)
    return watch(end=TODAY)


class TestFindings:
    def test_names_the_park_where_a_species_dies(self, city):
        assert [(each.count.species, each.count.park) for each in city.parks if each.flagged] == [
            ("Fraxinus excelsior", "ALB")
        ]

    def test_young_plantings_are_compared_among_themselves(self, db):
        oak = SpeciesFactory()
        for code, died in [("ALB", 5), ("BRK", 5)]:
            park = ParkFactory(code=code)
            grow(park, oak, alive=5, died=died, planted_on=dt.date(2024, 4, 1), planted_precision=DatePrecision.DAY)
            grow(park, oak, alive=40, died=0)
        found = watch(end=TODAY)
        assert {(each.count.young, each.rest.trees, each.rest.deaths) for each in found.parks} == {
            (True, 10, 5),
            (False, 40, 0),
        }

    def test_a_species_of_one_park_has_no_park_to_be_compared_with(self, db):
        grow(ParkFactory(), SpeciesFactory(), alive=10, died=5)
        assert watch(end=TODAY).parks == []

    def test_an_empty_city(self, db):
        found = watch(end=TODAY)
        assert (found.parks, found.species, found.flagged) == ([], [], [])

    def test_costs_the_same_for_many_parks(self, city, django_assert_max_num_queries):
        with django_assert_max_num_queries(4):
            watch(end=TODAY)


ASH = Names("Fraxinus excelsior", "European ash", "Alder Bank")


def said(*counts: Count) -> str:
    return sentence(by_park(counts)[0], ASH, start=dt.date(2025, 6, 11), end=TODAY)


class TestSentence:
    def test_reads_as_a_manager_would_say_it(self):
        here, rest = Count("Fraxinus", 64, 11, park="ALB"), Count("Fraxinus", 1116, 27, park="BRK")
        assert said(here, rest) == (
            "Fraxinus excelsior (European ash) in Alder Bank: 11 of 64 trees died between 11 Jun 2025 and 10 Jun 2026, "
            "where 1.5 would have at the rate of the same species in the other parks: 7.1 times as many "
            "(interval 3.7 to 11.9)."
        )

    def test_names_no_ratio_where_nothing_died_elsewhere(self):
        here, rest = Count("Fraxinus", 20, 6, park="ALB"), Count("Fraxinus", 100, 0, park="BRK")
        assert said(here, rest).endswith("and none of the 100 of the same species in the other parks.")

    def test_says_that_the_trees_are_young(self):
        here, rest = (
            Count("Fraxinus", 20, 6, young=True, park="ALB"),
            Count("Fraxinus", 100, 1, young=True, park="BRK"),
        )
        assert "6 of 20 trees planted within 5 years died" in said(here, rest)

    def test_a_count_is_no_more_than_its_trees(self):
        with pytest.raises(ValueError, match="4 deaths among 3 trees"):
            Count("Fraxinus", 3, 4)


class TestPlot:
    def test_doubling_is_the_same_way_everywhere(self):
        assert x_of(2) - x_of(1) == pytest.approx(x_of(8) - x_of(4), abs=0.2)

    @pytest.mark.parametrize(
        ("here", "rest", "words"),
        [((20, 6), (100, 0), "none elsewhere"), ((20, 20), (9_000, 3), "3000× →"), ((20, 6), (100, 3), "")],
    )
    def test_a_dot_lies_on_the_axis_or_words_say_why_not(self, here, rest, words):
        found = by_park([Count("Ulmus", *here, park="A"), Count("Ulmus", *rest, park="B")])
        (mark, _) = plot([(each.count.park, each) for each in found]).marks
        assert mark.words == words
        assert (mark.dot is None) == bool(words)

    def test_an_interval_ends_with_the_axis(self):
        found = by_park([Count("Ulmus", 2, 1, park="A"), Count("Ulmus", 100, 2, park="B")])
        mark = plot([("A", found[0])]).marks[0]
        assert mark.high == x_of(MOST)


class TestPage:
    def test_says_what_stands_out_and_shows_the_figures(self, as_role, city):
        html = as_role(Role.READER).get(reverse("hazards:watch")).content.decode()
        assert "Fraxinus excelsior (European ash) in Alder Bank: 8 of 30 trees died" in html
        assert html.count("watch-plot__dot--flagged") == 1

    def test_says_when_nothing_does(self, as_role, db):
        assert "Nothing stands out" in as_role(Role.READER).get(reverse("hazards:watch")).content.decode()

    @pytest.mark.parametrize("days", ["5", "many", "99999"])
    def test_a_length_that_is_none_is_told_and_a_year_shown(self, as_role, db, days):
        answer = as_role(Role.READER).get(reverse("hazards:watch"), {"days": days})
        assert answer.context["form"].errors["days"]
        assert answer.context["watch"].days == 365

    def test_looks_back_as_far_as_asked(self, as_role, db):
        assert as_role(Role.READER).get(reverse("hazards:watch"), {"days": "90"}).context["watch"].days == 90


def printed(*arguments: str) -> str:
    out = StringIO()
    call_command("mortality_watch", *arguments, stdout=out)
    return out.getvalue()


class TestCommand:
    def test_prints_a_sentence_for_each_finding(self, city):
        assert printed().startswith("Fraxinus excelsior (European ash) in Alder Bank: 8 of 30")

    def test_json(self, city):
        answer = json.loads(printed("--json"))
        first = answer["parks"]["rows"][0]
        assert (answer["from"], answer["to"]) == ("2025-06-11", "2026-06-10")
        assert (answer["trees"], answer["deaths"], answer["parks"]["comparisons"]) == (120, 9, 6)
        assert (first["park"], first["deaths"], first["elsewhere_deaths"], first["flagged"]) == ("ALB", 8, 1, True)
        assert first["test"] == "Fisher's exact test"

    def test_says_when_nothing_stands_out(self, db):
        assert printed().startswith("Nothing stands out: 0 of 0 trees died in 365 days")

    @pytest.mark.parametrize("days", ["0", "-3", "soon", "99999"])
    def test_a_length_that_is_none(self, db, days):
        with pytest.raises(CommandError, match="write 1 to 3660"):
            printed(f"--days={days}")
