"""A crew lead's day on the tablet against the real server: briefed and felled without signal, received later."""

import pytest
from playwright.sync_api import Page, expect

from inventory.access import Role
from inventory.models import Tree
from removals.models import JobBriefing, OrderState, RemovalOrder
from tests.browser.chromium import TABLET
from tests.browser.tablet import Tablet
from tests.browser.test_field_screens import LEAST_TARGET_PX, SMALL, at, choose
from tests.factories import ParkFactory, TreeFactory
from tests.removals.builders import CARD, CREW, Story


@pytest.fixture
def page(transactional_db, cast, login_as) -> Page:
    """The tablet of the crew lead, with the order of the day on it and out of signal."""
    tree = TreeFactory(tag="LG-1", park=ParkFactory(code="LG", name="Lantern Green"))
    Story(cast, tree).scheduled().planned()
    page = login_as(Role.CREW_LEAD, service_workers="allow", viewport=TABLET)
    page.set_default_timeout(8000)
    page.goto("/field/#/packs")
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    page.get_by_role("button", name="Take along").click()
    expect(page.get_by_text("Holds 1 tree")).to_be_visible()
    Tablet(page).call("tables", "refresh")
    page.context.set_offline(True)
    return page


def brief(page: Page) -> None:
    page.get_by_role("link", name="Hold the briefing").click()
    expect(page.get_by_role("heading", name="Job briefing, Remove LG-1")).to_be_focused()
    for box in page.get_by_role("checkbox").all():
        box.check()
    page.get_by_role("textbox", name="Gust measured").fill("2")
    for key, words in CARD.items():
        page.locator(f"[id='emergency.{key}']").fill(words)
    for name, role in CREW:
        page.get_by_label(f"{name}, {role}: sign by typing your name").fill(name)
    page.get_by_role("button", name="Keep the briefing").click()
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()


def report_down(page: Page) -> None:
    page.get_by_role("link", name="Report it down").click()
    choose(page, "It went", "As planned")
    choose(page, "The hinge", "Held")
    page.get_by_role("textbox", name="How it went, in words").fill("On the lay.")
    page.get_by_role("button", name="The tree is down").click()
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()


def test_briefed_and_felled_without_signal(page) -> None:
    page.get_by_role("link", name="Orders").click()
    page.get_by_role("link", name="Remove LG-1").click()
    expect(page.get_by_role("heading", level=2).first).to_have_text("Emergency card")
    expect(page.locator("svg.drawing").first).to_be_visible()
    assert page.evaluate(SMALL, LEAST_TARGET_PX) == []
    brief(page)
    page.get_by_role("link", name="Back to the order").click()
    report_down(page)
    page.context.set_offline(False)
    at(page, "/outbox", "Outbox").get_by_role("button", name="Send now").click()
    expect(page.get_by_role("link", name="Outbox: All sent")).to_be_visible()
    held = JobBriefing.objects.get()
    assert sorted(held.signatures.values_list("name", "role")) == sorted(CREW)
    assert RemovalOrder.objects.get().state == OrderState.FELLED
    assert Tree.objects.get().status == "removed"
