"""A browser for tests: Chromium on this machine's own, a page signed in as a role, and axe."""

import io
import os
from collections.abc import Callable, Iterator

# Playwright keeps an event loop in this thread; Django's database calls here are synchronous all the same.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings as django_settings
from django.test import Client
from PIL import Image, ImageOps
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, sync_playwright

from inventory.access import Role
from tests.browser.chromium import ARGUMENTS, DESKTOP, chromium_path
from tests.browser.pages import World, make_world

SERIOUS = {"serious", "critical"}

OpenPage = Callable[..., Page]
LoginAs = Callable[..., Page]


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    path = chromium_path()
    if path is None:
        pytest.fail("Chromium is required here and was not found: install it or name it in HINGEWOOD_CHROMIUM.")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(ARGUMENTS))
        yield browser
        browser.close()


def refusals(page: Page) -> list[str]:
    """Collects what the content security policy refuses on the page from now on."""
    heard: list[str] = []

    def listen(message: ConsoleMessage) -> None:
        if "Content Security Policy" in message.text:
            heard.append(message.text)

    page.on("console", listen)
    return heard


@pytest.fixture
def open_page(chromium: Browser, live_server) -> Iterator[OpenPage]:
    """``open_page(viewport=TABLET, java_script_enabled=False, …)``: a page of a context of its own, signed out.

    Every page of the test must keep to the content security policy.
    """
    contexts: list[BrowserContext] = []
    heard: list[list[str]] = []

    def opened(**options: object) -> Page:
        context = chromium.new_context(
            **{"base_url": live_server.url, "viewport": DESKTOP, "service_workers": "block", **options}
        )
        contexts.append(context)
        page = context.new_page()
        heard.append(refusals(page))
        return page

    yield opened
    for context in contexts:
        context.close()
    assert [text for texts in heard for text in texts] == []


@pytest.fixture
def chromium_page(open_page: OpenPage) -> Page:
    return open_page()


@pytest.fixture
def login_as(open_page: OpenPage, cast, live_server) -> LoginAs:
    """``login_as(Role.MANAGER)``: a page of its own browser context, signed in as that role."""

    def signed_in(role: Role, **options: object) -> Page:
        client = Client()
        client.force_login(cast[role])
        cookie = client.cookies[django_settings.SESSION_COOKIE_NAME]
        page = open_page(**options)
        page.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
        return page

    return signed_in


@pytest.fixture
def world(cast) -> World:
    return make_world(cast)


@pytest.fixture(scope="session")
def camera() -> Callable[..., bytes]:
    """``camera(3000, 2000, exif=…)``: a JPEG, red at its left and blue at its right."""

    def picture(width: int, height: int, exif: Image.Exif | None = None) -> bytes:
        across = Image.linear_gradient("L").rotate(90).resize((width, height))
        image = Image.merge("RGB", (ImageOps.invert(across), Image.new("L", (width, height), 40), across))
        held = io.BytesIO()
        image.save(held, "JPEG", quality=70, exif=exif or Image.Exif())
        return held.getvalue()

    return picture


@pytest.fixture(scope="session")
def axe() -> Callable[[Page], None]:
    """``axe(page)`` fails on any serious or critical finding, in the light and in the dark scheme."""

    def check(page: Page) -> None:
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            results = Axe().run(page)
            serious = [v["id"] for v in results.response["violations"] if v["impact"] in SERIOUS]
            report = "\n".join(results.generate_report(violation) for violation in serious)
            assert not serious, f"{page.url} in the {scheme} scheme: {report}"

    return check
