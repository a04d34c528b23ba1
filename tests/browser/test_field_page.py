"""The tablet page without signal: the worker hands it out, a new version waits for the forms, nothing kept is lost."""

import re
import uuid
from collections.abc import Iterator

import pytest
from django.test import Client
from playwright.sync_api import Browser, Page, expect

from config import field_page
from inventory.access import Role
from tests.browser.chromium import ARGUMENTS, TABLET, chromium_path
from tests.browser.own_server import OwnServer
from tests.browser.tablet import PlayedServer, Tablet

READY = "navigator.serviceWorker.ready.then(() => null)"
CACHES = "caches.keys()"
LOOK = "navigator.serviceWorker.getRegistration('/field/').then((found) => found.update()).then(() => null)"
LEAST_TARGET_PX = 48
# Some seventy files come over before a version is ready.
INSTALL_MS = 30_000


@pytest.fixture
def server() -> PlayedServer:
    return PlayedServer()


@pytest.fixture
def tablet(open_page, server) -> Tablet:
    """The page, opened once with signal: its worker is there."""
    page: Page = open_page(service_workers="allow", viewport=TABLET)
    server.attend(page.context)
    page.goto("/field/")
    page.evaluate(READY)
    tablet = Tablet(page)
    tablet.send()
    return tablet


# ---- The worker --------------------------------------------------------------------------------------------------------


def test_after_one_visit_the_page_opens_in_flight_mode(tablet, server) -> None:
    server.set_signal(False)
    answer = tablet.page.reload()
    assert answer.from_service_worker
    expect(tablet.page.get_by_role("link", name=re.compile("^Outbox"))).to_be_visible()
    assert tablet.add() in tablet.states()


def test_the_worker_touches_nothing_but_the_page_and_its_files(tablet) -> None:
    touched: list[str] = []
    page = tablet.page
    page.reload()
    page.on("response", lambda answer: answer.from_service_worker and touched.append(answer.url))
    tablet.add()
    tablet.send()
    tablet.call("tables", "refresh")
    tablet.call("packs", "parks")
    assert [url for url in touched if "/static/" not in url] == []


def test_the_page_is_the_same_for_everybody(as_role, client) -> None:
    pages = [who.get("/field/").content for who in (client, as_role(Role.INSPECTOR), as_role(Role.MANAGER))]
    assert len(set(pages)) == 1
    assert b"csrf" not in pages[0]


def test_the_worker_names_every_module_of_the_page(client) -> None:
    text = client.get("/field/sw.js").content.decode()
    modules = {path.name for path in (field_page.STATIC / "field").rglob("*.js")}
    assert len(modules) > 20
    assert modules <= set(re.findall(r"/([\w-]+\.js)\"", text))


def test_the_build_changes_with_any_file_of_the_page(monkeypatch, tmp_path) -> None:
    before = field_page.build()
    changed = tmp_path / "worker.js"
    changed.write_text(field_page.WORKER.read_text() + "\n")
    assert field_page.build() == before
    monkeypatch.setattr(field_page, "WORKER", changed)
    assert field_page.build() != before


@pytest.mark.parametrize("path", ["/field/", "/field/sw.js", "/field/manifest.webmanifest"])
def test_what_a_tablet_keeps_is_asked_for_anew_and_leads_nowhere_else(db, path) -> None:
    answer = Client().get(path)
    assert answer.status_code == 200
    assert "no-cache" in answer["Cache-Control"]


# ---- A new version -----------------------------------------------------------------------------------------------------


# Nothing is played by the test here: a browser whose requests are answered by a test does not install a second worker.
@pytest.fixture
def older(open_page, monkeypatch) -> Tablet:
    """A tablet with the page as it was, somebody known to it, and a server that has another build since."""
    page: Page = open_page(service_workers="allow", viewport=TABLET)
    page.goto("/field/")
    page.evaluate(READY)
    tablet = Tablet(page)
    tablet.call("me", "remember", {"user": {"id": 1, "name": "Wren Hale"}, "may": []}, 0)
    monkeypatch.setattr(field_page, "build", lambda: "0123456789ab")
    return tablet


def test_a_new_version_is_offered_and_started_by_a_tap(older) -> None:
    name = older.add()
    page = older.page
    page.evaluate(LOOK)
    with page.expect_event("load"):
        page.get_by_role("button", name="Start the new version").click()
    expect(page.locator("html")).to_have_attribute("data-build", "0123456789ab")
    assert page.evaluate(CACHES) == ["hingewood-field-0123456789ab"]
    assert name in older.states()


def test_a_new_version_waits_while_a_form_is_open(older) -> None:
    page = older.page
    held = "(path) => import(path).then((update) => { window.release = update.hold(); })"
    page.evaluate(held, older.url_of("field/update.js"))
    page.evaluate(LOOK)
    expect(page.get_by_text("It can start when this form is saved or left.")).to_be_visible(timeout=INSTALL_MS)
    assert older.call("update", "apply") is False
    page.evaluate("window.release()")
    expect(page.get_by_role("button", name="Start the new version")).to_be_visible()


# ---- The program as it is served ---------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def static_files(tmp_path_factory, django_db_setup, django_db_blocker) -> OwnServer:
    served = OwnServer(tmp_path_factory.mktemp("served"))
    with django_db_blocker.unblock():
        served.collect()
    return served


@pytest.fixture
def served(static_files, transactional_db) -> Iterator[OwnServer]:
    static_files.start()
    yield static_files
    static_files.kill()


def test_modules_import_each_other_under_hashed_names(static_files) -> None:
    folder = static_files.folder / "static" / "field"
    hashed = [path for path in folder.rglob("*.js") if re.search(r"\.[0-9a-f]{12}\.js$", path.name)]
    imports = [
        (path, found) for path in hashed for found in re.findall(r'(?:from|import) "(\.[^"]+)"', path.read_text())
    ]
    assert len(imports) > 40
    assert [found for path, found in imports if not (path.parent / found).is_file()] == []
    assert [found for _, found in imports if not re.search(r"\.[0-9a-f]{12}\.js$", found)] == []


def test_the_outbox_and_a_form_survive_a_restart_of_the_browser_without_signal(
    served, chromium: Browser, tmp_path
) -> None:
    base = f"http://127.0.0.1:{served.port}"
    played = PlayedServer()

    def started():
        return chromium.browser_type.launch_persistent_context(
            tmp_path / "profile", executable_path=chromium_path(), args=list(ARGUMENTS), base_url=base
        )

    with started() as context:
        played.attend(context)
        page = context.new_page()
        page.goto("/field/")
        page.evaluate(READY)
        tablet = Tablet(page, served.url_of)
        tablet.send()
        played.set_signal(False)
        name = tablet.add(title="Oak 12, inspection")
        tablet.call("drafts", "save", "inspect/13", {"note": "half-way"})
    served.kill()
    with started() as context:
        played.attend(context)
        played.signal = False
        page = context.new_page()
        page.goto("/field/#/outbox")
        tablet = Tablet(page, served.url_of)
        expect(page.locator(f"[data-id='{name}']")).to_contain_text("Oak 12, inspection")
        assert tablet.call("drafts", "load", "inspect/13") == {"note": "half-way"}
        played.signal = True
        tablet.send()
        assert list(played.records) == [name]


# ---- Ids ---------------------------------------------------------------------------------------------------------------


def test_ids_are_uuids_of_version_7_in_the_order_they_were_made(tablet) -> None:
    """Against Python's own reading of RFC 9562: version, variant and the 48 bits of Unix time in milliseconds."""
    script = """async (modules) => {
        const { uuid7 } = await modules("uuid7");
        return Array.from({ length: 3000 }, () => uuid7());
    }"""
    told = tablet.run(script)
    before, after = (tablet.page.evaluate("Date.now()") - 60_000, tablet.page.evaluate("Date.now()"))
    ids = [uuid.UUID(each) for each in told]
    assert [str(each) for each in ids] == told
    assert {(each.version, each.variant) for each in ids} == {(7, uuid.RFC_4122)}
    assert ids == sorted(set(ids))
    assert all(before <= each.int >> 80 <= after + 1 for each in ids)


def test_an_id_holds_the_time_it_is_given(tablet) -> None:
    """The example of RFC 9562, appendix A.6: 2022-02-22 19:22:22 UTC is 017F22E2-79B0-7…"""
    assert tablet.run("async (modules) => (await modules('uuid7')).uuid7(0x017f22e279b0)").startswith("017f22e2-79b0-7")


# ---- How it looks ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("address", "heading"), [("packs", "Parks on this tablet"), ("outbox", "Outbox")])
def test_what_one_presses_is_48_px_at_least_and_axe_finds_nothing(tablet, server, axe, address, heading) -> None:
    server.judge = lambda record: {
        "status": "refused",
        "errors": [{"field": "", "message": "Give a height below 120 m."}],
    }
    tablet.add(title="Oak 12, inspection", route="#/packs")
    tablet.send()
    page = tablet.page
    page.goto(f"/field/#/{address}")
    expect(page.get_by_role("heading", name=heading, level=1)).to_be_visible()
    pressed = page.locator(
        "#field button:visible, #field a:visible, #field input:visible, header a:visible, nav a:visible"
    )
    heights = {target.inner_text(): target.bounding_box()["height"] for target in pressed.all()}
    assert len(heights) > 3
    assert {text: height for text, height in heights.items() if height < LEAST_TARGET_PX} == {}
    assert page.evaluate("document.documentElement.scrollWidth") <= TABLET["width"]
    axe(page)
