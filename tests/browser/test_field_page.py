"""The tablet page without signal: the worker hands it out, a new version waits for the forms."""

import pytest
from playwright.sync_api import Page, expect


@pytest.fixture
def tablet(open_page) -> Page:
    """The page, opened once with signal: its worker is there."""
    page = open_page(service_workers="allow")
    page.goto("/field/")
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    return page


def test_after_one_visit_the_page_opens_in_flight_mode(tablet) -> None:
    tablet.context.set_offline(True)
    answer = tablet.reload()
    assert answer.from_service_worker
    expect(tablet.get_by_role("link", name="Outbox")).to_be_visible()
