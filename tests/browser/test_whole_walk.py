"""The whole job in a browser, by the people who do it: each in a window of their own, each step on its own page."""

from __future__ import annotations

import pytest
from playwright.sync_api import Locator, Page, expect

from hazards.models import Standing
from inventory.access import Role
from inventory.models import Tree
from removals.models import RemovalOrder
from removals.work_items import Stage
from replanting.models import ReplacementTask
from tests.browser import around
from tests.browser.briefing import go_through, sign_in_turn
from tests.browser.chromium import TABLET
from tests.factories import ParkFactory, SpeciesFactory
from tests.hazards.factories import TargetFactory

TREE_FILE = b"""Tag;Park;Botanical name;DBH (in);Height (ft);Crown spread (ft);Status;Latitude;Longitude
LG-1;LG;Fraxinus pennsylvanica;14;49;26;Alive;45.2001;-40.3001
LG-2;LG;Tilia cordata;9;33;20;Alive;45.2002;-40.3003
LG-3;LG;;;;;Stump;45.2003;-40.3004
LG-4;LG;Acer campestre;940;20;16;Alive;45.2004;-40.3005
"""


def press(page: Page, name: str) -> None:
    page.get_by_role("main").get_by_role("button", name=name, exact=True).click()


def follow(page: Page, name: str) -> None:
    page.get_by_role("main").get_by_role("link", name=name, exact=True).first.click()


def figure(page: Page, label: str) -> Locator:
    """The figure of a report's row."""
    heading = page.get_by_role("rowheader", name=label, exact=True)
    return page.get_by_role("main").locator("tr").filter(has=heading).locator(".number").first


def fact(page: Page, heading: str, label: str) -> Locator:
    """The figure beside a term, in the section under a heading."""
    section = page.get_by_role("region", name=heading)
    return section.locator("dt").get_by_text(label, exact=True).locator("xpath=following-sibling::dd[1]")


def import_the_file(page: Page) -> None:
    page.goto("/trees/")
    follow(page, "Import a tree file")
    page.get_by_label("Tree file").set_input_files(
        {"name": "lantern-green.csv", "mimeType": "text/csv", "buffer": TREE_FILE}
    )
    press(page, "Send it in and look at its columns")
    press(page, "These are right: show the first rows")
    press(page, "Import 4 rows")
    expect(page.get_by_role("main")).to_contain_text("What became of 4 rows")
    expect(page.get_by_role("row", name="940")).to_contain_text("beyond any tree")
    assert set(Tree.objects.values_list("tag", flat=True)) == {"LG-1", "LG-2"}


def inspect_the_ash(page: Page) -> None:
    page.goto("/trees/LG-1/")
    follow(page, "Inspect")
    page.get_by_label("Poor", exact=True).check()
    row = page.get_by_role("group", name="Assessment 1")
    row.get_by_label("What could fail").select_option("trunk")
    row.get_by_label("How it would fail").fill("breaking at the cavity")
    row.locator("input[value=probable]").check()
    row.get_by_label("What it would hit").select_option(label="play area (constant use)")
    row.locator("input[value='fully exposed']").check()
    row.locator("input[value=severe]").check()
    # Probable × high (constant use, fully exposed) → likely; likely × severe → high.
    expect(row.get_by_role("list")).to_contain_text("Likely")
    press(page, "Save the inspection")
    expect(page.get_by_role("main")).to_contain_text("High")


def propose(page: Page) -> None:
    page.goto("/hazards/")
    expect(page.get_by_role("main")).to_contain_text("breaking at the cavity")
    page.goto("/trees/LG-1/")
    follow(page, "Propose removal")
    page.get_by_label("Why it has to come down").fill("Cavity at the base, over the play area")
    press(page, "Propose the removal")


def approve_and_schedule(page: Page, lead: str) -> None:
    page.goto("/removals/")
    page.get_by_role("row", name="LG-1").get_by_role("link").first.click()
    follow(page, "Approve")
    press(page, "Approve the removal")
    around.see_to(page, Stage.BEFORE)
    around.name_crew(page)
    follow(page, "Schedule")
    page.get_by_label("Crew lead").select_option(label=lead)
    press(page, "Schedule")
    expect(page.get_by_role("main")).to_contain_text("scheduled")


def plan_the_felling(page: Page) -> None:
    page.goto("/removals/")
    page.get_by_role("row", name="LG-1").get_by_role("link").first.click()
    follow(page, "Make a felling plan")
    page.get_by_label("Lean by clinometer, degrees").fill("0")
    page.get_by_label("Lay: the bearing it is to fall on").fill("90")
    page.get_by_label("Pull line, winch with progress capture").check()
    page.get_by_label("Winch stalls at").fill("16000 N")
    page.get_by_label("Working load limit of line and gear").fill("20000 N")
    press(page, "Compute and keep the plan")
    main = page.get_by_role("main")
    expect(main).to_contain_text("Marginal")
    expect(main).to_contain_text("225°")
    expect(main).to_contain_text("315°")


def brief_the_crew(page: Page) -> None:
    follow(page, "Brief the crew")
    go_through(page)
    sign_in_turn(page)
    expect(page.get_by_role("main")).to_contain_text("The crew is whole.")


def fell(page: Page) -> None:
    follow(page, "Back to the order")
    follow(page, "Report it felled")
    page.get_by_label("As planned").check()
    page.get_by_label("Held", exact=True).check()
    page.get_by_label("How it went").fill("As planned")
    press(page, "The tree is felled")
    expect(page.get_by_role("main")).to_contain_text("felled")


def close(page: Page) -> None:
    page.goto("/removals/")
    page.get_by_role("row", name="LG-1").get_by_role("link").first.click()
    around.see_to(page, Stage.AFTER)
    follow(page, "Close")
    press(page, "Close the order")
    expect(page.get_by_role("main")).to_contain_text("is closed")


def plant_again(page: Page) -> None:
    page.goto("/replanting/")
    page.get_by_role("main").get_by_role("link", name="LG-1").first.click()
    follow(page, "Choose the species")
    follow(page, "Tilia cordata")
    page.get_by_label("Why this species").fill("Holds on dry ground, and the park has few limes")
    press(page, "Choose this species")
    follow(page, "Order stock")
    page.get_by_label("Container").check()
    page.get_by_label("Nursery").fill("Fenland Growers")
    press(page, "Order stock")
    follow(page, "Plant")
    press(page, "Plant")
    expect(page.get_by_role("main")).to_contain_text("Planted")


@pytest.mark.django_db(transaction=True)
def test_a_tree_goes_from_the_file_to_its_successor(login_as, cast):
    park = ParkFactory(code="LG", name="Lantern Green", hardiness_zone="6a")
    TargetFactory(park=park, name="play area", occupancy="constant")
    SpeciesFactory(
        botanical="Tilia cordata", common="small-leaved lime", family="Malvaceae", palette=True, zone_min=3, zone_max=7
    )
    manager, inspector = login_as(Role.MANAGER), login_as(Role.INSPECTOR, viewport=TABLET)
    lead, planner, reader = login_as(Role.CREW_LEAD, viewport=TABLET), login_as(Role.PLANNER), login_as(Role.READER)

    import_the_file(manager)
    inspect_the_ash(inspector)
    propose(inspector)
    around.add_workers(manager)
    approve_and_schedule(manager, cast[Role.CREW_LEAD].username)
    plan_the_felling(lead)
    brief_the_crew(lead)
    fell(lead)

    tree = Tree.objects.get(tag="LG-1")
    assert not tree.stands
    assert not Standing.objects.filter(tree=tree).exists()
    assert RemovalOrder.objects.get(tree=tree).state == "felled"
    assert ReplacementTask.objects.get(removed_tree=tree).state == "open"

    close(manager)
    assert RemovalOrder.objects.get(tree=tree).state == "closed"

    plant_again(planner)
    successor = Tree.objects.get(replaces=tree)
    assert (successor.species.botanical, successor.status) == ("Tilia cordata", "standing")

    reader.goto("/reports/parks/LG/")
    expect(fact(reader, "Removal orders", "Closed")).to_have_text("1")
    for label, count in {"Tilia cordata": "2", "+ planted, in care": "1", "= owed": "1"}.items():
        expect(figure(reader, label)).to_have_text(count)
