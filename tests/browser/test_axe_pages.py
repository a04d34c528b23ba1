"""axe-core finds nothing serious or critical on any page, in both schemes and on both kinds of screen."""

import pytest

from inventory.access import Role
from tests.browser.chromium import DESKTOP, TABLET

SCREENS = [pytest.param(DESKTOP, id="desktop"), pytest.param(TABLET, id="tablet")]
SIGNED_IN = [
    (Role.READER, "/styleguide/"),
    (Role.READER, "/nowhere/"),
]


@pytest.mark.parametrize("viewport", SCREENS)
def test_the_sign_in_page_is_accessible(open_page, axe, viewport) -> None:
    page = open_page(viewport=viewport)
    page.goto("/login/")
    axe(page)


@pytest.mark.parametrize("viewport", SCREENS)
@pytest.mark.parametrize(("role", "path"), SIGNED_IN)
def test_the_page_is_accessible(login_as, axe, role: Role, path: str, viewport) -> None:
    page = login_as(role, viewport=viewport)
    page.goto(path)
    axe(page)
