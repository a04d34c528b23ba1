"""The terminal's answers: ratings and the ranking."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from hazards.models import Standing
from inventory.models import Species
from tests.factories import ParkFactory, TreeFactory
from tests.hazards.factories import EXTREME, HIGH, LOW, MODERATE, TargetFactory, inspect, pick


def answer(*arguments: str) -> str:
    out = StringIO()
    call_command(*arguments, stdout=out)
    return out.getvalue()


class TestRate:
    def test_prints_what_follows(self):
        assert json.loads(answer("rate", "imminent", "very low", "severe", "--json")) == {
            "failure_and_impact": "unlikely",
            "rating": "low",
        }

    def test_says_it_in_words(self):
        assert answer("rate", "probable", "high", "severe") == "Failure and impact: likely. Rating: high.\n"

    @pytest.mark.parametrize(
        ("picks", "right"),
        [
            (("likely", "high", "severe"), "improbable, possible, probable, imminent"),
            (("probable", "certain", "severe"), "very low, low, medium, high"),
            (("probable", "high", "deadly"), "negligible, minor, significant, severe"),
        ],
    )
    def test_names_the_right_words_for_a_wrong_one(self, picks, right):
        with pytest.raises(CommandError, match=right) as refused:
            answer("rate", *picks)
        assert refused.value.returncode == 2


@pytest.mark.django_db
class TestTriage:
    @pytest.fixture
    def ranked(self) -> dict[str, str]:
        """Four rated trees in two parks and one not rated; tag -> park."""
        parks = [ParkFactory(code="ALB"), ParkFactory(code="BRK")]
        targets = [TargetFactory(park=park) for park in parks]
        for tag, place, picks in [
            ("LOW", 0, LOW),
            ("HIGH", 1, HIGH),
            ("EXT", 0, EXTREME),
            ("MOD", 1, MODERATE),
        ]:
            inspect(TreeFactory(tag=tag, park=parks[place]), pick(targets[place], **picks))
        TreeFactory(tag="NEW", park=parks[0])
        return {"EXT": "ALB", "HIGH": "BRK", "MOD": "BRK", "LOW": "ALB"}

    def test_prints_the_rated_trees_most_urgent_first(self, ranked):
        rows = json.loads(answer("triage", "--json"))
        assert [(row["tag"], row["park"]) for row in rows] == list(ranked.items())
        assert rows[0].keys() == {"tag", "park", "rating", "reason", "due"}
        assert [row["due"] for row in rows] == ["2026-05-05", "2026-06-01", "2027-05-04", None]

    def test_of_one_park(self, ranked):
        assert [row["tag"] for row in json.loads(answer("triage", "--park", "BRK", "--json"))] == ["HIGH", "MOD"]

    def test_only_the_first(self, ranked):
        assert [row["tag"] for row in json.loads(answer("triage", "--limit", "1", "--json"))] == ["EXT"]

    def test_a_park_that_is_not_there(self, ranked):
        with pytest.raises(CommandError, match=r"No park has the code “NOPE”; the codes are ALB, BRK\."):
            answer("triage", "--park", "NOPE")

    def test_a_limit_that_is_none(self, ranked):
        with pytest.raises(CommandError, match="write 1 or more"):
            answer("triage", "--limit", "0")

    def test_a_table_for_people(self, ranked):
        head, first, *_ = answer("triage").splitlines()
        assert head.split() == ["Tag", "Park", "Rating", "Work", "due", "Why"]
        assert first.startswith("EXT   ALB   extreme   2026-05-05  Imminent failure, rated extreme:")

    def test_an_empty_city(self):
        assert answer("triage") == "No standing tree is rated yet.\n"
        assert json.loads(answer("triage", "--json")) == []


@pytest.mark.django_db
class TestRestand:
    def test_takes_in_what_no_inspection_changes(self):
        tree = TreeFactory()
        inspect(tree, pick(TargetFactory(park=tree.park)))
        Species.objects.filter(pk=tree.species_id).update(flag="weak wood")
        assert answer("restand") == "1 tree changed.\n"
        assert "weak-wooded" in Standing.objects.get(tree=tree).reason

    def test_changes_nothing_when_nothing_changed(self):
        tree = TreeFactory()
        inspect(tree, pick(TargetFactory(park=tree.park)))
        assert answer("restand") == "0 trees changed.\n"
