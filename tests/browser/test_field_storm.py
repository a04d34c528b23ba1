"""The storm sheet on the tablet: what waits is read and a find is entered without signal, and all is sent when it returns."""

import re

import pytest
from playwright.sync_api import Page, expect

from hazards.storm import ENERGISED, KIND_WORDS, NEAR_WIRES, PEOPLE_FIRST, FindKind
from tests.browser.chromium import TABLET
from tests.browser.field_park import HERE, ParkServer, pack
from tests.browser.tablet import Tablet
from tests.browser.test_field_screens import LEAST_TARGET_PX, SMALL

MAY = ["read", "record an inspection", "record what a storm did"]
GALE = {"id": 5, "name": "Autumn gale", "began_at": "2026-11-24T02:30:00+00:00"}
WIRES = {"id": "0", "event": 5, "tree": None, "where": "Mill Lane", "kind": "wires down", "reason": "Wires are down; …"}


def with_a_storm() -> dict:
    taken = pack()
    taken["parts"]["storms"] = {"events": [GALE], "finds": [WIRES | {"cautions": [ENERGISED]}]}
    return taken


@pytest.fixture
def server() -> ParkServer:
    return ParkServer(may=MAY, packs={"LG": with_a_storm()})


@pytest.fixture
def opened(open_page, server):
    def tablet(**options: object) -> Page:
        page = open_page(**{"viewport": TABLET, "has_touch": True, **options})
        server.attend(page.context)
        page.goto("/field/")
        known = Tablet(page)
        known.send()
        known.call("tables", "refresh")
        known.call("packs", "take", "LG")
        page.goto("/field/#/storm")
        expect(page.get_by_role("heading", name="Storm", level=1)).to_be_focused()
        return page

    return tablet


def choose(page: Page, group: str, option: str) -> None:
    page.get_by_role("group", name=group).get_by_role("radio", name=re.compile(f"^{option}")).check()


def test_what_waits_is_read_without_signal(opened, server, axe):
    page = opened()
    server.set_signal(False)
    page.get_by_role("link", name="Find", exact=True).click()
    page.get_by_role("link", name="Storm").click()
    expect(page.get_by_role("heading", name="Autumn gale")).to_be_visible()
    expect(page.get_by_text("Mill Lane")).to_be_visible()
    expect(page.get_by_text(ENERGISED)).to_be_visible()
    axe(page)


def test_a_find_with_a_photo_is_entered_without_signal_and_sent_when_it_returns(opened, server, camera):
    page = opened(geolocation=HERE, permissions=["geolocation"])
    server.set_signal(False)
    page.get_by_role("link", name="Write down a find").click()
    expect(page.get_by_role("heading", name="What did it do?")).to_be_focused()
    choose(page, "What it is", KIND_WORDS[FindKind.HANGING_LIMB])
    page.get_by_label("It blocks a way").check()
    choose(page, "How often people are there", "Constant")
    page.get_by_label("Tag of the tree").fill("lg-2")
    page.get_by_role("button", name="It is where I stand").click()
    expect(page.get_by_text("Position within 6 m")).to_be_visible()
    page.get_by_label("Diameter where it broke", exact=False).first.fill("30")
    page.get_by_label("Choose photos").set_input_files(
        {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": camera(800, 600)}
    )
    expect(page.get_by_role("img", name="Photo 1")).to_be_visible()
    page.get_by_role("button", name="Keep it", exact=True).click()
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()
    page.get_by_role("link", name="To the list").click()
    expect(page.get_by_text("Kept on this tablet, not sent yet.")).to_be_visible()
    assert server.records == {}
    server.set_signal(True)
    Tablet(page).send()
    (find,) = server.records.values()
    told = find["payload"]
    assert (find["kind"], told["event"], told["kind"], told["occupancy"]) == (
        "storm_find",
        5,
        "hanging limb",
        "constant",
    )
    assert (told["tree"], told["park"], told["size_cm"], told["emergency_way"]) == (2, "LG", 30, True)
    assert (told["lon"], told["lat"]) == (HERE["longitude"], HERE["latitude"])
    assert len(server.photos) == 1


def test_wires_are_warned_of_at_once(opened):
    page = opened()
    page.get_by_role("link", name="Write down a find").click()
    expect(page.get_by_text(NEAR_WIRES)).to_be_visible()
    choose(page, "What it is", "People trapped")
    expect(page.get_by_text(PEOPLE_FIRST)).to_be_visible()
    expect(page.get_by_text(ENERGISED)).to_have_count(0)
    page.get_by_label("Wires are down, touched").check()
    expect(page.get_by_text(ENERGISED)).to_be_visible()


def test_what_is_missing_is_said_at_its_field(opened):
    page = opened()
    page.get_by_role("link", name="Write down a find").click()
    page.get_by_label("Tag of the tree").fill("LG-99")
    page.get_by_role("button", name="Keep it", exact=True).click()
    for sentence in ("Pick what it is.", "Pick how often people are there.", "No tree of this park has the tag"):
        expect(page.get_by_role("listitem").filter(has_text=sentence).first).to_be_visible()


def test_a_tree_leads_to_the_sheet(opened, axe):
    page = opened()
    page.goto("/field/#/tree/2")
    page.get_by_role("link", name="Find of Autumn gale").click()
    expect(page.get_by_label("Tag of the tree")).to_have_value("LG-2")
    axe(page)


def test_without_a_storm_or_the_permission_there_is_no_section(opened, server):
    server.packs = {"LG": pack()}
    page = opened()
    expect(page.get_by_text("No storm is open over Lantern Green.")).to_be_visible()
    expect(page.get_by_role("navigation", name="Sections").get_by_role("link", name="Storm")).to_have_count(0)


def test_it_is_made_for_gloves(opened):
    page = opened()
    for path in ("/storm", "/storm/5/find"):
        page.goto(f"/field/#{path}")
        expect(page.locator("main h1")).to_be_focused()
        assert page.evaluate(SMALL, LEAST_TARGET_PX) == [], path
        assert page.evaluate("document.documentElement.scrollWidth") <= TABLET["width"], path
