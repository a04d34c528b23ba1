"""The README's pictures, taken from a served demo: ``python -m tests.browser.screenshots http://127.0.0.1:8000``."""

import argparse
import io
from dataclasses import dataclass
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

from tests.browser.chromium import ARGUMENTS, DESKTOP, TABLET, chromium_path

FOLDER = Path(__file__).resolve().parents[2] / "docs" / "screenshots"


@dataclass(frozen=True)
class Shot:
    """A picture: where to begin, how large the screen is, what to follow from there, and what stands at the top."""

    name: str
    path: str
    size: dict[str, int]
    follow: tuple[str, ...] = ()
    top: str = "body"


SHOTS = (
    Shot("ranking", "/hazards/", DESKTOP),
    Shot("plan", "/removals/", TABLET, ("tr:has(.chip--scheduled) th a", "a[href*='/removals/plans/']"), "#glance"),
    Shot("report", "/reports/", DESKTOP, ("tbody th a >> nth=6",)),
)


def sign_in(page: Page, username: str, password: str) -> None:
    page.goto("/login/")
    page.get_by_label("Login name").fill(username)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda url: "/login" not in url)


def keep(picture: bytes, path: Path) -> None:
    """With a palette, which keeps the picture small; by coverage, so that the few plum spots keep their colour."""
    colours = Image.open(io.BytesIO(picture)).convert("RGB")
    colours.quantize(256, method=Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE).save(path, optimize=True)


def take(base_url: str, username: str, password: str) -> None:
    FOLDER.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=list(ARGUMENTS))
        page = browser.new_context(base_url=base_url).new_page()
        sign_in(page, username, password)
        for shot in SHOTS:
            page.set_viewport_size(shot.size)
            page.goto(shot.path)
            for link in shot.follow:
                page.locator(link).first.click()
                page.wait_for_load_state()
            page.locator(shot.top).evaluate("element => scrollBy(0, element.getBoundingClientRect().top - 12)")
            keep(page.screenshot(), FOLDER / f"{shot.name}.png")
        browser.close()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("base_url")
    parser.add_argument("--username", default="selma")
    parser.add_argument("--password", required=True, help="the demo prints it")
    options = parser.parse_args()
    take(options.base_url, options.username, options.password)


if __name__ == "__main__":
    main()
