"""What is seen to around a felling, on the pages: workers, the crew, the items before and after."""

from __future__ import annotations

import datetime as dt

from playwright.sync_api import Page, expect

from removals.work_items import Item, Stage, items_of
from tests.removals.builders import CREW


def add_workers(page: Page) -> None:
    """The crew as workers, each with a ticket for felling and one for the winch."""
    ends = (dt.date.today() + dt.timedelta(days=200)).isoformat()
    for name, _ in CREW:
        page.goto("/removals/workers/")
        page.get_by_role("main").get_by_role("link", name="Add a worker").first.click()
        page.get_by_label("Name", exact=True).fill(name)
        page.get_by_label("Feller ticket valid until").fill(ends)
        page.get_by_label("Operator ticket valid until").fill(ends)
        page.get_by_role("button", name="Keep the worker").click()
        expect(page.get_by_role("rowheader", name=name)).to_be_visible()


def name_crew(page: Page) -> None:
    """From the page of the order, and back to it."""
    page.get_by_role("link", name="Name the crew").click()
    for n, (name, role) in enumerate(CREW, start=1):
        row = page.get_by_role("group", name=f"Person {n}")
        label = row.get_by_role("option").filter(has_text=name).inner_text()
        row.get_by_label("Worker").select_option(label=label)
        row.get_by_label("Role").select_option(role)
    page.get_by_role("button", name="This is the crew").click()
    expect(page.get_by_role("main")).to_contain_text("Cy Rowan")


def see_to(page: Page, stage: Stage) -> None:
    """Every item of a stage, from the page of the order."""
    for item in items_of(stage):
        page.get_by_role("link", name=item.title, exact=True).click()
        _record(page, item)
        expect(page.locator(".worklist li").filter(has_text=item.title)).to_contain_text("Done")


def _record(page: Page, item: Item) -> None:
    for box in page.get_by_role("main").get_by_role("checkbox").all():
        box.check()
    if item.reference or item.checks:
        page.get_by_label(item.reference or "Who looked").fill("L-4711")
    if item.note:
        page.get_by_label(item.note).fill("Seen to")
    page.get_by_role("main").get_by_role("button", name="Done", exact=True).click()
