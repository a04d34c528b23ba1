"""Filters kept under a name, the list on paper, the downloads."""

import csv
import datetime as dt
import io

import openpyxl
import pytest
import time_machine
from django.urls import reverse

from hazards import ranking_views
from hazards.models import SavedView, Standing
from hazards.ranking_views import COLUMNS
from hazards.saved_views import save_view
from inventory.access import Role
from inventory.errors import Refused
from inventory.models import RecordEntry
from inventory.record import Actor
from tests.factories import ParkFactory, TreeFactory
from tests.hazards.factories import EXTREME, HIGH, LOW, TargetFactory, inspect, pick

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 6, 10, 12, 0, tzinfo=dt.UTC)
FORMULA = "=1+1"


@pytest.fixture(autouse=True)
def _in_june():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def city() -> list[str]:
    """Three rated trees by urgency; the cultivar of one reads like a formula."""
    bank, side = ParkFactory(code="ALB", name="Alder Bank"), ParkFactory(code="BRK", name="Brook Side")
    for tag, park, picks, cultivar in [
        ("LOW", bank, LOW, ""),
        ("HIGH", side, HIGH, FORMULA),
        ("EXT", bank, EXTREME, ""),
    ]:
        tree = TreeFactory(tag=tag, park=park, cultivar=cultivar)
        inspect(tree, pick(TargetFactory(park=park, name=f"{tag} bench"), **picks))
    TreeFactory(tag="NOT-RATED", park=bank)
    return ["EXT", "HIGH", "LOW"]


def keep(client, query: str, name: str = "Urgent", **values):
    return client.post(reverse("hazards:keep_view"), {"query": query, "name": name, **values})


class TestSavedViews:
    def test_the_filters_that_are_set_are_kept(self, as_role):
        answer = keep(as_role(Role.INSPECTOR), "page=abc&rating=high&park=&species=ash+tree&nonsense=1")
        view = SavedView.objects.get()
        assert (view.name, view.query, view.shared) == ("Urgent", "rating=high&species=ash+tree", False)
        assert answer.url == f"{reverse('hazards:ranking')}?rating=high&species=ash+tree"

    def test_ones_own_and_the_shared_ones_are_offered(self, as_role, cast):
        keep(as_role(Role.INSPECTOR), "rating=high", "mine")
        keep(as_role(Role.MANAGER), "rating=low", "theirs")
        keep(as_role(Role.MANAGER), "overdue=on", "for all", shared="on")
        offered = as_role(Role.INSPECTOR).get(reverse("hazards:ranking")).context["saved"]
        assert [view.name for view in offered] == ["for all", "mine"]

    def test_a_view_leads_to_its_filters(self, as_role, city):
        client = as_role(Role.READER)
        keep(client, "rating=high")
        html = client.get(reverse("hazards:ranking")).content.decode()
        assert f'href="{reverse("hazards:ranking")}?rating=high"' in html

    def test_a_name_is_used_once_a_person(self, cast):
        inspector, manager = Actor(cast[Role.INSPECTOR]), Actor(cast[Role.MANAGER])
        save_view(by=inspector, name="Urgent", query="rating=high")
        save_view(by=manager, name="Urgent", query="rating=high")
        with pytest.raises(Refused, match="You have a view named “Urgent” already"):
            save_view(by=inspector, name=" Urgent ", query="rating=low")

    @pytest.mark.parametrize(
        ("query", "name", "sentence"),
        [
            ("page=abc", "Urgent", "Set a filter first"),
            ("rating=high", "", "Give the view a name"),
            ("rating=high", "x" * 61, "up to 60 characters"),
        ],
    )
    def test_what_cannot_be_kept_is_told(self, as_role, query, name, sentence):
        client = as_role(Role.READER)
        assert sentence in client.get(keep(client, query, name).url).content.decode()
        assert not SavedView.objects.exists()

    def test_only_the_owner_takes_a_view_out(self, as_role):
        keep(as_role(Role.MANAGER), "rating=high", shared="on")
        url = reverse("hazards:drop_view", args=[SavedView.objects.get().pk])
        assert as_role(Role.INSPECTOR).post(url).status_code == 404
        assert as_role(Role.MANAGER).post(url).status_code == 302
        assert not SavedView.objects.exists()
        assert RecordEntry.objects.filter(verb="dropped a view").count() == 1


class TestPaper:
    def test_lists_the_filtered_trees_by_urgency(self, as_role, city):
        answer = as_role(Role.READER).get(reverse("hazards:ranking_print"), {"park": "ALB"})
        assert [row.tree.tag for row in answer.context["rows"]] == ["EXT", "LOW"]
        assert "Only: park ALB" in " ".join(answer.content.decode().split())

    def test_says_when_there_are_more(self, as_role, city, monkeypatch):
        monkeypatch.setattr(ranking_views, "PRINTED", 2)
        answer = as_role(Role.READER).get(reverse("hazards:ranking_print"))
        assert [row.tree.tag for row in answer.context["rows"]] == ["EXT", "HIGH"]
        assert "The first 2; filter the list" in answer.content.decode()

    def test_costs_the_same_for_many_rows(self, as_role, django_assert_max_num_queries):
        park = ParkFactory()
        target = TargetFactory(park=park)
        for _ in range(20):
            inspect(TreeFactory(park=park), pick(target))
        reader = as_role(Role.READER)
        with django_assert_max_num_queries(6):
            reader.get(reverse("hazards:ranking_print"))


def read_csv(answer) -> list[dict[str, str]]:
    text = b"".join(answer.streaming_content).decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text)))


def read_xlsx(answer) -> list[dict[str, object]]:
    sheet = openpyxl.load_workbook(io.BytesIO(b"".join(answer.streaming_content))).active
    head, *rows = sheet.iter_rows(values_only=True)
    return [dict(zip(head, row, strict=True)) for row in rows]


class TestDownloads:
    def test_csv_holds_the_rated_trees_by_urgency(self, as_role, city):
        rows = read_csv(as_role(Role.READER).get(reverse("hazards:ranking_csv")))
        assert [row["tag"] for row in rows] == city
        assert rows[0].keys() == COLUMNS.keys()
        assert (rows[0]["park"], rows[0]["rating"], rows[0]["work_due"]) == ("ALB", "extreme", "2026-05-05")

    def test_xlsx_holds_the_same_with_days_as_days(self, as_role, city):
        rows = read_xlsx(as_role(Role.READER).get(reverse("hazards:ranking_xlsx")))
        assert [row["tag"] for row in rows] == city
        assert rows[0]["work_due"] == dt.datetime(2026, 5, 5)
        assert rows[0]["dbh_cm"] == 40.0
        assert rows[0]["reason"] == Standing.objects.get(tree__tag="EXT").reason

    def test_text_never_becomes_a_formula(self, as_role, city):
        (in_csv,) = read_csv(as_role(Role.READER).get(reverse("hazards:ranking_csv"), {"rating": "high"}))
        assert in_csv["cultivar"] == f"'{FORMULA}"
        answer = as_role(Role.READER).get(reverse("hazards:ranking_xlsx"), {"rating": "high"})
        sheet = openpyxl.load_workbook(io.BytesIO(b"".join(answer.streaming_content))).active
        cell = sheet.cell(row=2, column=list(COLUMNS).index("cultivar") + 1)
        assert (cell.value, cell.data_type) == (FORMULA, "s")

    def test_both_follow_the_filter(self, as_role, city):
        reader = as_role(Role.READER)
        for name, read in [("ranking_csv", read_csv), ("ranking_xlsx", read_xlsx)]:
            rows = read(reader.get(reverse(f"hazards:{name}"), {"park": "ALB", "page": "x"}))
            assert [row["tag"] for row in rows] == ["EXT", "LOW"]

    def test_a_workbook_too_large_is_refused_with_the_way_out(self, as_role, city, monkeypatch):
        monkeypatch.setattr(ranking_views, "XLSX_ROWS_MAX", 2)
        reader = as_role(Role.READER)
        answer = reader.get(reverse("hazards:ranking_xlsx"), {"imminent": ""})
        assert "take the CSV" in reader.get(answer.url).content.decode()
