"""The frame of every page: navigation, targets, focus, widths, life without scripts."""

import pytest
from playwright.sync_api import Page, expect

from inventory.access import Role
from tests.browser.chromium import DESKTOP, PHONE, TABLET
from tests.browser.conftest import LoginAs

WIDTHS = [pytest.param(size, id=name) for name, size in {"desktop": DESKTOP, "tablet": TABLET, "phone": PHONE}.items()]
LEAST_TARGET_PX = 44


@pytest.fixture
def styleguide(login_as: LoginAs):
    def opened(**options: object) -> Page:
        page = login_as(Role.MANAGER, **options)
        page.goto("/styleguide/")
        return page

    return opened


def heights(page: Page, selector: str) -> dict[str, float]:
    boxes = [
        (target.inner_text(), target.bounding_box()) for target in page.locator(selector).all() if target.is_visible()
    ]
    return {text: box["height"] for text, box in boxes if box}


@pytest.mark.parametrize("viewport", WIDTHS)
def test_nothing_is_wider_than_the_screen(styleguide, viewport) -> None:
    page = styleguide(viewport=viewport)
    assert page.evaluate("document.documentElement.scrollWidth") <= viewport["width"]


@pytest.mark.parametrize("viewport", WIDTHS)
def test_targets_can_be_hit_with_a_thumb(styleguide, viewport) -> None:
    found = heights(
        styleguide(viewport=viewport), ".walk a, .button:not(.table *), .segments button, .choice, .toggle, select"
    )
    assert len(found) > 10
    assert {text: height for text, height in found.items() if height < LEAST_TARGET_PX - 2} == {}


def test_the_walk_shows_where_the_reader_is(login_as) -> None:
    page = login_as(Role.READER)
    page.goto("/styleguide/")
    expect(page.locator(".walk [aria-current]")).to_have_count(0)
    page.goto("/trees/")
    expect(page.locator(".walk [aria-current]")).to_have_text("Trees")


@pytest.mark.parametrize("viewport", WIDTHS)
def test_navigation_and_sign_out_work_without_scripts(styleguide, viewport) -> None:
    page = styleguide(viewport=viewport, java_script_enabled=False)
    expect(page.get_by_role("navigation", name="Main").get_by_role("link", name="Trees")).to_be_visible()
    page.locator(".account > summary").click()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()


@pytest.mark.parametrize("viewport", WIDTHS)
def test_units_are_switched_without_scripts(styleguide, viewport) -> None:
    page = styleguide(viewport=viewport, java_script_enabled=False)
    if viewport == PHONE:
        page.locator(".account > summary").click()
    expect(page.get_by_role("cell", name="61 cm").first).to_be_visible()
    page.get_by_role("button", name="US").click()
    expect(page.get_by_role("cell", name="24.0 in").first).to_be_visible()


def test_the_first_tab_stop_skips_to_the_content(login_as) -> None:
    page = login_as(Role.READER)
    page.goto("/nowhere/")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the content")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#content")).to_be_focused()


def test_what_stops_a_form_is_focused_and_leads_to_its_field(styleguide) -> None:
    page = styleguide()
    summary = page.locator(".error-summary")
    expect(summary).to_be_focused()
    summary.get_by_role("link", name="Species").click()
    expect(page.get_by_label("Species", exact=True)).to_be_focused()


def test_an_error_is_tied_to_its_control(styleguide) -> None:
    control = styleguide().get_by_label("Diameter at breast height")
    expect(control).to_have_attribute("aria-invalid", "true")
    expect(control).to_have_accessible_description("For example 36 cm or 14 in. This field is required.")


def test_escape_closes_the_account_menu(styleguide) -> None:
    page = styleguide(viewport=PHONE)
    page.locator(".account > summary").click()
    expect(page.get_by_role("button", name="Sign out")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.get_by_role("button", name="Sign out")).to_be_hidden()


def test_print_leaves_out_what_only_a_screen_can_do(styleguide) -> None:
    page = styleguide(color_scheme="dark")
    page.emulate_media(media="print")
    expect(page.locator(".walk")).to_be_hidden()
    expect(page.get_by_role("button", name="Show")).to_be_hidden()
    expect(page.locator(".page-footer")).to_contain_text("the person on site decides")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"


def test_print_shows_ratings_in_black_on_white(styleguide) -> None:
    page = styleguide()
    page.emulate_media(media="print")
    for rating in page.locator(".rating--extreme, .rating--high, .rating--moderate, .rating--low").all():
        colours = rating.evaluate("e => [getComputedStyle(e).color, getComputedStyle(e).backgroundColor]")
        assert colours == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]


def test_print_opens_the_figures(styleguide) -> None:
    page = styleguide()
    expect(page.get_by_text("Source: geometry of a round stem")).to_be_hidden()
    page.emulate_media(media="print")
    expect(page.get_by_text("Source: geometry of a round stem")).to_be_visible()
