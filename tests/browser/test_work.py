"""Work other than removal, closures and looks asked for, as people go from page to page."""

import datetime as dt
import re

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from hazards.models import AskedLook, Closure, MitigationOrder, PruningLimit
from hazards.options import OptionPick
from hazards.pest_workflow import add_limit, watch_pest
from inventory.access import Role
from inventory.models import Tree
from inventory.record import Actor
from tests.browser.chromium import TABLET
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory
from tests.hazards.factories import EXTREME, HIGH, TargetFactory, inspect, pick

EITHER = pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without"])
PRUNE = OptionPick("prune", "low", chosen=True)


@pytest.fixture
def tree(transactional_db) -> Tree:
    park = ParkFactory(code="LG", name="Lantern Green")
    TargetFactory(park=park, name="play area")
    elm = SpeciesFactory(botanical="Ulmus minor", genus="Ulmus")
    return TreeFactory(park=park, tag="LG-1", species=elm, height_m=12.0)


def option(page: Page, number: int, name: str) -> object:
    return page.locator(f"[name='assessments-0-option-{number}-{name}']")


def fill(page: Page) -> None:
    row = "[name='assessments-0-"
    page.locator("[name=condition][value=poor]").check()
    page.locator(f"{row}part']").select_option("limb")
    page.locator(f"{row}failure_mode']").fill("breaking at the old wound")
    page.locator(f"{row}target']").select_option(label="play area (constant use)")
    page.locator(f"{row}failure'][value=probable]").check()
    page.locator(f"{row}exposure'][value='fully exposed']").check()
    page.locator(f"{row}consequences'][value=severe]").check()


@EITHER
def test_an_option_says_what_changes_and_the_tables_what_is_left(login_as, tree, scripts):
    page = login_as(Role.INSPECTOR, java_script_enabled=scripts, viewport=TABLET)
    page.goto("/hazards/inspect/LG-1/")
    fill(page)
    option(page, 0, "mitigation").select_option("prune")
    option(page, 0, "failure").select_option("possible")
    page.locator(".mending__more summary").click()
    option(page, 1, "mitigation").select_option("remove")
    option(page, 1, "residual_rating").select_option("low")
    if not scripts:
        page.get_by_role("button", name="Show what the picks lead to").click()
    left = page.locator(".mending .outcome")
    expect(left.locator(".rating")).to_have_text(["Moderate", "Low"])
    page.get_by_role("button", name="Save the inspection").click()
    expect(page.get_by_role("heading", name="What would mend it")).to_be_visible()
    expect(page.locator("article")).to_contain_text(re.compile(r"Prune\s+advised\s+leaves\s+Moderate"))


def test_a_target_beyond_the_reach_is_suggested_very_low_as_one_types(login_as, tree):
    page = login_as(Role.INSPECTOR, viewport=TABLET)
    page.goto("/hazards/inspect/LG-1/")
    fill(page)
    outcome = page.locator(".outcome").first
    expect(outcome).to_contain_text("Suggested likelihood of impact: high")
    page.locator("[name='assessments-0-distance_m']").fill("14 m")
    page.locator("[name='assessments-0-direction']").select_option("towards")
    expect(outcome).to_contain_text("Suggested likelihood of impact: very low")
    page.locator("[name=height_m]").fill("20 m")
    page.locator("[name='assessments-0-direction']").select_option("across")
    expect(outcome).to_contain_text("Suggested likelihood of impact: medium")


@EITHER
def test_work_goes_from_the_finding_to_the_look_afterwards(login_as, tree, cast, scripts):
    look = inspect(tree, pick(tree.park.targets.get(), options=(PRUNE,), **HIGH))
    inspector = login_as(Role.INSPECTOR, java_script_enabled=scripts, viewport=TABLET)
    inspector.goto(f"/hazards/inspections/{look.pk}/")
    inspector.get_by_role("link", name="Propose this work").click()
    inspector.get_by_label("Estimate, crew hours").fill("3")
    inspector.get_by_role("button", name="Propose the work").click()
    expect(inspector.get_by_role("heading", level=1)).to_contain_text("prune")
    manager = login_as(Role.MANAGER, java_script_enabled=scripts)
    manager.goto("/")
    manager.get_by_role("link", name="Work to schedule").click()
    manager.get_by_role("link", name=MitigationOrder.objects.get().number).click()
    manager.get_by_role("link", name="Schedule").click()
    manager.get_by_label("Who sees to it").select_option(str(cast[Role.CREW_LEAD].pk))
    manager.get_by_role("button", name="Schedule the work").click()
    expect(manager.locator(".chip").first).to_have_text("Scheduled")
    lead = login_as(Role.CREW_LEAD, java_script_enabled=scripts, viewport=TABLET)
    lead.goto("/")
    lead.get_by_role("link", name="Your scheduled work in trees").click()
    lead.get_by_role("link", name=MitigationOrder.objects.get().number).click()
    lead.get_by_role("link", name="Report it done").click()
    lead.get_by_label("What was done").fill("Limb taken off at the collar")
    lead.get_by_role("button", name="The work is done").click()
    expect(lead.locator(".chip").first).to_have_text("Done")
    lead.goto("/trees/LG-1/")
    expect(lead.locator("dd", has_text="To rate it anew after order")).to_be_visible()


def test_the_season_is_named_and_bars_nothing(login_as, tree, cast):
    watch = watch_pest(by=Actor(), pest="DED", since=dt.date(2026, 1, 1))
    facts = {"genus": "Ulmus", "region": "Alderquay", "first": "01-01", "last": "12-31"}
    add_limit(by=Actor(), limit=PruningLimit(watch=watch, rule="no pruning", authority="the forester", **facts))
    page = login_as(Role.MANAGER)
    page.goto("/trees/LG-1/")
    page.get_by_role("link", name="Propose work").click()
    expect(page.get_by_text("No day from 01-01 to 12-31 for pruning")).to_be_visible()
    page.get_by_label("What is to be done").select_option("prune")
    page.get_by_label("How much of it, and why").fill("A torn limb over the bench")
    page.get_by_role("button", name="Propose the work").click()
    expect(page.locator(".message--warning")).to_contain_text("(the forester)")
    expect(page.locator(".chip").first).to_have_text("Proposed")


@EITHER
def test_the_area_is_closed_from_the_ranking_and_opened_by_name(login_as, tree, scripts):
    inspect(tree, pick(tree.park.targets.get(), **EXTREME))
    lead = login_as(Role.CREW_LEAD, java_script_enabled=scripts, viewport=TABLET)
    lead.goto("/hazards/")
    expect(lead.get_by_text("nothing closed around: 1 tree")).to_be_visible()
    lead.get_by_role("link", name="Close the area of LG-1").click()
    lead.get_by_label("What keeps people out").fill("Fence and two signs")
    lead.get_by_role("button", name="The area is closed").click()
    expect(lead.get_by_text("The area around LG-1, since")).to_be_visible()
    inspector = login_as(Role.INSPECTOR, java_script_enabled=scripts, viewport=TABLET)
    inspector.goto("/hazards/closures/")
    inspector.get_by_role("link", name="Open again").click()
    expect(inspector.get_by_text("Still about to fail")).to_be_visible()
    inspector.get_by_label("Why the area can be opened again").fill("Written down for the wrong tree")
    inspector.get_by_role("button", name="Open the area again").click()
    expect(inspector.get_by_role("heading", name="Extreme or imminent, and nothing is closed")).to_be_visible()
    assert not Closure.objects.open().exists()


def test_a_look_is_asked_for_on_the_page_of_the_tree(login_as, tree):
    page = login_as(Role.INSPECTOR, viewport=TABLET)
    page.goto("/trees/LG-1/")
    page.get_by_role("link", name="Ask for a look").click()
    page.get_by_label("Why").fill("Roots were cut for the kerb")
    page.get_by_role("button", name="Ask for the look").click()
    expect(page.get_by_text("Roots were cut for the kerb, at least level 2")).to_be_visible()
    assert AskedLook.objects.get().due_on == timezone.localdate()
