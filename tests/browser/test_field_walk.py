"""The tablet page against the real server: what is done without signal arrives, once, with its photo."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from hazards.models import Assessment, Inspection, Standing, Target
from inventory.access import Role
from inventory.models import Park, Photo, Tree
from tests.browser.chromium import ARGUMENTS, TABLET, chromium_path
from tests.browser.tablet import Tablet
from tests.browser.test_field_screens import assess, at, choose, keep
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory
from tests.hazards.factories import TargetFactory

SENT = "Outbox: All sent"


@pytest.fixture
def park(transactional_db) -> Park:
    park = ParkFactory(code="LG", name="Lantern Green")
    for number in (1, 2):
        tree = TreeFactory(park=park, tag=f"LG-{number}")
        tree.place(8.5, 47.2 + number / 1e4)
        tree.save()
    TargetFactory(park=park, name="Mill Road", kind="road", lon=8.5003, lat=47.2001)
    return park


@pytest.fixture
def flight(park, login_as) -> Page:
    """A tablet with the park on it, out of signal."""
    page = login_as(Role.INSPECTOR, service_workers="allow", viewport=TABLET)
    take_along(page)
    page.context.set_offline(True)
    return page


def take_along(page: Page) -> None:
    page.goto("/field/#/packs")
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    page.get_by_role("button", name="Take along").click()
    expect(page.get_by_text("Holds 2 trees")).to_be_visible()
    Tablet(page).call("tables", "refresh")


def inspecting(page: Page, tag: str) -> Page:
    at(page, "/find", "Find a tree")
    page.get_by_label("Tag or species").fill(tag)
    page.get_by_label("Tag or species").press("Enter")
    page.get_by_role("link", name="Inspect").click()
    expect(page.get_by_role("heading", name=f"Inspect {tag}")).to_be_focused()
    return page


def signal(page: Page) -> None:
    page.context.set_offline(False)
    page.goto("/field/#/outbox")
    page.get_by_role("button", name="Send now").click()
    expect(page.get_by_role("link", name=SENT)).to_be_visible()


@pytest.fixture
def started(chromium, live_server, park, login_as, tmp_path) -> Iterator[callable]:
    """``started()``: the tablet's browser, started on the same profile as before."""
    cookies = login_as(Role.INSPECTOR).context.cookies()
    running: list[BrowserContext] = []

    def start() -> Page:
        for context in running:
            context.close()
        running[:] = [
            chromium.browser_type.launch_persistent_context(
                tmp_path,
                executable_path=chromium_path(),
                args=list(ARGUMENTS),
                base_url=live_server.url,
                viewport=TABLET,
            )
        ]
        running[0].add_cookies(cookies)
        return running[0].pages[0]

    yield start
    for context in running:
        context.close()


def test_a_day_in_flight_mode_outlasts_a_restart_and_arrives_once(started, camera) -> None:
    page = started()
    take_along(page)
    page.context.set_offline(True)
    inspecting(page, "LG-2")
    picture = {"name": "camera.jpg", "mimeType": "image/jpeg", "buffer": camera(1200, 900)}
    page.get_by_label("Take a photo").set_input_files(picture)
    expect(page.get_by_text("Stored on this tablet.")).to_be_visible()
    page.get_by_label("Girdling roots").check()
    page.get_by_role("textbox", name="Girdling roots").fill("30")
    choose(page, "Condition", "Fair")
    assess(page)
    keep(page)
    expect(page.get_by_text("Kept on this tablet; it will be sent when there is signal.")).to_be_visible()
    page = started()
    page.context.set_offline(True)
    page.goto("/field/")
    expect(page.get_by_role("link", name="Outbox: 1 waiting; No signal")).to_be_visible()
    signal(page)
    inspection = Inspection.objects.get()
    assert (inspection.tree.tag, inspection.condition, inspection.inspector.username) == ("LG-2", "fair", "inspector")
    assert list(inspection.defects.values_list("kind", "value", "unit")) == [("girdling roots", 30, "%")]
    assert Assessment.objects.get().rating == "high"
    assert Standing.objects.get(tree=inspection.tree).rating == "high"
    assert Photo.objects.count() == 1


def test_a_new_tree_and_what_it_would_hit_arrive_before_its_look(flight) -> None:
    species = SpeciesFactory()
    at(flight, "/new", "A tree that is not here yet")
    flight.get_by_role("button", name="It stands at the cross").click()
    flight.get_by_label("Species").fill("northern")
    flight.get_by_role("button", name="northern red oak").click()
    flight.get_by_role("button", name="Keep it and inspect it").click()
    expect(flight.get_by_role("heading", name="Inspect New tree")).to_be_focused()
    flight.get_by_text("A target that is not listed").click()
    flight.get_by_label("Name").fill("East bench")
    choose(flight, "Kind", "Seating")
    choose(flight, "How often people", "Occasional")
    flight.get_by_role("button", name="Add the target").click()
    expect(flight.get_by_text("East bench can now be chosen")).to_be_visible()
    choose(flight, "Condition", "Good")
    assess(flight, **{"What it would hit": "East bench"})
    keep(flight)
    expect(flight.get_by_text("Kept on this tablet")).to_be_visible()
    signal(flight)
    inspection = Inspection.objects.select_related("tree__species", "tree__park").get()
    assert (inspection.tree.species, inspection.tree.park.code) == (species, "LG")
    assert inspection.tree.lat == pytest.approx(47.2, abs=0.01)
    assert Assessment.objects.get().target.name == "East bench"
    assert Tree.objects.count() == 3


def test_a_look_that_the_server_refuses_is_mended(flight) -> None:
    """Its target was taken away in the office meanwhile."""
    inspecting(flight, "LG-1")
    choose(flight, "Condition", "Good")
    assess(flight)
    keep(flight)
    expect(flight.get_by_text("Kept on this tablet")).to_be_visible()
    Target.objects.all().delete()
    other = TargetFactory(park=Park.objects.get(), name="South gate", kind="path")
    flight.context.set_offline(False)
    Tablet(flight).send()
    assert Inspection.objects.count() == 0
    Tablet(flight).call("packs", "refresh", "LG")
    at(flight, "/outbox", "Outbox").get_by_role("button", name="Mend").click()
    told = flight.get_by_role("group", name="What it would hit")
    expect(told).to_contain_text("The server knows no such target any more; choose what it would hit anew.")
    choose(flight, "What it would hit", "South gate")
    keep(flight)
    expect(flight.get_by_text("Kept on this tablet")).to_be_visible()
    signal(flight)
    assert Assessment.objects.get().target == other


def test_a_correction_from_the_tablet_takes_the_place_of_the_look(flight) -> None:
    inspecting(flight, "LG-1")
    choose(flight, "Condition", "Good")
    keep(flight)
    expect(flight.get_by_text("Kept on this tablet")).to_be_visible()
    flight.get_by_role("link", name="Back to LG-1").click()
    flight.get_by_role("link", name="Correct it").click()
    choose(flight, "Condition", "Poor")
    keep(flight)
    expect(flight.get_by_text("Kept on this tablet")).to_be_visible()
    signal(flight)
    first, second = Inspection.objects.order_by("pk")
    assert (second.supersedes, second.condition) == (first, "poor")
    assert Tree.objects.get(tag="LG-1").condition == "poor"
