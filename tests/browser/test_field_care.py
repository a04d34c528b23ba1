"""The round of the young trees on the tablet: without signal, one tap a tree, stored once each."""

import datetime as dt

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from inventory.access import Role
from inventory.models import Park
from replanting.models import CareVisit, Planting
from tests.browser.chromium import TABLET
from tests.browser.tablet import Tablet
from tests.browser.test_field_screens import at
from tests.factories import ParkFactory, TreeFactory
from tests.replanting.walk import planted

# Until the worker hands out the page; at most twenty seconds.
ACTIVE = """async () => {
    for (let n = 0; !self.registration.active && n < 400; n += 1) await new Promise((done) => setTimeout(done, 50));
}"""


@pytest.fixture
def park(transactional_db) -> Park:
    """Two young trees of a warm park, where the season is all the year: both are overdue for water."""
    park = ParkFactory(code="LG", name="Lantern Green", hardiness_zone="9a")
    for number in (1, 2):
        tree = TreeFactory(park=park)
        tree.place(8.5, 47.2 + number / 1e4)
        tree.save()
        planted(tree, on=timezone.localdate() - dt.timedelta(days=20))
    Planting.objects.update(caliper_cm=5.08)
    return park


@pytest.fixture
def round_(park, login_as) -> Page:
    page = login_as(Role.CREW_LEAD, service_workers="allow", viewport=TABLET)
    page.goto("/field/#/packs")
    known = page.context.service_workers
    worker = known[0] if known else page.context.wait_for_event("serviceworker")
    worker.evaluate(ACTIVE)
    page.get_by_role("button", name="Take along").click()
    expect(page.get_by_text("Holds 2 trees")).to_be_visible()
    Tablet(page).call("tables", "refresh")
    page.context.set_offline(True)
    return at(page, "/care", "Young trees, Lantern Green")


def test_a_round_in_flight_mode_outlasts_a_restart_and_each_visit_arrives_once(round_, axe) -> None:
    page = round_
    first, second = (planting.tree.tag for planting in Planting.objects.order_by("pk"))
    expect(page.get_by_text("0 of 2 seen on this round")).to_be_visible()
    axe(page)
    page.get_by_role("button", name=f": {first}").first.dblclick()
    expect(page.get_by_text("1 of 2 seen on this round")).to_be_visible()
    other = page.get_by_role("listitem").filter(has=page.get_by_role("heading", name=second))
    other.get_by_text("More").click()
    other.get_by_role("button", name="Ball saturated").click()
    expect(page.get_by_text("2 of 2 seen on this round")).to_be_visible()
    page.reload()
    expect(page.get_by_text("2 of 2 seen on this round")).to_be_visible()
    page.context.set_offline(False)
    Tablet(page).send()
    Tablet(page).send()
    visits = {visit.planting.tree.tag: visit for visit in CareVisit.objects.select_related("planting__tree")}
    assert CareVisit.objects.count() == 2
    assert visits[first].watered_l == pytest.approx(47.3, abs=0.1)
    assert (visits[second].saturated, visits[second].watered_l) == (True, None)
    assert {visit.by.username for visit in visits.values()} == {"crew-lead"}
