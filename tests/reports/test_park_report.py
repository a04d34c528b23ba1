"""The park's report and the city's, each count derived again by pandas from the plain rows."""

import csv
import json
from io import StringIO

import pandas as pd
import pytest
import time_machine
from django.core.management import CommandError, call_command

from hazards.models import Standing
from inventory.models import Tree
from removals.models import RemovalOrder
from replanting.models import ReplacementTask
from reports.city import city_report, totals
from reports.park import TOP_SPECIES, park_report
from tests.factories import TODAY, ParkFactory, SpeciesFactory, TreeFactory
from tests.reports.city import small_city

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(TODAY, tick=False):
        yield


@pytest.fixture
def park():
    return small_city()[0]


def rows(model, park=None, *fields):
    found = model.objects.filter(park=park) if park else model.objects.all()
    return pd.DataFrame(found.values(*fields))


def counts(series):
    return {str(name): int(count) for name, count in series.value_counts(dropna=False).items()}


def given(section):
    """Without the zeros, which a count of plain rows does not know of."""
    return {name: count for name, count in section.items() if count}


class TestAgainstPandas:
    """Reference: value_counts, cut and boolean masks over the rows as they are stored."""

    def test_status(self, park):
        assert given(park_report(park, TODAY).sections["status"]) == counts(rows(Tree, park)["status"])

    def test_size_classes(self, park):
        trees = rows(Tree, park)
        classes = pd.cut(
            trees[trees.status != "removed"].dbh_cm,
            [0, 15, 30, 60, 90, float("inf")],
            right=False,
            labels=["under 15 cm", "15 to under 30 cm", "30 to under 60 cm", "60 to under 90 cm", "90 cm and over"],
        )
        found = counts(classes.astype(object).fillna("not measured"))
        assert given(park_report(park, TODAY).sections["size_class"]) == found

    def test_species(self, park):
        trees = rows(Tree, park, "status", "species__botanical")
        names = trees[trees.status != "removed"]["species__botanical"].fillna("species unknown")
        known = names[names != "species unknown"].value_counts()
        section = park_report(park, TODAY).sections["species"]
        top = {name: count for name, count in section.items() if name in known.index}
        assert list(top.values()) == known.nlargest(TOP_SPECIES).tolist()
        assert all(known[name] == count for name, count in top.items())
        assert section["all other species"] == known.sum() - sum(top.values())
        assert section["species unknown"] == (names == "species unknown").sum()

    def test_ratings_and_what_asks_for_attention(self, park):
        standing = rows(Standing, park)
        sections = park_report(park, TODAY).sections
        assert given(sections["rating"]) == counts(standing.rating.replace("", "not rated"))
        assert sections["attention"]["imminent failure"] == standing.imminent.sum()
        assert sections["attention"]["never inspected"] == standing.inspected_on.isna().sum()
        trees = rows(Tree, park)
        assert sections["attention"]["to be located"] == (trees.lon.isna() & (trees.status != "removed")).sum()

    def test_overdue(self, park):
        standing, orders, tasks = rows(Standing, park), rows(RemovalOrder, park), rows(ReplacementTask, park)
        waiting = tasks.state.isin(["open", "species chosen", "ordered"])
        before = orders.state.isin(["proposed", "approved", "scheduled"])
        assert park_report(park, TODAY).sections["overdue"] == {
            "inspections": (standing.inspect_due.dropna() < TODAY).sum(),
            "work": (standing.work_due.dropna() < TODAY).sum(),
            "removal orders": (before & (orders.due_on < TODAY)).sum(),
            "replacements": (waiting & (tasks.due_on < TODAY)).sum(),
        }

    def test_orders(self, park):
        assert given(park_report(park, TODAY).sections["orders"]) == counts(rows(RemovalOrder, park).state)

    def test_replacements(self, park):
        tasks = rows(ReplacementTask, park)
        section = park_report(park, TODAY).sections["replacements"]
        assert section["owed"] == len(tasks)
        assert section["waiting"] == tasks.state.isin(["open", "species chosen", "ordered"]).sum()
        assert {name: section[name] for name in ("planted", "established", "waived")} == {
            name: (tasks.state == name).sum() for name in ("planted", "established", "waived")
        }
        assert section["failures"] == tasks.failures.sum()


class TestBalance:
    def test_size_species_and_rating_each_add_up_to_the_standing_trees(self, park):
        report = park_report(park, TODAY)
        assert report.standing > 25
        for name in ("size_class", "species", "rating"):
            assert sum(report.sections[name].values()) == report.standing

    def test_removed_trees_are_owed_or_were_lost_young(self, park):
        sections = park_report(park, TODAY).sections
        assert sections["status"]["removed"] == sections["replacements"]["owed"] + sections["replacements"]["failures"]

    def test_the_city_is_the_sum_of_its_parks(self):
        parks = small_city()
        city = city_report(TODAY)
        reports = [park_report(park, TODAY).sections for park in parks]
        assert list(city.code) == ["ALB", "BRO", "CAS"]
        for column, section, name in [
            ("standing", "status", "standing"),
            ("dead_standing", "status", "dead standing"),
            ("removed", "status", "removed"),
            ("extreme", "rating", "extreme"),
            ("high", "rating", "high"),
            ("imminent", "attention", "imminent failure"),
            ("never_inspected", "attention", "never inspected"),
            ("inspections_overdue", "overdue", "inspections"),
            ("work_overdue", "overdue", "work"),
            ("orders_overdue", "overdue", "removal orders"),
            ("owed", "replacements", "owed"),
            ("replacements_overdue", "overdue", "replacements"),
        ]:
            assert list(city[column]) == [report[section][name] for report in reports], column
            assert totals(city)[column] == sum(report[section][name] for report in reports)

    def test_a_city_without_parks_has_a_report(self):
        assert city_report(TODAY).empty
        assert totals(city_report(TODAY))["owed"] == 0


class TestReads:
    def test_a_report_asks_the_database_a_fixed_number_of_times(self, park, django_assert_num_queries):
        with django_assert_num_queries(8):
            park_report(park, TODAY)

    def test_the_city_is_read_in_five(self, park, django_assert_num_queries):
        with django_assert_num_queries(5):
            city_report(TODAY)

    def test_an_empty_park_counts_zeros(self):
        report = park_report(ParkFactory(), TODAY)
        assert {count for _, _, count in report.lines()} == {0}


def run(code, form):
    out = StringIO()
    call_command("park_report", code, format=form, stdout=out)
    return out.getvalue()


class TestCommand:
    def test_json_and_csv_tell_the_same(self, park):
        told = json.loads(run("ALB", "json"))
        lines = list(csv.DictReader(StringIO(run("ALB", "csv"))))
        assert told["code"] == "ALB"
        assert told["on"] == TODAY.isoformat()
        assert len(lines) == sum(len(section) for section in told.values() if isinstance(section, dict))
        assert all(told[line["section"]][line["name"]] == int(line["value"]) for line in lines)

    def test_html_stands_alone(self, park):
        page = run("ALB", "html")
        assert page.startswith("<!doctype html>")
        assert "Park ALB" in page
        assert "--paper:" in page
        for reference in ("<link", "<script", "src=", "href=", "url("):
            assert reference not in page, reference

    def test_an_unknown_park_is_told_with_the_codes_there_are(self, park):
        with pytest.raises(CommandError, match="There is no park XYZ; the codes are: ALB, BRO, CAS"):
            run("XYZ", "json")

    def test_a_name_that_starts_a_formula_does_not_in_a_spreadsheet(self):
        park = ParkFactory(code="ALB")
        TreeFactory(park=park, species=SpeciesFactory(botanical="=1+1"))
        assert "species,'=1+1,1" in run("ALB", "csv")
