"""An order from its proposal to the closed file in Chromium, by the people whose work it is."""

import datetime as dt

import pytest
from playwright.sync_api import Page, expect

from inventory.access import Role
from inventory.models import Tree
from inventory.record import Actor
from removals.crew_work import name_crew
from removals.models import RemovalOrder
from removals.work_items import Stage
from replanting.models import ReplacementTask
from tests.browser import around
from tests.browser.briefing import go_through, sign_in_turn
from tests.browser.chromium import TABLET
from tests.factories import TreeFactory
from tests.removals.builders import settle_all, workers


@pytest.fixture
def tree(transactional_db) -> Tree:
    return TreeFactory(tag="OAK-1", dbh_cm=36.0, height_m=15.0, crown_spread_m=6.0)


def press(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).or_(page.get_by_role("link", name=name, exact=True)).first.click()


def to_order(page: Page) -> None:
    page.goto("/removals/")
    page.get_by_role("table").get_by_role("link", name=RemovalOrder.objects.get().number).click()


def propose(page: Page) -> None:
    page.goto("/removals/propose/OAK-1/")
    page.get_by_label("Why it has to come down").fill("Decay at the base, a path within one tree height")
    press(page, "Propose the removal")


def approve(page: Page) -> None:
    to_order(page)
    press(page, "Approve")
    press(page, "Approve the removal")


def prepare() -> None:
    """Everything before the work and the crew, without the pages."""
    order, by = RemovalOrder.objects.get(), Actor(via="command")
    settle_all(order, Stage.BEFORE, by=by)
    name_crew(by=by, order=order, crew=workers())


def approve_and_schedule(page: Page) -> None:
    approve(page)
    prepare()
    schedule(page)


def schedule(page: Page) -> None:
    press(page, "Schedule")
    page.get_by_label("Day of the work").fill(dt.date.today().isoformat())
    page.get_by_label("Crew lead").select_option(label="crew-lead")
    press(page, "Schedule")


def plan(page: Page) -> None:
    to_order(page)
    press(page, "Make a felling plan")
    expect(page.get_by_label("Diameter at breast height")).to_have_value("36 cm")
    page.get_by_label("Diameter at breast height").fill("14 in")
    page.get_by_label("Lean by clinometer, degrees").fill("0")
    page.get_by_label("Lay: the bearing it is to fall on").fill("90")
    page.get_by_label("Gust planned for").fill("3 m/s")
    page.get_by_label("Wind comes from").fill("90")
    page.get_by_label("Pull line, winch with progress capture").check()
    expect(page.get_by_label("People on the line")).to_be_hidden()
    page.get_by_label("Winch stalls at").fill("15 kN")
    press(page, "Compute and keep the plan")


def bare_plan(page: Page, winch: str) -> None:
    """Nothing measured beyond what the inventory knows."""
    to_order(page)
    press(page, "Make a felling plan")
    page.get_by_label("Lay: the bearing it is to fall on").fill("90")
    page.get_by_label("Wind comes from").fill("90")
    page.get_by_label("Pull line, winch with progress capture").check()
    page.get_by_label("Winch stalls at").fill(winch)
    press(page, "Compute and keep the plan")


def brief(page: Page) -> None:
    press(page, "Brief the crew")
    go_through(page)
    sign_in_turn(page)


def test_an_order_goes_from_proposal_to_closing_by_the_roles(tree, login_as):
    propose(login_as(Role.INSPECTOR))
    manager, lead = login_as(Role.MANAGER), login_as(Role.CREW_LEAD, viewport=TABLET)
    approve(manager)
    schedule(manager)
    expect(manager.get_by_role("alert")).to_contain_text("Still open before the work: utility locates, wires checked")

    around.add_workers(manager)
    to_order(lead)
    around.see_to(lead, Stage.BEFORE)
    around.name_crew(lead)
    to_order(manager)
    schedule(manager)

    plan(lead)
    expect(lead.get_by_text("Adequate", exact=True)).to_be_visible()
    lead.get_by_text("Hinge length").last.click()
    expect(lead.get_by_text("L = 2 √(r² − (r − n)²)")).to_be_visible()
    brief(lead)
    expect(lead.get_by_text("The crew is whole.")).to_be_visible()

    press(lead, "Back to the order")
    press(lead, "Report it felled")
    lead.get_by_label("As planned").check()
    lead.get_by_label("Held", exact=True).check()
    lead.get_by_label("How it went").fill("As planned")
    press(lead, "The tree is felled")
    expect(lead.get_by_text("Its replacement:")).to_be_visible()
    assert ReplacementTask.objects.get().removed_tree == tree

    to_order(manager)
    press(manager, "Close")
    press(manager, "Close the order")
    expect(manager.get_by_role("alert")).to_contain_text(
        "Still open after the felling: stump, clean-up and stump reading"
    )
    to_order(lead)
    around.see_to(lead, Stage.AFTER)
    to_order(manager)
    press(manager, "Close")
    press(manager, "Close the order")
    expect(manager.get_by_text("Nothing: this order has ended.")).to_be_visible()


def test_the_briefing_is_worked_with_a_glove(tree, login_as):
    """Every box, field and button of the page is a target of 48 px or more (its label counts with it)."""
    propose(login_as(Role.INSPECTOR))
    approve_and_schedule(login_as(Role.MANAGER))
    page = login_as(Role.CREW_LEAD, viewport=TABLET)
    plan(page)
    press(page, "Brief the crew")
    heights = page.locator(
        ".checklist label, form.form input[type=text], form.form select, form.form button"
    ).evaluate_all("found => found.map(each => each.getBoundingClientRect().height)")
    assert len(heights) > 20
    assert min(heights) >= 48
    go_through(page)
    signing = page.locator("form.form input[type=text], form.form select, form.form button")
    assert min(signing.evaluate_all("found => found.map(each => each.getBoundingClientRect().height)")) >= 48


@pytest.mark.parametrize("size", ["A4", "Letter"])
@pytest.mark.parametrize(("winch", "verdict"), [("15 kN", "Adequate"), ("0.3 kN", "Not adequate")])
def test_the_order_sheet_prints_on_two_pages(tree, login_as, size, winch, verdict):
    """Even with everything assumed, and with the reasons and ways out of a plan that does not hold."""
    propose(login_as(Role.INSPECTOR))
    approve_and_schedule(login_as(Role.MANAGER))
    page = login_as(Role.CREW_LEAD)
    Tree.objects.update(species=None, crown_spread_m=None)
    bare_plan(page, winch)
    expect(page.get_by_role("heading", name=verdict)).to_be_visible()
    press(page, "Order sheet")
    expect(page.get_by_role("button", name="Print two pages")).to_be_visible()
    assert page.pdf(format=size).count(b"/Type /Page\n") == 2
