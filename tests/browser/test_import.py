"""A tree file through the browser, with and without JavaScript."""

from pathlib import Path

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from inventory.access import Role
from inventory.models import ImportRun, RunState, Tree
from tests.browser.chromium import DESKTOP, PHONE

TABLE = """\
Tag,Park,Species,DBH (cm),Height (m),Date planted,Status,Latitude,Longitude
A1,Ropewalk,Acer rubrum 'October Glory' :: red maple,30,12,2001-10-14,Alive,45.4,-40.2
A2,Ropewalk,Tilia cordata,20-30,,1998,Dead,45.4,-40.2
A3,Ropewalk,,50,,,Stump,,
A4,Ropewalk,Acer rubrum,900,14,,Alive,45.4,-40.2
"""


@pytest.fixture
def file(tmp_path) -> Path:
    path = tmp_path / "ropewalk.csv"
    path.write_text(TABLE)
    return path


def send_in(page: Page, file: Path) -> None:
    page.goto(reverse("inventory:imports"))
    page.set_input_files("#id_file", file)
    page.get_by_role("button", name="Send it in").click()


def look(page: Page, axe=None) -> None:
    """Sound on a desktop, and no wider than a phone."""
    if axe:
        axe(page)
    page.set_viewport_size(PHONE)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.set_viewport_size(DESKTOP)


@pytest.mark.parametrize("script", [True, False], ids=["with JavaScript", "without JavaScript"])
def test_a_file_goes_in_page_by_page(login_as, axe, file, script):
    page = login_as(Role.MANAGER, java_script_enabled=script)
    send_in(page, file)
    expect(page.get_by_role("heading", level=1)).to_have_text("Which column is what?")
    expect(page.get_by_label("Trunk diameter", exact=True)).to_have_value("DBH (cm)")
    look(page, axe if script else None)
    page.get_by_role("button", name="These are right").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("As it will be stored")
    expect(page.get_by_role("row", name="A2")).to_contain_text("estimated")
    look(page, axe if script else None)
    page.get_by_role("button", name="Import 4 rows").click()
    expect(page.get_by_role("heading", name="What became of 4 rows")).to_be_visible()
    look(page, axe if script else None)
    assert Tree.objects.count() == 2
    with page.expect_download() as download:
        page.get_by_role("link", name="Refused rows as CSV").click()
    assert "beyond any tree" in Path(download.value.path()).read_text(encoding="utf-8")


def test_the_progress_moves_by_itself_and_ends_in_the_result(login_as, axe, file):
    page = login_as(Role.MANAGER)
    send_in(page, file)
    run = ImportRun.objects.get()
    ImportRun.objects.update(state=RunState.RUNNING, progress_done=1, progress_total=4)
    page.goto(reverse("inventory:import_run", args=[run.pk]))
    expect(page.get_by_text("1 of 4 rows")).to_be_visible()
    axe(page)
    ImportRun.objects.update(progress_done=3)
    expect(page.get_by_text("3 of 4 rows")).to_be_visible()
    ImportRun.objects.update(state=RunState.DONE, rows=4, imported=4)
    expect(page.get_by_role("heading", name="What became of 4 rows")).to_be_visible()
