"""On every page axe-core finds nothing serious or critical, in both schemes, and nothing is wider than the screen."""

import pytest

from inventory.access import Role
from tests.browser.chromium import DESKTOP, PHONE, TABLET
from tests.browser.pages import REFUSED, SIGNED_IN, SIGNED_OUT, path_in


@pytest.fixture
def check(axe):
    def checked(page) -> None:
        for size in (DESKTOP, TABLET, PHONE):
            page.set_viewport_size(size)
            assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], f"{page.url} at {size}"
        for size in (DESKTOP, TABLET):
            page.set_viewport_size(size)
            axe(page)

    return checked


@pytest.mark.parametrize("path", SIGNED_OUT)
def test_a_page_for_everybody(open_page, check, world, settings, path: str) -> None:
    settings.PUBLIC_REPORTS = True
    page = open_page()
    answer = page.goto(path_in(world, path))
    assert answer.status == 200
    check(page)


@pytest.mark.parametrize(("role", "path"), SIGNED_IN)
def test_a_page_of_a_role(login_as, check, world, role: Role, path: str) -> None:
    page = login_as(role)
    answer = page.goto(path_in(world, path))
    assert answer.status == 200
    check(page)


@pytest.mark.parametrize(("role", "path", "status"), REFUSED)
def test_a_page_that_refuses(login_as, check, role: Role, path: str, status: int) -> None:
    page = login_as(role)
    answer = page.goto(path)
    assert answer.status == status
    check(page)


def test_axe_would_find_what_is_wrong(chromium_page, axe) -> None:
    chromium_page.set_content("<html lang=en><title>A page</title><main><h1>A page</h1><img src=nothing.png></main>")
    with pytest.raises(AssertionError, match="image-alt"):
        axe(chromium_page)
