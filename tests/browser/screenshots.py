"""The README's pictures, taken from a served demo: ``python -m tests.browser.screenshots http://127.0.0.1:8000``."""

import argparse
import io
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

from tests.browser.chromium import ARGUMENTS, DESKTOP, TABLET, chromium_path

FOLDER = Path(__file__).resolve().parents[2] / "docs" / "screenshots"
SHADES = 96  # Few colours are used; a small palette keeps the pictures small.
SHOTS = {
    "trees": ("/trees/", DESKTOP),
    "hazards": ("/hazards/", DESKTOP),
    "removals": ("/removals/", TABLET),
    "replanting": ("/replanting/", DESKTOP),
    "reports": ("/reports/", DESKTOP),
}


def sign_in(page: Page, username: str, password: str) -> None:
    page.goto("/login/")
    page.get_by_label("Username").fill(username)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda url: "/login" not in url)


def keep(picture: bytes, path: Path) -> None:
    Image.open(io.BytesIO(picture)).convert("RGB").quantize(SHADES, dither=Image.Dither.NONE).save(path, optimize=True)


def take(base_url: str, username: str, password: str, scheme: str) -> None:
    FOLDER.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=list(ARGUMENTS))
        page = browser.new_context(base_url=base_url, color_scheme=scheme).new_page()
        sign_in(page, username, password)
        for name, (path, size) in SHOTS.items():
            page.set_viewport_size(size)
            page.goto(path)
            keep(page.screenshot(), FOLDER / f"{name}.png")
        browser.close()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("base_url")
    parser.add_argument("--username", default="manager")
    parser.add_argument("--password", required=True, help="the demo prints it")
    parser.add_argument("--scheme", choices=["light", "dark"], default="light")
    options = parser.parse_args()
    take(options.base_url, options.username, options.password, options.scheme)


if __name__ == "__main__":
    main()
