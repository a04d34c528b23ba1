"""Where Chromium is, how it is started, and what becomes of the browser tests when it is not there.

Without Chromium they are left out and the last lines of the run name them. With HINGEWOOD_BROWSER_TESTS=required they
run all the same, and fail for want of it. With pytest-xdist each worker tells the main process what it left out.
"""

import os
import shutil
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
DESKTOP = {"width": 1280, "height": 800}
TABLET = {"width": 820, "height": 1180}
PHONE = {"width": 390, "height": 844}
LEFT_OUT = pytest.StashKey[set[str]]()


def chromium_path() -> str | None:
    """The browser named by HINGEWOOD_CHROMIUM, or the first found on the path."""
    if named := os.environ.get("HINGEWOOD_CHROMIUM"):
        return shutil.which(named)
    return next((path for name in NAMES if (path := shutil.which(name))), None)


def required() -> bool:
    return os.environ.get("HINGEWOOD_BROWSER_TESTS") == "required"


def pytest_configure(config: pytest.Config) -> None:
    config.stash[LEFT_OUT] = set()


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    browser = [item for item in items if item.path.is_relative_to(HERE)]
    for item in browser:
        item.add_marker("browser")
    if not browser or chromium_path() or required():
        return
    config.hook.pytest_deselected(items=browser)
    items[:] = [item for item in items if item not in set(browser)]
    config.stash[LEFT_OUT] |= {item.nodeid for item in browser}


def pytest_sessionfinish(session: pytest.Session) -> None:
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["browser_tests_left_out"] = sorted(session.config.stash[LEFT_OUT])


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    node.config.stash[LEFT_OUT] |= set(getattr(node, "workeroutput", {}).get("browser_tests_left_out", []))


@pytest.hookimpl(trylast=True)
def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    left_out = sorted(config.stash[LEFT_OUT])
    if not left_out:
        return
    terminalreporter.section(f"{len(left_out)} browser tests left out: no Chromium", yellow=True)
    for name in left_out:
        terminalreporter.line(name)
    terminalreporter.line("Install Chromium or name it in HINGEWOOD_CHROMIUM to run them.")
