"""The walk round a tree in a browser, with and without scripts."""

import re

import pytest
from playwright.sync_api import Page, expect

from hazards.models import Inspection, Standing
from inventory.access import Role
from inventory.models import Tree
from tests.browser.chromium import DESKTOP, TABLET
from tests.factories import ParkFactory, TreeFactory
from tests.hazards.factories import HIGH, TargetFactory, inspect, pick


@pytest.fixture
def tree(transactional_db) -> Tree:
    park = ParkFactory(code="LG", name="Lantern Green")
    TargetFactory(park=park, name="play area")
    return TreeFactory(park=park, tag="LG-1")


def choose(page: Page, number: int, name: str, word: str) -> None:
    page.locator(f"[name='assessments-{number}-{name}'][value='{word}']").check()


def fill_row(page: Page, number: int, failure: str = "probable") -> None:
    prefix = f"[name='assessments-{number}-"
    page.locator(f"{prefix}part']").select_option("union")
    page.locator(f"{prefix}failure_mode']").fill("splitting at the included bark")
    page.locator(f"{prefix}target']").select_option(label="play area (constant use)")
    choose(page, number, "failure", failure)
    choose(page, number, "exposure", "fully exposed")
    choose(page, number, "consequences", "severe")


@pytest.mark.parametrize("viewport", [DESKTOP, TABLET], ids=["desktop", "tablet"])
def test_the_picks_show_their_rating_at_once(login_as, tree, viewport):
    page = login_as(Role.INSPECTOR, viewport=viewport)
    page.goto(f"/hazards/inspect/{tree.tag}/")
    fill_row(page, 0)
    outcome = page.locator(".outcome").first
    expect(outcome).to_contain_text("Suggested likelihood of impact: high")
    expect(outcome.locator(".rating")).to_have_text("High")
    choose(page, 0, "failure", "imminent")
    expect(outcome.locator(".rating")).to_have_text("Extreme")
    expect(outcome).to_contain_text("keep people out")


def test_another_row_leaves_the_rest_of_the_page_alone(login_as, tree):
    page = login_as(Role.INSPECTOR)
    page.goto(f"/hazards/inspect/{tree.tag}/")
    page.locator("[name=note]").fill("hollow sound")
    page.locator("[name=photos]").set_input_files({"name": "a.jpg", "mimeType": "image/jpeg", "buffer": b"\xff\xd8"})
    fill_row(page, 0)
    page.get_by_role("button", name="Add another assessment").click()
    expect(page.locator(".assessment")).to_have_count(2)
    expect(page.locator("[name='assessments-0-failure_mode']")).to_have_value("splitting at the included bark")
    expect(page.locator("[name='assessments-1-part']")).to_be_focused()
    assert page.locator("[name=photos]").evaluate("input => input.files.length") == 1
    expect(page.locator("[name=note]")).to_have_value("hollow sound")


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without"])
def test_a_look_is_recorded_and_leads_the_ranking(login_as, tree, scripts):
    page = login_as(Role.INSPECTOR, java_script_enabled=scripts)
    page.goto(f"/hazards/inspect/{tree.tag}/")
    page.locator("[name=condition][value=poor]").check()
    page.locator("[name=dbh_cm]").fill("14 in")
    fill_row(page, 0)
    page.get_by_role("button", name="Add another assessment").click()
    expect(page.locator(".assessment")).to_have_count(2)
    fill_row(page, 1, failure="imminent")
    page.get_by_role("button", name="Save the inspection").click()
    expect(page.locator(".matrix__here")).to_have_count(4)
    assert Inspection.objects.get().dbh_cm == 35.56
    page.goto("/hazards/")
    first = page.locator("section", has_text="Imminent failures").locator("tbody tr")
    expect(first).to_contain_text("LG-1")
    expect(first).to_contain_text(
        re.compile("Imminent failure, rated extreme: the union .* very likely to hit the play area")
    )


def test_the_enter_key_stores_nothing_half_way_round(login_as, tree):
    page = login_as(Role.INSPECTOR)
    page.goto(f"/hazards/inspect/{tree.tag}/")
    page.locator("[name=condition][value=poor]").check()
    page.locator("[name=dbh_cm]").fill("14 in")
    page.locator("[name=dbh_cm]").press("Enter")
    expect(page.locator("[name=dbh_cm]")).to_have_value("14 in")
    expect(page.get_by_role("button", name="Save the inspection")).to_be_visible()
    assert not Inspection.objects.exists()


def test_faults_are_told_first_and_lead_to_their_fields(login_as, tree):
    page = login_as(Role.INSPECTOR)
    page.goto(f"/hazards/inspect/{tree.tag}/")
    fill_row(page, 0)
    choose(page, 0, "impact", "low")
    page.get_by_role("button", name="Save the inspection").click()
    summary = page.get_by_role("alert")
    expect(summary).to_be_focused()
    summary.get_by_role("link", name="Why not as suggested").click()
    expect(page.locator("[name='assessments-0-impact_reason']")).to_be_in_viewport()
    assert not Inspection.objects.exists()


def test_a_correction_starts_from_what_was_recorded(login_as, tree):
    inspect(tree, pick(tree.park.targets.get(), **HIGH))
    page = login_as(Role.INSPECTOR)
    page.goto(f"/hazards/inspections/{Inspection.objects.get().pk}/")
    page.get_by_role("link", name="Correct").click()
    expect(page.locator(".outcome").first.locator(".rating")).to_have_text("High")
    choose(page, 0, "failure", "improbable")
    page.get_by_role("button", name="Save the correction").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("LG-1")
    assert Standing.objects.get(tree=tree).rating == "low"


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without"])
def test_filters_are_kept_as_a_view_and_forgotten(login_as, tree, scripts):
    inspect(tree, pick(tree.park.targets.get(), **HIGH))
    page = login_as(Role.MANAGER, java_script_enabled=scripts, viewport=TABLET)
    page.goto("/hazards/?rating=high")
    page.get_by_text("Keep these filters as a view").click()
    page.get_by_label("Name").fill("High ones")
    page.get_by_role("button", name="Keep the view").click()
    page.goto("/hazards/")
    page.get_by_role("navigation", name="Saved views").get_by_role("link", name="High ones").click()
    expect(page).to_have_url(re.compile(r"rating=high$"))
    page.get_by_role("button", name="Forget the view High ones").click()
    expect(page.get_by_role("navigation", name="Saved views")).to_have_count(0)


def test_a_new_policy_dates_the_ranking_at_once(login_as, tree):
    inspect(tree, pick(tree.park.targets.get(), **HIGH))
    page = login_as(Role.MANAGER)
    page.goto("/hazards/policy/")
    page.get_by_label("Rated high", exact=True).fill("7")
    page.get_by_role("button", name="Set the policy").click()
    expect(page.get_by_text("the dates of 1 tree changed with it")).to_be_visible()
    page.goto("/hazards/")
    expect(page.locator("#ranked ~ * tbody tr")).to_contain_text("work due by 11 May 2026")


def test_the_downloads_follow_the_filter(login_as, tree):
    inspect(tree, pick(tree.park.targets.get(), **HIGH))
    page = login_as(Role.READER)
    page.goto("/hazards/?rating=high")
    for kind in ("CSV", "XLSX"):
        with page.expect_download() as download:
            page.get_by_role("link", name=f"Download {kind}").click()
        assert download.value.suggested_filename == f"ranking.{kind.lower()}"
