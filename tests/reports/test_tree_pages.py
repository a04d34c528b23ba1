"""The list of trees, its filters, its download and labels, and a tree's own page."""

import csv
import datetime as dt
import io
import re

import pytest
from django.db import connection
from django.urls import reverse
from django.utils import timezone
from django.utils.html import escape

from hazards.models import Standing
from inventory import record
from inventory.access import Role
from inventory.cells import cell
from inventory.models import DatePrecision, Park, Photo, Tree, TreeStatus
from removals.models import RemovalOrder
from reports.tree_filters import TreeFilter
from reports.tree_views import rows
from tests.factories import TODAY, ParkFactory, SpeciesFactory, TreeFactory
from tests.hazards.factories import EXTREME, HIGH, TargetFactory, inspect, pick

pytestmark = pytest.mark.django_db

TREES = reverse("reports:trees")


@pytest.fixture
def reader(as_role):
    return as_role(Role.READER)


def listed(client, **query) -> list[str]:
    """The tags on the page, from the cells that head their rows."""
    page = client.get(TREES, query).content.decode()
    return re.findall(r'<th scope="row"><a href="[^"]*">([^<]*)</a>', page)


def text(client, address: str) -> str:
    """What the page says, without tags and runs of space."""
    page = re.sub(r"<[^>]*>", " ", client.get(address).content.decode())
    return re.sub(r"\s+", " ", page)


# --- list


def test_trees_are_listed_by_tag(reader):
    for tag in ("B-2", "A-1", "B-1"):
        TreeFactory(tag=tag)
    assert listed(reader) == ["A-1", "B-1", "B-2"]


def test_a_row_says_what_the_tree_is(reader):
    TreeFactory(tag="LG-1", park__name="Lantern Green", cultivar="Crimson King", dbh_cm=50, height_m=12)
    said = text(reader, TREES)
    for fact in ("Quercus rubra ‘Crimson King’", "northern red oak", "Lantern Green", "Standing", "50 cm", "12.0 m"):
        assert fact in said


def test_lengths_are_in_the_readers_unit(reader):
    TreeFactory(dbh_cm=25.4, height_m=3.048)
    reader.cookies["units"] = "us"
    said = text(reader, TREES)
    assert "10.0 in" in said
    assert "10 ft" in said


def test_an_empty_inventory_says_so(reader):
    assert "The inventory is empty" in text(reader, TREES)


def test_an_empty_inventory_leads_who_may_to_the_import(as_role):
    assert (
        f'button--primary" href="{reverse("inventory:imports")}"' in as_role(Role.MANAGER).get(TREES).content.decode()
    )
    assert reverse("inventory:imports") not in as_role(Role.READER).get(TREES).content.decode()


def test_a_filter_without_a_match_leads_back(reader):
    TreeFactory()
    assert "No tree matches this filter" in text(reader, f"{TREES}?q=zzz")


@pytest.fixture
def grove():
    """One tree for each filter, and one that none of them finds."""
    elm = SpeciesFactory(botanical="Ulmus glabra", common="wych elm", genus="Ulmus")
    other = ParkFactory(code="MW", name="Mill Water")
    plain = {"lon": 8.5, "lat": 47.2, "cell": cell(8.5, 47.2), "park": ParkFactory(code="LG", name="Lantern Green")}
    TreeFactory(tag="plain", **plain)
    TreeFactory(tag="park", **(plain | {"park": other}))
    TreeFactory(tag="species", species=elm, **plain)
    TreeFactory(tag="cultivar", cultivar="Old Bess", **plain)
    TreeFactory(tag="gone", removed=True, **plain)
    TreeFactory(tag="dead", status=TreeStatus.DEAD_STANDING, **plain)
    TreeFactory(tag="wide", dbh_cm=90, **plain)
    TreeFactory(tag="poor", condition="poor", **plain)
    TreeFactory(tag="lost", **(plain | {"lon": None, "lat": None, "cell": None}))
    inspect(TreeFactory(tag="rated", **plain), pick(TargetFactory(park=plain["park"]), **HIGH))
    Standing.objects.exclude(tree__tag="rated").update(inspect_due=timezone.localdate() + dt.timedelta(days=1))
    Standing.objects.filter(tree__tag="rated").update(inspect_due=timezone.localdate() - dt.timedelta(days=1))
    return elm


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ({"park": "MW"}, ["park"]),
        ({"genus": "Ulmus"}, ["species"]),
        ({"status": "removed"}, ["gone"]),
        ({"status": "dead standing"}, ["dead"]),
        ({"size": "90"}, ["wide"]),
        ({"size": "60-90"}, []),
        ({"condition": "poor"}, ["poor"]),
        ({"rating": "high"}, ["rated"]),
        ({"rating": "extreme"}, []),
        ({"overdue": "on"}, ["rated"]),
        ({"unlocated": "on"}, ["lost"]),
        ({"q": "LOS"}, ["lost"]),
        ({"q": "wych"}, ["species"]),
        ({"q": "ulmus GL"}, ["species"]),
        ({"q": "old bess"}, ["cultivar"]),
        ({"park": "LG", "q": "park"}, []),
    ],
)
def test_a_filter_finds_its_trees_and_no_other(reader, grove, query, found):
    assert listed(reader, **query) == found


def test_the_species_filter_finds_its_trees(reader, grove):
    assert listed(reader, species=grove.pk) == ["species"]


def test_standing_means_alive_or_dead(reader, grove):
    assert set(listed(reader, status="stands")) == set(listed(reader)) - {"gone"}


def test_not_rated_leaves_out_the_rated_and_the_removed(reader, grove):
    assert set(listed(reader, rating="none")) == set(listed(reader)) - {"gone", "rated"}


@pytest.mark.parametrize("query", ["park=NO", "species=x", "size=huge", "page=forged"])
def test_a_value_that_no_filter_has_does_no_harm(reader, grove, query):
    assert reader.get(f"{TREES}?{query}").status_code == 200


def test_only_species_that_trees_have_are_offered(reader, grove):
    SpeciesFactory(botanical="Ginkgo biloba")
    page = reader.get(TREES).content.decode()
    assert "Ulmus glabra, wych elm" in page
    assert "Ginkgo" not in page


def test_pages_go_on_by_key_and_keep_the_filter(reader):
    park = ParkFactory(code="LG")
    tags = [TreeFactory(park=park).tag for _ in range(51)]
    TreeFactory()
    first = reader.get(TREES, {"park": "LG"}).content.decode()
    (onward,) = re.findall(r'rel="next" href="([^"]*)"', first)
    second = reader.get(TREES + onward.replace("&amp;", "&")).content.decode()
    assert re.findall(r'<th scope="row"><a href="[^"]*">([^<]*)</a>', second) == tags[50:]


def test_the_count_stops_early(reader, monkeypatch):
    monkeypatch.setattr("reports.tree_views.COUNTED_TO", 2)
    for _ in range(2):
        TreeFactory()
    assert "2 trees" in text(reader, TREES)
    TreeFactory()
    assert "More than 2 trees" in text(reader, TREES)


def test_markup_in_a_name_is_shown_not_obeyed(reader):
    TreeFactory(tag="<b>1</b>", cultivar="<script>x</script>")
    for address in (TREES, reverse("reports:tree", args=["<b>1</b>"]), reverse("reports:labels")):
        page = reader.get(address).content.decode()
        assert escape("<script>x</script>") in page
        assert "<script>x</script>" not in page


# Session, person, stale ratings, roles, groups in the masthead; parks, species, genera; the page; the bounded count.
LIST_QUERIES = 10


@pytest.mark.parametrize("trees", [3, 30])
def test_the_list_asks_the_same_number_of_questions_however_many_trees(reader, trees, django_assert_max_num_queries):
    for number in range(trees):
        TreeFactory(park=ParkFactory(code=f"P{number}"), species=SpeciesFactory(botanical=f"Genus species{number}"))
    with django_assert_max_num_queries(LIST_QUERIES):
        reader.get(TREES)


@pytest.fixture
def city():
    """20,000 trees in 20 parks of 200 species, multiplied by the database, which is then told of them."""
    for number in range(200):
        ParkFactory(code=f"C{number % 20}")
        SpeciesFactory(botanical=f"Genus{number} species")
    TreeFactory(tag="C", park=Park.objects.get(code="C0"))
    columns = [field.column for field in Tree._meta.concrete_fields if field.column != "id"]
    own = {
        "tag": "'C-' || lpad(n::text, 5, '0')",
        "park_id": "(SELECT array_agg(id) FROM inventory_park)[1 + n % 20]",
        "species_id": "(SELECT array_agg(id) FROM inventory_species)[1 + n * 7 % 200]",
    }
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO inventory_tree ({', '.join(columns)}) "  # noqa: S608
            f"SELECT {', '.join(own.get(column, column) for column in columns)} "
            "FROM inventory_tree, generate_series(1, 20000) AS n"
        )
        # What autovacuum does after an import: index entries that wait in line make the index look dear.
        cursor.execute("SELECT gin_clean_pending_list('tree_tag_trgm'), gin_clean_pending_list('tree_cultivar_trgm')")
        cursor.execute("ANALYZE inventory_tree, inventory_species, inventory_park, hazards_standing")


@pytest.mark.parametrize(
    ("query", "indexes"),
    [
        ({}, {"inventory_tree_tag_key"}),
        ({"park": "C7"}, {"tree_park_tag", "inventory_tree_tag_key"}),
        ({"q": "C-01234"}, {"tree_tag_trgm", "tree_cultivar_trgm"}),
        ({"q": "Genus77 sp"}, {"tree_tag_trgm", "tree_cultivar_trgm", "tree_species_tag"}),
    ],
)
def test_a_page_walks_an_index_of_the_trees(city, rf, query, indexes):
    trees = TreeFilter(query or None, queryset=rows(), request=rf.get("/")).qs
    plan = trees.order_by("tag")[:51].explain()
    assert "Seq Scan on inventory_tree" not in plan
    assert any(index in plan for index in indexes), plan


# --- download


def downloaded(client, **query) -> list[dict[str, str]]:
    response = client.get(reverse("reports:trees_csv"), query)
    content = b"".join(response.streaming_content).decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(content)))


def test_the_download_holds_the_filtered_trees(reader, grove):
    assert [row["tag"] for row in downloaded(reader, rating="high")] == ["rated"]
    (row,) = downloaded(reader, q="wych")
    assert (row["botanical"], row["dbh_cm"], row["park"]) == ("Ulmus glabra", "40.0", "LG")


def test_a_date_of_planting_comes_with_its_precision(reader):
    TreeFactory(planted_on=dt.date(1987, 1, 1), planted_precision=DatePrecision.YEAR)
    (row,) = downloaded(reader)
    assert (row["planted"], row["planted_precision"]) == ("1987-01-01", "year")


def test_a_removed_tree_has_no_rating_in_the_download(reader):
    TreeFactory(removed=True, species=None)
    (row,) = downloaded(reader)
    assert (row["rating"], row["inspect_due"], row["botanical"]) == ("", "", "")


# The characters that OWASP, "CSV Injection", names as dangerous at the start of a cell.
@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t"])
def test_no_cell_of_the_download_is_a_formula(reader, start):
    TreeFactory(tag=f"{start}cmd()", lon=-8.5, lat=47.2, cell=1)
    (row,) = downloaded(reader)
    assert row["tag"] == f"'{start}cmd()"
    assert float(row["longitude"]) == -8.5


# --- labels


def test_each_label_has_a_code_tag_and_name(reader):
    TreeFactory(tag="LG-7")
    said = reader.get(reverse("reports:labels")).content.decode()
    assert "LG-7" in said
    assert "Quercus rubra" in said
    assert said.count('<path fill="#fff"') == 1


def test_the_code_leads_to_the_trees_page(reader, monkeypatch):
    codes = []
    monkeypatch.setattr("reports.tree_views.segno.make_qr", lambda content, **how: codes.append(content) or _NoCode())
    TreeFactory(tag="LG 7/a")
    reader.get(reverse("reports:labels"))
    assert codes == ["http://testserver/trees/LG%207/a/"]
    assert reader.get(codes[0].removeprefix("http://testserver")).status_code == 200


class _NoCode:
    def svg_inline(self, **how: object) -> str:
        return ""


def test_labels_follow_the_filter_and_the_paper(reader, grove):
    page = reader.get(reverse("reports:labels"), {"q": "wych", "paper": "letter"}).content.decode()
    assert page.count('class="label"') == 1
    assert "labels--letter" in page


def test_labels_need_no_style_that_the_policy_refuses(reader):
    TreeFactory()
    assert "style=" not in reader.get(reverse("reports:labels")).content.decode()


# --- a tree's page


def test_a_photo_is_shown_with_its_words_and_its_day(reader):
    tree = TreeFactory()
    day = dt.datetime(2026, 5, 4, 9, tzinfo=dt.UTC)
    photo = Photo.objects.create(tree=tree, image="x.jpg", sha256="0", caption="Crack at the union", taken_at=day)
    page = re.sub(r"\s+", " ", reader.get(address(tree)).content.decode())
    assert f'src="{reverse("inventory:photo", args=[photo.pk])}" alt="Crack at the union"' in page
    assert "Crack at the union, 4 May 2026" in page


def address(tree: Tree) -> str:
    return reverse("reports:tree", args=[tree.tag])


def test_a_tag_with_a_slash_has_its_page(reader):
    assert "Q/12 b" in text(reader, address(TreeFactory(tag="Q/12 b")))


def test_an_unknown_tag_is_not_found(reader):
    assert reader.get(reverse("reports:tree", args=["none"])).status_code == 404


def test_a_tree_without_position_is_to_be_located(reader):
    assert "To be located" in text(reader, address(TreeFactory()))


def test_a_position_opens_in_a_map(reader):
    page = reader.get(address(TreeFactory(lon=8.5, lat=-47.25, cell=1))).content.decode()
    assert 'href="geo:-47.250000,8.500000"' in page


@pytest.mark.parametrize(("precision", "said"), [("day", "14 May 1987"), ("month", "May 1987"), ("year", "1987")])
def test_planted_is_shown_as_far_as_it_is_known(reader, precision, said):
    tree = TreeFactory(planted_on=dt.date(1987, 5, 14), planted_precision=precision)
    assert f"Planted {said} " in text(reader, address(tree))


def test_a_rating_shows_the_path_through_both_tables_and_its_dates(reader):
    tree = TreeFactory()
    inspect(tree, pick(TargetFactory(park=tree.park, name="sand pit"), **EXTREME))
    said = text(reader, address(tree))
    for word in (
        "Likelihood of failure Imminent",
        "Likelihood of impact High",
        "Failure and impact Very likely",
        "Consequences Severe",
        "Rating Extreme",
        "sand pit",
        "Work due",
        "planning aid for qualified people",
    ):
        assert word in said
    assert tree.standing.reason in said


def test_a_tree_that_nobody_looked_at_has_no_rating(reader):
    assert "Not inspected yet" in text(reader, address(TreeFactory()))


def test_overdue_dates_say_so_in_words(reader):
    tree = TreeFactory()
    inspect(tree, pick(TargetFactory(park=tree.park)))
    Standing.objects.filter(tree=tree).update(inspect_due=dt.date(2020, 1, 1))
    assert "1 Jan 2020, overdue" in text(reader, address(tree))


def test_the_history_tells_what_happened_newest_first(reader, by_manager):
    tree = TreeFactory()
    for summary in ("First.", "Second."):
        record.write(by=by_manager, verb="x", subject=tree, tree=tree, summary=summary)
    said = text(reader, address(tree))
    assert said.index("Second.") < said.index("First.")


def test_a_long_history_goes_on_by_page(reader, by_manager):
    tree = TreeFactory()
    for number in range(30):
        record.write(by=by_manager, verb="x", subject=tree, tree=tree, summary=f"Event {number:02d}.")
    page = reader.get(address(tree)).content.decode()
    assert "Event 00." not in page
    (older,) = re.findall(r'rel="next" href="([^"]*)"', page)
    assert "Event 00." in text(reader, address(tree) + older)


def test_removed_and_replacement_point_at_each_other(reader):
    old = TreeFactory(tag="old", removed=True)
    TreeFactory(tag="young", replaces=old)
    assert "Replaced by young" in text(reader, address(old))
    assert "Stands in place of old" in text(reader, reverse("reports:tree", args=["young"]))
    assert "Replacement owed Open" in text(reader, address(old))


def test_a_removal_order_is_shown(reader):
    tree = TreeFactory()
    order = RemovalOrder.objects.create(tree=tree, park=tree.park, reason="Root plate lifting", proposed_on=TODAY)
    said = text(reader, address(tree))
    assert f"Order {order.number} Proposed" in said
    assert "Root plate lifting" in said


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.MANAGER, Role.ADMINISTRATOR])
def test_who_may_edit_is_offered_to(as_role, role):
    tree = TreeFactory()
    assert reverse("inventory:edit_tree", args=[tree.tag]) in as_role(role).get(address(tree)).content.decode()


@pytest.mark.parametrize("role", [Role.READER, Role.PLANNER, Role.CREW_LEAD])
def test_who_may_not_edit_is_not_offered_to(as_role, role):
    tree = TreeFactory()
    assert reverse("inventory:edit_tree", args=[tree.tag]) not in as_role(role).get(address(tree)).content.decode()


def test_a_second_removal_is_not_offered_while_one_is_open(as_role):
    tree = TreeFactory()
    manager, offer = as_role(Role.MANAGER), reverse("removals:propose", args=[tree.tag])
    assert offer in manager.get(address(tree)).content.decode()
    RemovalOrder.objects.create(tree=tree, park=tree.park, reason="Root plate lifting", proposed_on=TODAY)
    assert offer not in manager.get(address(tree)).content.decode()


def test_a_removed_tree_is_offered_no_inspection(as_role):
    page = as_role(Role.MANAGER).get(address(TreeFactory(removed=True))).content.decode()
    assert ">Inspect<" not in page
    assert ">Propose removal<" not in page


# Session, person, roles, groups; tree; young, photos, inspections with two kinds of parts; orders, work, closures, looks
# asked for, an open storm, its finds, concerns, history.
PAGE_QUERIES = 20


@pytest.mark.parametrize("times", [1, 6])
def test_a_trees_page_asks_the_same_number_of_questions_however_long_its_history(
    reader, times, by_manager, django_assert_max_num_queries
):
    tree = TreeFactory(removed=False)
    for day in range(times):
        target = TargetFactory(park=tree.park)
        seen = dt.datetime(2026, 1, 1 + day, tzinfo=dt.UTC)
        inspect(tree, pick(target), pick(target, part="limb"), observed_at=seen)
        TreeFactory(replaces=tree, species=SpeciesFactory(botanical=f"Genus species{day}"))
    with django_assert_max_num_queries(PAGE_QUERIES):
        reader.get(address(tree))


def test_a_parks_boundary_is_not_read_for_a_list():
    assert "boundary" not in str(rows().query)
