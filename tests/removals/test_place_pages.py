"""The place of an order: what stands around its tree, what a crew adds, and what a manager accepts by name."""

import re
from html import unescape

import pytest
from django.urls import reverse
from pytest_django.asserts import assertNumQueries

from inventory.access import Role
from inventory.cells import cell
from inventory.errors import Refused
from inventory.models import RecordEntry
from removals import place_work, workflow
from removals.order_place import as_thing, falling_tree, lays_in, place_of
from removals.surroundings import position_at
from tests.factories import TreeFactory
from tests.hazards.factories import TargetFactory
from tests.removals.builders import Story

STUMP = (8.5, 47.2)
WIRE = {"kind": "wire", "name": "service drop", "points": [(200.0, 60.0), (160.0, 60.0)]}
BIN = {"kind": "obstacle", "name": "bin", "points": [(0.0, 9.0)]}


def at(bearing_and_distance_m: tuple[float, float], **values):
    """A neighbour at (metres east, metres north) of the stump."""
    lon, lat = position_at(STUMP, bearing_and_distance_m)
    return TreeFactory(lon=lon, lat=lat, cell=cell(lon, lat), **values)


@pytest.fixture
def story(cast) -> Story:
    """An order whose tree has one neighbour to the east and a path to the west."""
    tree = TreeFactory(tag="PK-1", height_m=15.0, crown_spread_m=6.0, lon=STUMP[0], lat=STUMP[1], cell=cell(*STUMP))
    at((12.0, 0.0), tag="PK-2", park=tree.park, crown_spread_m=4.0)
    lon, lat = position_at(STUMP, (-14.0, 0.0))
    TargetFactory(park=tree.park, name="Towpath", kind="path", lon=lon, lat=lat)
    return Story(cast, tree)


@pytest.fixture
def lost(cast) -> Story:
    """An order whose tree has no position."""
    return Story(cast, TreeFactory(tag="PK-9", height_m=15.0, crown_spread_m=6.0))


def text(response) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


def shown(client, order) -> str:
    return text(client.get(reverse("removals:place", args=[order.pk])))


def findings(order):
    return lays_in(place_of(order, 15.0), falling_tree(order.tree, None))


def status(order, bearing_deg: float) -> str:
    return next(lay.status.value for lay in findings(order).lays if lay.bearing_deg == bearing_deg)


# ---- The page --------------------------------------------------------------------------------------------------------


def test_what_the_inventory_knows_is_listed_with_the_lays_that_it_blocks(as_role, story):
    said = shown(as_role(Role.READER), story.order)
    assert "PK-2 tree 90° 12.0 m 60° to 120°" in said
    assert "Towpath path 270° 14.0 m 260° to 280°" in said or "Towpath path 270° 14.0 m" in said
    assert "Add what the inventory does not hold" not in said


def test_three_lays_are_proposed_each_with_its_sentence_and_the_way_into_the_plan(as_role, story):
    page = as_role(Role.CREW_LEAD).get(reverse("removals:place", args=[story.order.pk]))
    links = re.findall(rf"{reverse('removals:plan', args=[story.order.pk])}\?lay=(\d+)", page.content.decode())
    assert [float(each) for each in links] == [lay.bearing_deg for lay in findings(story.order).proposed]
    assert len(links) == 3
    assert text(page).count("nothing stands in its swath out to") >= 3


def test_the_rose_is_drawn_with_all_bearings_in_a_table(as_role, story):
    page = as_role(Role.READER).get(reverse("removals:place", args=[story.order.pk])).content.decode()
    assert "<svg" in page
    assert len(re.findall(r'<th scope="row" class="number">\d+°</th>', page)) == 72


def test_a_tree_without_a_position_says_so_and_takes_what_is_entered(as_role, lost):
    place_work.add_thing(by=lost.lead, order=lost.order, **BIN)
    said = shown(as_role(Role.READER), lost.order)
    assert "PK-9 has no position" in said
    assert "bin obstacle 0° 9.0 m" in said
    assert status(lost.order, 0.0) == "blocked"
    assert status(lost.order, 90.0) == "clear"


def test_a_tree_without_a_height_asks_for_it(as_role, cast):
    order = Story(cast, TreeFactory(height_m=None)).order
    assert "The tree's height is not known" in shown(as_role(Role.READER), order)


def test_the_page_asks_the_same_number_of_questions_however_much_stands_there(
    as_role, story, django_assert_max_num_queries
):
    for n in range(8):
        at((20.0 + n, 5.0), park=story.order.park)
    client = as_role(Role.READER)
    with django_assert_max_num_queries(18):
        shown(client, story.order)


# ---- Things added ----------------------------------------------------------------------------------------------------


def test_a_crew_lead_adds_a_wire_in_feet_and_it_stops_every_lay(as_role, story):
    client = as_role(Role.CREW_LEAD)
    typed = {"kind": "wire", "name": "service drop", "bearing_1": "200", "distance_1": "50 ft"}
    response = client.post(
        reverse("removals:place", args=[story.order.pk]), {**typed, "bearing_2": "160", "distance_2": "15.24 m"}
    )
    assert response.status_code == 302
    (added,) = story.order.site_things.all()
    assert added.points == [[200.0, pytest.approx(15.24)], [160.0, pytest.approx(15.24)]]
    assert "All lays are blocked. A wire is 14.3 m" in shown(client, story.order)


def test_a_wire_needs_two_points(story):
    with pytest.raises(Refused, match="needs 2 points"):
        place_work.add_thing(by=story.lead, order=story.order, kind="wire", name="drop", points=[(0.0, 9.0)])


def test_a_point_takes_both_numbers_and_the_form_says_which_is_missing(as_role, story):
    response = as_role(Role.CREW_LEAD).post(
        reverse("removals:place", args=[story.order.pk]), {"kind": "obstacle", "name": "bin", "bearing_1": "10"}
    )
    assert "A point takes both a bearing and a distance." in text(response) or "required" in text(response)
    assert not story.order.site_things.exists()


@pytest.mark.parametrize("name", ["PK-2", "Towpath"])
def test_a_name_that_is_taken_at_this_place_is_refused(story, name):
    with pytest.raises(Refused, match="already"):
        place_work.add_thing(by=story.lead, order=story.order, **{**BIN, "name": name})


@pytest.mark.parametrize("point", [(361.0, 5.0), (10.0, 0.0), (10.0, 201.0), (float("nan"), 5.0)])
def test_a_point_off_the_map_is_refused(story, point):
    with pytest.raises(Refused, match="A point has a bearing"):
        place_work.add_thing(by=story.lead, order=story.order, **{**BIN, "points": [point]})


def test_a_building_of_three_corners_encloses_its_ground(story):
    corners = [(350.0, 10.0), (10.0, 10.0), (0.0, 20.0)]
    added = place_work.add_thing(by=story.lead, order=story.order, kind="building", name="kiosk", points=corners)
    assert as_thing(added).points[0] == as_thing(added).points[-1]


def test_a_spotter_is_on_the_picture_and_blocks_no_lay(story):
    place_work.add_thing(by=story.lead, order=story.order, kind="spotter", name="Ida", points=[(0.0, 10.0)])
    assert status(story.order, 0.0) == "clear"


def test_what_was_added_is_removed_again_and_its_acceptance_with_it(as_role, story):
    place_work.add_thing(by=story.lead, order=story.order, **BIN)
    place_work.accept_thing(by=story.manager, order=story.order, name="bin", reason="It is old")
    as_role(Role.CREW_LEAD).post(reverse("removals:remove_thing", args=[story.order.pk]), {"name": "bin"})
    assert not story.order.site_things.exists()
    assert not story.order.accepted_things.exists()


def test_what_the_inventory_holds_is_not_removed_here(as_role, story):
    client = as_role(Role.CREW_LEAD)
    response = client.post(reverse("removals:remove_thing", args=[story.order.pk]), {"name": "PK-2"}, follow=True)
    assert "Nothing called “PK-2” was added to this place." in text(response)


# ---- Things accepted -------------------------------------------------------------------------------------------------


def test_a_manager_accepts_by_name_and_the_lay_opens(as_role, story):
    place_work.add_thing(by=story.lead, order=story.order, **BIN)
    assert status(story.order, 0.0) == "blocked"
    as_role(Role.MANAGER).post(
        reverse("removals:accept", args=[story.order.pk]), {"name": "bin", "reason": "It is to be replaced"}
    )
    assert status(story.order, 0.0) == "accepted"
    assert "accepted by manager: It is to be replaced" in shown(as_role(Role.READER), story.order)


def test_a_crew_lead_accepts_nothing(story):
    with pytest.raises(Refused, match="may not approve"):
        place_work.accept_thing(by=story.lead, order=story.order, name="PK-2", reason="It is small")


def test_a_wire_and_a_person_are_never_accepted(story):
    place_work.add_thing(by=story.lead, order=story.order, **WIRE)
    place_work.add_thing(by=story.lead, order=story.order, kind="spotter", name="Ida", points=[(0.0, 10.0)])
    for name in ("service drop", "Ida"):
        with pytest.raises(Refused, match="never accepted"):
            place_work.accept_thing(by=story.manager, order=story.order, name=name, reason="Only this once")


def test_what_is_not_there_or_has_no_reason_is_not_accepted(story):
    with pytest.raises(Refused, match="stands around"):
        place_work.accept_thing(by=story.manager, order=story.order, name="PK-77", reason="Why not")
    with pytest.raises(Refused, match="Say why"):
        place_work.accept_thing(by=story.manager, order=story.order, name="PK-2", reason="  ")


def test_an_acceptance_is_taken_back(as_role, story):
    place_work.accept_thing(by=story.manager, order=story.order, name="PK-2", reason="To be felled next")
    assert status(story.order, 90.0) == "accepted"
    as_role(Role.MANAGER).post(reverse("removals:take_back", args=[story.order.pk]), {"name": "PK-2"})
    assert status(story.order, 90.0) == "blocked"


# ---- The record, and orders that have ended --------------------------------------------------------------------------


def test_each_change_writes_one_entry(story):
    before = RecordEntry.objects.count()
    place_work.add_thing(by=story.lead, order=story.order, **BIN)
    place_work.accept_thing(by=story.manager, order=story.order, name="bin", reason="It is old")
    place_work.take_back(by=story.manager, order=story.order, name="bin")
    place_work.remove_thing(by=story.lead, order=story.order, name="bin")
    verbs = list(RecordEntry.objects.order_by("pk").values_list("verb", flat=True))[before:]
    assert verbs == ["place changed", "accepted in the swath", "acceptance taken back", "place changed"]


def test_the_place_of_a_fallen_tree_stays_as_it_was(lost):
    workflow.already_down(by=lost.lead, order_or_tree=lost.order, on=lost.today, cause="storm")
    with pytest.raises(Refused, match="settled before it is down"):
        place_work.add_thing(by=lost.lead, order=lost.order, **BIN)


def test_a_refused_change_leaves_no_trace(story):
    entries = RecordEntry.objects.count()
    with pytest.raises(Refused):
        place_work.add_thing(by=story.lead, order=story.order, **{**BIN, "kind": "dragon"})
    assert RecordEntry.objects.count() == entries


def test_two_trees_at_the_same_place_do_not_share_what_was_added(cast, story):
    other = Story.of(story, TreeFactory(park=story.order.park, height_m=15.0))
    place_work.add_thing(by=story.lead, order=story.order, **BIN)
    with assertNumQueries(1):
        assert list(other.order.site_things.all()) == []
