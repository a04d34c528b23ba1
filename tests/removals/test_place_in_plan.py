"""From the rose into the felling plan: the lay, the nearest wire, the clear length, and the rule that refuses."""

import re
from html import unescape

import pytest
from django.urls import reverse

from inventory.access import Role
from inventory.cells import cell
from removals import place_work
from removals.felling_input import Site
from removals.models import FellingPlan
from removals.order_place import no_position, place_gap
from removals.place_prefill import from_place
from removals.readiness import plan_gaps
from removals.surroundings import position_at
from tests.factories import TreeFactory
from tests.removals.builders import Story, inputs
from tests.removals.test_plan_pages import BY_PEOPLE

STUMP = (8.5, 47.2)
BIN = {"kind": "obstacle", "name": "bin", "points": [(0.0, 9.0)]}
WIRE = {"kind": "wire", "name": "drop", "points": [(200.0, 40.0), (160.0, 40.0)]}
NORTH, EAST = 0.0, 90.0


@pytest.fixture
def story(cast) -> Story:
    """A tree with one neighbour to the east."""
    tree = TreeFactory(tag="PK-1", height_m=15.0, crown_spread_m=6.0, lon=STUMP[0], lat=STUMP[1], cell=cell(*STUMP))
    lon, lat = position_at(STUMP, (12.0, 0.0))
    TreeFactory(tag="PK-2", park=tree.park, crown_spread_m=4.0, lon=lon, lat=lat, cell=cell(lon, lat))
    return Story(cast, tree)


def planned(story: Story, lay_deg: float = NORTH) -> FellingPlan:
    return story.planned(inputs(site=Site(lay_deg=lay_deg)))


def place_drawing(page) -> str:
    (drawing,) = re.findall(r"<svg[^>]*>\s*<title[^>]*>The place from above.*?</svg>", page.content.decode(), re.DOTALL)
    return drawing


def text(response) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


# ---- The form --------------------------------------------------------------------------------------------------------


def test_the_rose_fills_the_lay_of_the_form_and_says_why(as_role, story):
    page = as_role(Role.CREW_LEAD).get(reverse("removals:plan", args=[story.order.pk]), {"lay": "45"})
    assert re.search(r'name="lay_deg" value="45(\.0)?"', page.content.decode())
    assert "45°: nothing stands in its swath out to 16.5 m" in text(page)


@pytest.mark.parametrize("lay", ["north", "400", "nan", ""])
def test_a_lay_in_the_address_that_is_no_bearing_is_left_out(as_role, story, lay):
    page = as_role(Role.CREW_LEAD).get(reverse("removals:plan", args=[story.order.pk]), {"lay": lay})
    assert page.status_code == 200
    assert not re.search(r'name="lay_deg" value="', page.content.decode())


def test_the_nearest_wire_and_the_clear_length_come_from_the_place(story):
    place_work.add_thing(by=story.lead, order=story.order, **WIRE)
    told = from_place(story.order, None, EAST)
    assert told.initial["wire_distance_m"] == pytest.approx(37.59, abs=0.01)
    assert told.initial["clear_length_m"] == pytest.approx(12.0, abs=0.01)
    assert told.words[0] == "90° is blocked."


def test_a_clear_lay_leaves_the_length_to_whoever_measures_it(story):
    assert "clear_length_m" not in from_place(story.order, None, NORTH).initial


def test_what_is_accepted_by_now_no_longer_shortens_the_lay(as_role, story):
    client = as_role(Role.CREW_LEAD)
    typed = {**BY_PEOPLE, "lay_deg": "90", "clear_length_m": "12 m"}
    client.post(reverse("removals:plan", args=[story.order.pk]), typed)
    earlier = FellingPlan.objects.get()
    assert from_place(story.order, earlier, None).initial["clear_length_m"] == pytest.approx(12.0, abs=0.01)
    place_work.accept_thing(by=story.manager, order=story.order, name="PK-2", reason="To be felled next")
    assert from_place(story.order, earlier, None).initial["clear_length_m"] is None


# ---- The rule --------------------------------------------------------------------------------------------------------


def test_a_plan_over_a_neighbour_is_outside_the_method_however_it_is_made(story):
    plan = planned(story, EAST)
    assert plan.verdict == "outside the method"
    assert "PK-2 (tree) at 90°, 12 m" in plan.results["reasons"][0]
    assert planned(story, NORTH).verdict == "adequate"


def test_accepted_by_name_the_same_plan_holds(story):
    place_work.accept_thing(by=story.manager, order=story.order, name="PK-2", reason="To be felled next")
    assert planned(story, EAST).verdict == "adequate"


def test_a_wire_of_the_place_refuses_the_plan(story):
    place_work.add_thing(by=story.lead, order=story.order, **{**WIRE, "points": [(200.0, 20.0), (160.0, 20.0)]})
    assert planned(story).verdict == "outside the method"


def test_a_plan_without_a_position_says_what_it_does_not_know(cast):
    lost = Story(cast, TreeFactory(height_m=15.0))
    assert no_position(lost.order.tree) in lost.planned().assumptions
    place_work.add_thing(by=lost.lead, order=lost.order, **BIN)
    assert planned(lost, NORTH).verdict == "outside the method"


def test_a_plan_stays_as_computed_when_the_place_changes(story):
    plan = planned(story)
    kept = (plan.inputs, plan.results, plan.digest)
    place_work.add_thing(by=story.lead, order=story.order, **BIN)
    plan.refresh_from_db()
    assert (plan.inputs, plan.results, plan.digest) == kept


def test_what_is_added_after_the_plan_asks_for_a_new_one(story):
    plan = planned(story)
    assert plan_gaps(plan) == ()
    place_work.add_thing(by=story.lead, order=story.order, **BIN)
    assert place_gap(plan) == "bin was added to the place after the plan was made: make a new plan."
    assert plan_gaps(plan) == (place_gap(plan),)


def test_an_acceptance_taken_back_asks_for_a_new_plan(story):
    place_work.accept_thing(by=story.manager, order=story.order, name="PK-2", reason="To be felled next")
    plan = planned(story, EAST)
    assert plan_gaps(plan) == ()
    place_work.take_back(by=story.manager, order=story.order, name="PK-2")
    assert "no longer accepted" in plan_gaps(plan)[0]


# ---- The drawing -----------------------------------------------------------------------------------------------------


def test_the_plans_drawing_shows_neighbours_wires_and_spotters(as_role, story):
    place_work.add_thing(by=story.lead, order=story.order, **{**WIRE, "points": [(200.0, 28.0), (160.0, 28.0)]})
    place_work.add_thing(by=story.lead, order=story.order, kind="spotter", name="Ida", points=[(200.0, 20.0)])
    page = as_role(Role.READER).get(reverse("removals:felling_plan", args=[planned(story).pk]))
    drawing = place_drawing(page)
    for words in ("PK-2", "drop", "Ida"):
        assert f">{words}<" in drawing
    assert 'class="axis wire"' in drawing
    assert 'class="obstacle spotter"' in drawing


def test_what_blocks_is_filled_and_named_in_the_drawing(as_role, story):
    page = as_role(Role.READER).get(reverse("removals:felling_plan", args=[planned(story, EAST).pk]))
    drawing = place_drawing(page)
    assert "PK-2 (in the swath)" in drawing
    assert 'class="obstacle-hit tree"' in drawing
