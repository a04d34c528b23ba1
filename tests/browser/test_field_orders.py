"""A crew lead's orders on the tablet: the card first, the plan with its drawings, the briefing and the report without signal."""

import json
import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.chromium import TABLET
from tests.browser.field_park import ParkServer, day, pack, table
from tests.browser.tablet import Tablet
from tests.browser.test_field_screens import LEAST_TARGET_PX, SMALL, at, choose, opened  # noqa: F401

DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="img" viewBox="0 0 100 50" tabindex="0">'
    "<title>The cut</title><script>alert(1)</script><foreignObject><p>no</p></foreignObject>"
    '<line class="cut" x1="0" y1="10" x2="90" y2="10"/>'
    '<text x="5" y="40" font-size="14">30 cm</text></svg>'
)
ORDER = {
    "id": 5, "number": "2026-5", "tree": 1, "title": "Remove LG-1", "state": "scheduled", "scheduled_for": day(0),
    "rating": "high", "facts": [["Method", "Felled in one piece"], ["Hinge", "4.0 cm"]],
    "emergency": [["Say where", "Mill Road 2"], ["Hospital", "St Alder, 9 km"]],
    "drawings": [{"title": "The cut from the side", "svg": DRAWING}],
    "procedure": ["Clear the retreat.", "Cut the notch."], "conditions": ["The stem is sound at the cut."],
    "caution": "The person on site decides.", "gaps": ["The crew has not been briefed on the plan yet."],
    "crew": [["Wren Hale", "feller"], ["Ash Lund", "puller"]], "roles": ["feller", "puller", "sentry"],
    "signals": [["voice", "Stop", "stop the saw"]], "signal_kinds": ["voice", "hand"],
    "checklist": [{"chapter": "The people", "items": [{"key": "roles", "words": "Who does what."}]}],
    "card": [{"key": "phone", "label": "Phone that works here", "hint": "A call was tried.", "value": ""}],
    "stop_wind": "The plan’s stop wind is 7.0 m/s.", "plan": 9, "digest": "abc", "may_brief": True, "may_fell": True,
    "felled_in_one": True,
}  # fmt: skip


@pytest.fixture
def server() -> ParkServer:
    server = ParkServer(may=["read", "hold a job briefing", "report a tree felled or already down"])
    server.packs["LG"] = pack()
    server.packs["LG"]["parts"]["orders"] = table(tuple(ORDER), [json.loads(json.dumps(ORDER))])
    return server


@pytest.fixture
def page(opened) -> Page:  # noqa: F811
    return opened()


def order(page: Page) -> Page:
    return at(page, "/order/5", "Remove LG-1")


def test_the_emergency_card_comes_first(page) -> None:
    page.get_by_role("link", name="Orders").click()
    page.get_by_role("link", name=re.compile("^Remove LG-1")).click()
    headings = page.get_by_role("heading", level=2)
    expect(headings.first).to_have_text("Emergency card")
    expect(page.get_by_text("Mill Road 2")).to_be_visible()


def test_without_orders_there_is_no_section_of_them(opened, server) -> None:  # noqa: F811
    del server.packs["LG"]["parts"]["orders"]
    page = opened()
    expect(page.get_by_role("navigation", name="Sections").get_by_role("link")).to_have_text(
        ["Find", "Map", "Due", "Parks"]
    )


def test_a_drawing_comes_through_as_lines_and_words_alone(page) -> None:
    order(page)
    drawn = page.locator("svg.drawing")
    expect(drawn.locator("line.cut")).to_have_attribute("x2", "90")
    expect(drawn).to_contain_text("30 cm")
    expect(drawn.locator("script, foreignObject")).to_have_count(0)
    assert drawn.get_attribute("tabindex") is None


def test_a_briefing_is_held_and_signed_without_signal(page, server) -> None:
    order(page)
    server.set_signal(False)
    page.get_by_role("link", name="Hold the briefing").click()
    expect(page.get_by_role("heading", name="Job briefing, Remove LG-1")).to_be_focused()
    page.get_by_label("Who does what.").check()
    page.get_by_role("textbox", name="Gust measured").fill("3")
    page.get_by_label("Phone that works here").fill("555-0134, at the gate")
    page.get_by_label(re.compile("^Wren Hale, feller")).fill("Wren Hale")
    page.get_by_role("button", name="Keep the briefing").click()
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()
    order(page)
    expect(page.get_by_text("kept on this tablet, not sent yet")).to_be_visible()
    server.set_signal(True)
    Tablet(page).send()
    (record,) = server.records.values()
    payload = record["payload"]
    assert (record["kind"], payload["order"], payload["digest"]) == ("briefing", 5, "abc")
    assert (payload["checked"], payload["gust_ms"]) == (["roles"], 3)
    assert payload["emergency"] == {"phone": "555-0134, at the gate"}
    assert payload["signatures"] == [{"name": "Wren Hale", "role": "feller"}]


def test_a_tree_is_reported_down_without_signal(page, server) -> None:
    at(page, "/order/5/felled", "Remove LG-1: it is down")
    server.set_signal(False)
    page.get_by_role("button", name="The tree is down").click()
    expect(page.locator(".error-summary")).to_contain_text("Say whether it went as planned.")
    choose(page, "It went", "As planned")
    choose(page, "The hinge", "Held")
    page.get_by_role("textbox", name="How it went, in words").fill("On the lay.")
    page.get_by_role("textbox", name="Bearing it fell on").fill("104")
    page.get_by_role("button", name="The tree is down").click()
    expect(page.get_by_text("Kept on this tablet")).to_be_visible()
    server.set_signal(True)
    Tablet(page).send()
    (record,) = server.records.values()
    told = {"order": 5, "as_planned": True, "hinge_held": True, "hung_up": False, "actual_lay_deg": 104}
    assert told.items() <= record["payload"].items()


def test_the_orders_are_made_for_gloves(page, axe) -> None:
    screens = {
        "/orders": "Orders",
        "/order/5": "Remove LG-1",
        "/order/5/briefing": "Job briefing, Remove LG-1",
        "/order/5/felled": "Remove LG-1: it is down",
    }
    for path, heading in screens.items():
        at(page, path, heading)
        assert page.evaluate(SMALL, LEAST_TARGET_PX) == [], path
        assert page.evaluate("document.documentElement.scrollWidth") <= TABLET["width"], path
        axe(page)
