"""Ordering, proposing, planning and walking in a browser: the pages between the ranking and the work."""

import re

import pytest
from playwright.sync_api import expect

from hazards.models import MitigationOrder, Standing
from inventory.access import Role
from inventory.models import Tree
from removals.models import RemovalOrder
from tests.browser.chromium import DESKTOP, TABLET
from tests.factories import ParkFactory, TreeFactory
from tests.hazards.factories import HIGH, MODERATE, TargetFactory, inspect, pick


@pytest.fixture
def trees(transactional_db) -> list[Tree]:
    park = ParkFactory(code="LG", name="Lantern Green")
    target = TargetFactory(park=park, name="play area")
    trees = [TreeFactory(park=park, tag=f"LG-{number}") for number in (1, 2, 3)]
    for tree, severity in zip(trees, (HIGH, HIGH, MODERATE), strict=True):
        inspect(tree, pick(target, **severity))
    return trees


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without"])
def test_ticked_trees_get_their_orders(login_as, trees, scripts):
    page = login_as(Role.MANAGER, java_script_enabled=scripts, viewport=TABLET)
    page.goto("/hazards/")
    page.get_by_label("Tick LG-1").check()
    page.get_by_label("Tick LG-3").check()
    page.get_by_role("button", name="Propose orders for the ticked trees").first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Propose orders for 2 trees")
    page.get_by_label("Prune").check()
    page.get_by_role("button", name="Propose 2 orders").click()
    expect(page.get_by_text("2 of 2 proposed")).to_be_visible()
    assert set(MitigationOrder.objects.values_list("tree__tag", "kind")) == {("LG-1", "prune"), ("LG-3", "prune")}


def test_all_shown_are_ticked_at_once_and_a_refusal_is_told_in_its_line(login_as, trees):
    page = login_as(Role.MANAGER, java_script_enabled=False)
    for told in ("3 of 3 proposed", "0 of 3 proposed"):
        page.goto("/hazards/")
        page.get_by_role("link", name="Tick all shown").click()
        page.get_by_role("button", name="Propose orders for the ticked trees").first.click()
        page.get_by_label("Removal").check()
        page.get_by_role("button", name="Propose 3 orders").click()
        expect(page.get_by_text(told)).to_be_visible()
    expect(page.get_by_role("row", name="LG-2")).to_contain_text("Not proposed. LG-2 has an open order already")
    assert RemovalOrder.objects.count() == 3


@pytest.mark.parametrize("viewport", [DESKTOP, TABLET], ids=["desktop", "tablet"])
def test_the_programme_answers_a_what_if(login_as, trees, viewport):
    page = login_as(Role.READER, viewport=viewport)
    page.goto("/hazards/")
    page.get_by_role("link", name="Programme").click()
    expect(page.get_by_text("No order is open, so no week has work.")).to_be_visible()
    page.get_by_label("Crew hours a week").fill("8")
    page.get_by_label("As if every tree rated extreme or high had an order").check()
    page.get_by_role("button", name="Work it out").click()
    expect(page.get_by_text("2 orders ask for 16 crew hours.")).to_be_visible()
    expect(page.get_by_role("img", name=re.compile("Rated high or above: 2 now, 0 in the end"))).to_be_visible()
    page.get_by_text("Week by week", exact=True).click()
    expect(page.get_by_role("region", name="Week by week").get_by_role("row").nth(1)).to_contain_text("8")
    assert not RemovalOrder.objects.exists()


def test_a_city_puts_what_counts_into_its_own_order(login_as, trees):
    rare = TargetFactory(park=trees[0].park, name="meadow", occupancy="occasional")
    inspect(trees[0], pick(rare, **HIGH, impact_reason="seen"))
    page = login_as(Role.MANAGER)
    page.goto("/hazards/")
    first = page.locator("#ranked ~ * tbody tr").first
    expect(first).to_contain_text("LG-2")
    page.goto("/hazards/policy/")
    page.get_by_label("How much the target is used").select_option(label="does not count")
    page.get_by_role("button", name="Set the policy").click()
    expect(page.get_by_text("The policy holds from now on")).to_be_visible()
    page.goto("/hazards/")
    expect(first).to_contain_text("LG-1")


def test_a_round_is_found_by_park_and_week(login_as, trees):
    Standing.objects.filter(tree=trees[2]).update(inspect_due="2020-01-01")
    page = login_as(Role.INSPECTOR, viewport=TABLET)
    page.goto("/hazards/due/")
    page.get_by_role("link", name="Rounds by week").click()
    page.get_by_role("link", name="Lantern Green", exact=True).click()
    expect(page.get_by_role("region", name="Overdue").get_by_role("row", name="LG-3")).to_be_visible()
    expect(page.get_by_role("link", name="Take this round")).to_have_attribute(
        "href", re.compile(r"^/field/#/due\?park=LG")
    )
