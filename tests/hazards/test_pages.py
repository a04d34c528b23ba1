"""What the hazard pages show, to whom, at what cost."""

import datetime as dt

import pytest
import time_machine
from django.urls import reverse

from hazards.models import Inspection, Standing, Target
from hazards.templatetags.dues import late
from inventory.access import Role
from inventory.models import RecordEntry
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory
from tests.hazards.factories import EXTREME, HIGH, LOW, MODERATE, MORNING, TargetFactory, inspect, pick

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 6, 10, 12, 0, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def _in_june():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def reader(as_role):
    return as_role(Role.READER)


@pytest.fixture
def inspector(as_role):
    return as_role(Role.INSPECTOR)


@pytest.fixture
def city() -> dict[str, str]:
    """Rated trees in two parks; tag -> park, by urgency."""
    parks = {code: ParkFactory(code=code, name=name) for code, name in [("ALB", "Alder Bank"), ("BRK", "Brook Side")]}
    targets = {code: TargetFactory(park=park, name="play area") for code, park in parks.items()}
    maple = SpeciesFactory(botanical="Acer rubrum", common="red maple")
    for tag, code, picks in [("A-LOW", "ALB", LOW), ("B-HIGH", "BRK", HIGH), ("A-EXT", "ALB", EXTREME)]:
        inspect(TreeFactory(tag=tag, park=parks[code]), pick(targets[code], **picks))
    inspect(TreeFactory(tag="B-MOD", park=parks["BRK"], species=maple), pick(targets["BRK"], **MODERATE))
    return {"A-EXT": "ALB", "B-HIGH": "BRK", "B-MOD": "BRK", "A-LOW": "ALB"}


def tags(answer, name: str) -> list[str]:
    rows = answer.context[name]
    return [row.tree.tag for row in (rows.rows if name == "page" else rows)]


class TestRanking:
    def test_lists_imminent_failures_on_their_own_and_the_rest_by_urgency(self, reader, city):
        answer = reader.get(reverse("hazards:ranking"))
        assert tags(answer, "imminent") == ["A-EXT"]
        assert tags(answer, "page") == ["B-HIGH", "B-MOD", "A-LOW"]

    def test_says_why_and_how_late(self, reader, city):
        html = reader.get(reverse("hazards:ranking")).content.decode()
        assert "is likely to fail and hit the play area, in constant use, with severe consequences" in html
        assert "9 days overdue" in html  # high since 4 May, four weeks

    @pytest.mark.parametrize(
        ("query", "found"),
        [
            ("park=BRK", ["B-HIGH", "B-MOD"]),
            ("rating=low", ["A-LOW"]),
            ("overdue=on", ["B-HIGH"]),
            ("species=acer", ["B-MOD"]),
            ("species=red+maple", ["B-MOD"]),
            ("imminent=on", []),
            ("park=NOPE", ["B-HIGH", "B-MOD", "A-LOW"]),
        ],
    )
    def test_filters(self, reader, city, query, found):
        assert tags(reader.get(f"{reverse('hazards:ranking')}?{query}"), "page") == found

    def test_pages_by_key(self, reader):
        park = ParkFactory()
        target = TargetFactory(park=park)
        for _ in range(55):
            inspect(TreeFactory(park=park), pick(target))
        first = reader.get(reverse("hazards:ranking"))
        token = first.context["page"].next
        second = reader.get(reverse("hazards:ranking"), {"page": token})
        seen = tags(first, "page") + tags(second, "page")
        assert seen == list(Standing.objects.ranked().values_list("tree__tag", flat=True))

    def test_says_so_when_nothing_is_rated(self, reader):
        assert "No standing tree is rated yet" in reader.get(reverse("hazards:ranking")).content.decode()

    def test_says_so_when_nothing_matches(self, reader, city):
        html = reader.get(f"{reverse('hazards:ranking')}?species=ginkgo").content.decode()
        assert "No rated tree matches this filter" in html

    def test_leaves_out_a_removed_tree(self, reader, city):
        Standing.objects.filter(tree__tag="B-HIGH").delete()
        assert "B-HIGH" not in tags(reader.get(reverse("hazards:ranking")), "page")

    def test_costs_the_same_for_many_rows(self, reader, django_assert_max_num_queries):
        park = ParkFactory()
        target = TargetFactory(park=park)
        for n in range(30):
            inspect(TreeFactory(park=park), pick(target, **(EXTREME if n % 2 else HIGH)))
        with django_assert_max_num_queries(10):
            assert reader.get(reverse("hazards:ranking")).status_code == 200


class TestDue:
    @pytest.fixture
    def rounds(self):
        """One tree overdue, one due soon, one later, one never seen."""
        park = ParkFactory(code="ALB", name="Alder Bank")
        target = TargetFactory(park=park)
        months_15 = dt.timedelta(days=457)
        for tag, due in [("OVER", -3), ("SOON", 20), ("LATER", 90)]:
            seen = NOW - months_15 + dt.timedelta(days=due)
            inspect(TreeFactory(tag=tag, park=park), pick(target, **MODERATE), observed_at=seen)
        TreeFactory(tag="NEVER", park=park)
        TreeFactory(tag="OTHER", park=ParkFactory(code="BRK"))

    @pytest.mark.parametrize(
        ("query", "found"),
        [
            ("", ["OVER"]),
            ("?when=soon", ["SOON"]),
            ("?when=never", ["NEVER", "OTHER"]),
            ("?when=never&park=ALB", ["NEVER"]),
            ("?when=nonsense", ["OVER"]),
        ],
    )
    def test_lists(self, reader, rounds, query, found):
        assert tags(reader.get(reverse("hazards:due") + query), "page") == found

    def test_counts_by_park(self, reader, rounds):
        rows = reader.get(reverse("hazards:due")).context["parks"]
        counted = {row["park__code"]: (row["overdue"], row["soon"], row["never"]) for row in rows}
        assert counted == {"ALB": (1, 1, 1), "BRK": (0, 0, 1)}

    def test_offers_the_inspection_to_those_who_may(self, reader, inspector, rounds):
        link = reverse("hazards:inspect", args=["OVER"])
        assert link not in reader.get(reverse("hazards:due")).content.decode()
        assert link in inspector.get(reverse("hazards:due")).content.decode()

    def test_costs_the_same_for_many_rows(self, reader, django_assert_max_num_queries):
        park = ParkFactory()
        for _ in range(30):
            TreeFactory(park=park)
        with django_assert_max_num_queries(8):
            assert reader.get(reverse("hazards:due") + "?when=never").status_code == 200


class TestInspectionPage:
    @pytest.fixture
    def seen(self) -> Inspection:
        tree = TreeFactory(tag="A/1")
        return inspect(
            tree, pick(TargetFactory(park=tree.park, name="play area"), mitigation="prune", residual_rating="low")
        )

    def test_shows_the_way_through_both_tables(self, reader, seen):
        path = reader.get(reverse("hazards:inspection", args=[seen.pk])).context["paths"][0]
        reached = [
            [(line.word, cell.word) for line in table.lines for cell in line.cells if cell.here]
            for table in (path.likelihood, path.rating)
        ]
        assert reached == [[("probable", "likely")], [("likely", "high")]]

    def test_marks_the_cell_in_words_too(self, reader, seen):
        html = reader.get(reverse("hazards:inspection", args=[seen.pk])).content.decode()
        assert html.count("(this one)") == 2

    def test_an_imminent_failure_asks_for_action_first(self, reader, seen):
        worse = inspect(seen.tree, pick(seen.tree.park.targets.get(), **EXTREME))
        html = reader.get(reverse("hazards:inspection", args=[worse.pk])).content.decode()
        assert "keep people out at once" in html

    def test_leads_from_what_was_corrected_to_the_correction(self, inspector, seen):
        right = inspect(seen.tree, supersedes=seen)
        html = inspector.get(reverse("hazards:inspection", args=[seen.pk])).content.decode()
        assert reverse("hazards:inspection", args=[right.pk]) in html
        assert reverse("hazards:correct", args=[seen.pk]) not in html

    def test_says_that_the_tree_was_gone(self, reader):
        gone = inspect(TreeFactory(removed=True))
        html = reader.get(reverse("hazards:inspection", args=[gone.pk])).content.decode()
        assert "it is kept and changes nothing" in html

    def test_costs_few_queries(self, reader, seen, django_assert_max_num_queries):
        with django_assert_max_num_queries(16):
            reader.get(reverse("hazards:inspection", args=[seen.pk]))


class TestTargets:
    @pytest.fixture
    def park(self):
        return ParkFactory(code="ALB", name="Alder Bank")

    def send(self, client, url: str, **values: str):
        usual = {"name": "east bench", "kind": "seating", "occupancy": "frequent"}
        return client.post(url, {**usual, **values})

    def test_an_inspector_adds_one(self, inspector, park):
        answer = self.send(inspector, reverse("hazards:targets", args=["ALB"]), position="47.2, 8.5", movable="on")
        assert answer.status_code == 302
        target = Target.objects.get(park=park)
        assert (target.name, target.kind, target.occupancy) == ("east bench", "seating", "frequent")
        assert (target.lat, target.lon, target.movable) == (47.2, 8.5, True)
        assert (
            RecordEntry.objects.get(verb="added a target").summary
            == "Added the target east bench in Alder Bank: frequent use."
        )

    def test_an_inspector_changes_one(self, inspector, park):
        target = TargetFactory(park=park)
        self.send(inspector, reverse("hazards:edit_target", args=[target.pk]), occupancy="rare")
        target.refresh_from_db()
        assert (target.name, target.occupancy) == ("east bench", "rare")

    def test_two_of_one_name_are_refused_in_a_sentence(self, inspector, park):
        TargetFactory(park=park, name="East Bench")
        answer = self.send(inspector, reverse("hazards:targets", args=["ALB"]))
        assert "has a target named “east bench” already" in answer.content.decode()
        assert Target.objects.count() == 1

    def test_a_reader_sees_and_does_not_change(self, reader, park):
        assert reader.get(reverse("hazards:targets", args=["ALB"])).status_code == 200
        assert self.send(reader, reverse("hazards:targets", args=["ALB"])).status_code == 403

    def test_parks_with_their_counts(self, reader, park):
        TargetFactory(park=park)
        html = reader.get(reverse("hazards:target_parks")).content.decode()
        assert "Alder Bank" in html
        assert reverse("hazards:targets", args=["ALB"]) in html


@pytest.mark.parametrize(
    ("days", "words"), [(1, ""), (0, "due today"), (-1, "1 day overdue"), (-40, "40 days overdue"), (None, "")]
)
def test_lateness_in_words(days, words):
    today = MORNING.date()
    assert late(None if days is None else today + dt.timedelta(days=days), today) == words
