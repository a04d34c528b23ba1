"""The place of an order in Chromium: a wire added on the tablet, a bin accepted, and the lay taken into the plan."""

from playwright.sync_api import Page, expect

from inventory.access import Role
from removals.models import RemovalOrder
from tests.browser.chromium import TABLET


def add(page: Page, kind: str, name: str, *points: tuple[str, str]) -> None:
    page.get_by_label("What it is").select_option(label=kind)
    page.get_by_label("Name", exact=False).first.fill(name)
    for n, (bearing, distance) in enumerate(points, start=1):
        page.get_by_label(f"Point {n}: bearing").fill(bearing)
        page.get_by_label(f"Point {n}: distance from the stump").fill(distance)
    page.get_by_role("button", name="Add to the place").click()


def test_what_a_crew_adds_changes_the_ways_and_leads_into_the_plan(world, login_as):
    order: RemovalOrder = world.scheduled
    lead, manager = login_as(Role.CREW_LEAD, viewport=TABLET), login_as(Role.MANAGER)
    lead.goto(f"/removals/{order.pk}/place/")
    add(lead, "Wire", "service drop", ("200", "40 m"), ("160", "130 ft"))
    expect(lead.get_by_role("row", name="service drop wire")).to_be_visible()
    add(lead, "Obstacle", "bin", ("90", "9 m"))
    expect(lead.get_by_role("row", name="bin obstacle")).to_be_visible()
    assert lead.evaluate("document.documentElement.scrollWidth") <= TABLET["width"]

    manager.goto(f"/removals/{order.pk}/place/")
    manager.get_by_role("link", name="Accept bin").click()
    manager.get_by_label("Why the tree may fall on it").fill("It is to be replaced")
    manager.get_by_role("button", name="Accept it by name").click()
    expect(manager.get_by_text("It is to be replaced")).to_be_visible()

    lead.goto(f"/removals/{order.pk}/place/")
    link = lead.get_by_role("link", name="Plan with").first
    lay = (link.text_content() or "").removeprefix("Plan with ").rstrip("°")
    link.click()
    assert float(lead.get_by_label("Lay: the bearing it is to fall on").input_value()) == float(lay)
    expect(lead.get_by_text("nothing stands in its swath")).to_be_visible()
