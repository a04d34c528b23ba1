"""The overview, the city's parks and a park's report, as their readers meet them."""

import csv
import datetime as dt
import re
from io import StringIO

import pytest
import time_machine

from inventory.access import Role
from removals.models import RemovalOrder
from tests.factories import TODAY, ParkFactory, TreeFactory
from tests.hazards.factories import EXTREME, TargetFactory, inspect, pick
from tests.replanting.walk import opened, planted
from tests.reports.city import small_city

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(TODAY, tick=False):
        yield


def text(client, address, status=200):
    response = client.get(address)
    assert response.status_code == status
    return response.content.decode()


def tiles(html, heading):
    """Label → figure of the tiles under a heading."""
    part = html.split(f'<h2 id="{heading}">')[1].split("</section>")[0]
    found = re.findall(r"<dt><a[^>]*>([^<]+)</a></dt>\s*<dd>([^<\s]+)", part)
    return dict(found)


class TestHome:
    def test_a_planner_first_sees_what_a_planner_does(self, as_role):
        opened(on=dt.date(2025, 1, 1))
        planted(on=dt.date(2026, 5, 1))
        TreeFactory()
        html = text(as_role(Role.PLANNER), "/")
        assert tiles(html, "mine") == {
            "Replacements overdue": "1",
            "Replacements waiting": "1",
            "Young trees to visit": "1",
        }
        assert tiles(html, "others") == {"Never inspected": "2", "Trees to be located": "2"}

    def test_an_inspector_first_sees_what_an_inspector_does(self, as_role):
        tree = TreeFactory(lon=1.0, lat=50.0, cell=1)
        inspect(
            tree, pick(TargetFactory(park=tree.park), **EXTREME), observed_at=dt.datetime(2020, 1, 1, tzinfo=dt.UTC)
        )
        opened()
        html = text(as_role(Role.INSPECTOR), "/")
        assert tiles(html, "mine") == {
            "Imminent failure": "1",
            "Extreme or imminent, nothing closed": "1",
            "Rated extreme": "1",
            "Work overdue": "1",
            "Inspections overdue": "1",
        }
        assert tiles(html, "others") == {"Replacements waiting": "1"}

    def test_a_crew_lead_sees_their_own_fellings(self, as_role, cast):
        for lead in (cast[Role.CREW_LEAD], cast[Role.MANAGER]):
            tree = TreeFactory()
            RemovalOrder.objects.create(
                tree=tree,
                park=tree.park,
                state="scheduled",
                reason="hollow",
                proposed_on=TODAY,
                approved_on=TODAY,
                scheduled_for=TODAY,
                crew_lead=lead,
            )
        assert tiles(text(as_role(Role.CREW_LEAD), "/"), "mine") == {"Your scheduled fellings": "1"}

    def test_a_manager_sees_what_waits_for_approval(self, as_role):
        tree = TreeFactory(lon=1.0, lat=50.0, cell=1)
        RemovalOrder.objects.create(tree=tree, park=tree.park, reason="hollow", proposed_on=TODAY)
        mine = tiles(text(as_role(Role.MANAGER), "/"), "mine")
        assert mine == {"Removals to approve": "1", "Never inspected": "1"}

    def test_a_reader_is_told_that_nothing_waits_for_them(self, as_role):
        TreeFactory()
        assert "Nothing waits for you today." in text(as_role(Role.READER), "/")

    def test_the_most_urgent_tree_stands_first(self, as_role):
        target = TargetFactory()
        inspect(TreeFactory(tag="CALM", park=target.park), pick(target))
        inspect(TreeFactory(tag="WORST", park=target.park), pick(target, **EXTREME))
        html = text(as_role(Role.READER), "/")
        assert re.findall(r'<th scope="row"><a[^>]*>([^<]+)', html) == ["WORST", "CALM"]

    def test_every_tile_leads_to_a_page(self, as_role):
        small_city()
        client = as_role(Role.MANAGER)
        html = text(client, "/")
        for address in re.findall(r'<dt><a href="([^"]+)"', html):
            text(client, address.replace("&amp;", "&"))

    def test_asks_the_database_the_same_in_a_larger_city(self, as_role, django_assert_max_num_queries):
        small_city()
        client = as_role(Role.MANAGER)
        with django_assert_max_num_queries(35):
            text(client, "/")


class TestParks:
    def test_each_park_has_its_row_and_the_last_row_is_the_sum(self, as_role):
        parks = [ParkFactory(code="ALB", name="Albion Green"), ParkFactory(code="BRO", name="Brook Fields")]
        TreeFactory.create_batch(3, park=parks[0])
        TreeFactory.create_batch(2, park=parks[1])
        html = text(as_role(Role.READER), "/reports/")
        table = html.split("<tbody>")[1].split("</table>")[0]
        rows = [re.findall(r"<td[^>]*>([\d,]+)</td>", row)[0] for row in table.split('<th scope="row">')[1:]]
        assert rows == ["3", "2", "5"]

    def test_downloads(self, as_role):
        small_city()
        response = as_role(Role.READER).get("/reports/parks.csv")
        lines = list(csv.DictReader(StringIO(response.getvalue().decode("utf-8-sig"))))
        assert [line["code"] for line in lines] == ["ALB", "BRO", "CAS"]
        assert lines[2]["standing"] == "0"

    def test_a_city_without_parks_says_what_to_do(self, as_role):
        assert "Parks come with the city’s tree file" in text(as_role(Role.READER), "/reports/")

    def test_asks_the_database_the_same_however_many_parks(self, as_role, django_assert_max_num_queries):
        for _ in range(30):
            TreeFactory()
        client = as_role(Role.READER)
        with django_assert_max_num_queries(10):
            text(client, "/reports/")


class TestPark:
    def test_shows_the_park(self, as_role):
        small_city()
        html = text(as_role(Role.READER), "/reports/parks/ALB/")
        assert "Park ALB" in html
        assert "15 to under 30 cm" in html

    def test_sizes_in_the_readers_unit(self, as_role):
        client = as_role(Role.READER)
        client.cookies["units"] = "us"
        ParkFactory(code="ALB")
        assert "5.9 to under 11.8 in" in text(client, "/reports/parks/ALB/")

    def test_every_tile_leads_to_the_parks_own_list(self, as_role):
        small_city()
        client = as_role(Role.READER)
        addresses = re.findall(r'<dt><a href="([^"]+)"', text(client, "/reports/parks/ALB/"))
        assert len(addresses) == 8
        for address in addresses:
            assert "park=ALB" in address
            text(client, address.replace("&amp;", "&"))

    def test_downloads_what_it_shows(self, as_role):
        small_city()
        response = as_role(Role.READER).get("/reports/parks/ALB/report.csv")
        lines = list(csv.DictReader(StringIO(response.getvalue().decode("utf-8-sig"))))
        sizes = [int(line["value"]) for line in lines if line["section"] == "size_class"]
        species = [int(line["value"]) for line in lines if line["section"] == "species"]
        assert sum(sizes) == sum(species) > 0

    def test_an_unknown_park_is_not_found(self, as_role):
        text(as_role(Role.READER), "/reports/parks/XYZ/", status=404)
