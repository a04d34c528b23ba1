"""What is owed for a wide tree, in a browser: one is split off, moved to a vacant place, planted there and established."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from inventory.access import Role
from inventory.models import PlantingPlace, Tree
from replanting.models import TaskState
from tests.browser.test_whole_walk import follow, press
from tests.factories import ParkFactory, SpeciesFactory
from tests.replanting.test_parting import further


@pytest.mark.django_db(transaction=True)
def test_one_of_several_is_split_off_moved_planted_and_established(login_as):
    pond = ParkFactory(code="PON", name="Heron Pond", hardiness_zone="6a")
    PlantingPlace.objects.create(tag="PON-7", park=pond, kind="vacant site", lon=-40.3, lat=45.2)
    SpeciesFactory(botanical="Quercus bicolor", palette=True, zone_min=3, zone_max=8)
    task = further()
    page = login_as(Role.PLANNER)
    main = page.get_by_role("main")

    page.goto(f"/replanting/tasks/{task.pk}/")
    follow(page, "Split it")
    page.get_by_label("Trees to split off").fill("1")
    page.get_by_label("Reason").fill("one fits beside the pond")
    press(page, "Split it")
    expect(page.get_by_text("this is the part that goes its own way")).to_be_visible()

    follow(page, "Move it to another site")
    page.get_by_label("Planting place").fill("PON-7")
    page.get_by_label("Reason").fill("the old spot takes one only")
    press(page, "Move it to another site")
    expect(main).to_contain_text("to stand in Heron Pond")

    follow(page, "Choose the species")
    follow(page, "Quercus bicolor")
    page.get_by_label("Why this species").fill("bears a wet foot")
    press(page, "Choose this species")

    follow(page, "Order stock")
    page.get_by_label("Container", exact=True).check()
    page.get_by_label("Nursery").fill("Lowfield")
    press(page, "Order stock")

    follow(page, "Plant")
    page.get_by_label("Caliper").fill("5 cm")
    page.get_by_label("Why outside the planting window").fill("a mild week, and the crew is free")
    press(page, "Plant")
    expect(main).to_contain_text("guarantee runs to")

    follow(page, "Declare it established")
    press(page, "Declare it established")
    expect(page.get_by_text("the promise is kept")).to_be_visible()

    young = Tree.objects.get(replaces=task.removed_tree)
    assert (young.park, young.lon, young.lat) == (pond, -40.3, 45.2)
    assert young.planting.task.state == TaskState.ESTABLISHED
    task.refresh_from_db()
    assert (task.state, task.units) == (TaskState.OPEN, 1)
