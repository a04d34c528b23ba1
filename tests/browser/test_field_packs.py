"""Parks taken along: what they hold, what a refresh changes, and whose they are."""

import pytest
from playwright.sync_api import Error, Page, expect

from tests.browser.chromium import TABLET
from tests.browser.tablet import PlayedServer, Tablet

TREES = ["id", "tag", "rating"]


def pack(
    full: bool, token: str, rows: list[list[object]], gone: tuple[int, ...] = (), columns=TREES
) -> dict[str, object]:
    parts = {"trees": {"columns": columns, "rows": rows}, "park": {"boundary": None}}
    about = {"schema": 1, "park": {"code": "LG", "name": "Lantern Green"}}
    return {**about, "token": token, "full": full, "parts": parts, "gone": {"trees": list(gone)}}


@pytest.fixture
def server() -> PlayedServer:
    rows = [[1, "LG-1", "low"], [2, "LG-2", "high"], [3, "LG-3", None]]
    return PlayedServer(packs={"LG": pack(True, "t1", rows)})


@pytest.fixture
def tablet(open_page, server) -> Tablet:
    page: Page = open_page(viewport=TABLET)
    server.attend(page.context)
    page.goto("/field/#/packs")
    tablet = Tablet(page)
    tablet.send()
    return tablet


def test_a_park_is_taken_along_and_the_page_says_what_it_holds(tablet, server) -> None:
    page = tablet.page
    page.locator("[data-code=LG]").get_by_role("button", name="Take along").click()
    line = page.locator("[data-code=LG]")
    expect(line).to_contain_text("Holds 3 trees.")
    expect(line).to_contain_text("As of just now.")
    expect(line).to_contain_text("kB")
    server.set_signal(False)
    assert [tree["tag"] for tree in tablet.call("packs", "trees", "LG")] == ["LG-1", "LG-2", "LG-3"]


def test_a_refresh_brings_what_changed_and_takes_what_is_gone(tablet, server) -> None:
    tablet.call("packs", "take", "LG")
    server.packs["LG?since=t1"] = pack(False, "t2", [[2, "LG-2", "low"], [4, "LG-4", None]], gone=(1,))
    refreshed = tablet.call("packs", "refresh", "LG")
    trees = {tree["id"]: tree["rating"] for tree in tablet.call("packs", "trees", "LG")}
    assert (trees, refreshed["token"], refreshed["counts"]["trees"]) == ({2: "low", 3: None, 4: None}, "t2", 3)


def test_a_refresh_with_other_columns_takes_the_whole_again(tablet, server) -> None:
    tablet.call("packs", "take", "LG")
    server.packs["LG?since=t1"] = pack(False, "t2", [[2, "LG-2"]], columns=TREES[:2])
    server.packs["LG"] = pack(True, "t2", [[2, "LG-2"]], columns=TREES[:2])
    tablet.call("packs", "refresh", "LG")
    assert tablet.call("packs", "trees", "LG") == [{"id": 2, "tag": "LG-2"}]


def test_a_whole_pack_in_answer_to_a_refresh_replaces_all(tablet, server) -> None:
    tablet.call("packs", "take", "LG")
    server.packs["LG?since=t1"] = pack(True, "t9", [[7, "LG-7", None]])
    tablet.call("packs", "refresh", "LG")
    assert [tree["id"] for tree in tablet.call("packs", "trees", "LG")] == [7]


def test_without_signal_the_pack_stays_as_it_is(tablet, server) -> None:
    tablet.call("packs", "take", "LG")
    server.set_signal(False)
    with pytest.raises(Error, match="No signal: what this tablet holds stays as it is"):
        tablet.call("packs", "refresh", "LG")
    assert len(tablet.call("packs", "trees", "LG")) == 3


def test_an_old_pack_says_so(tablet) -> None:
    tablet.call("packs", "take", "LG")
    age = """async (modules) => {
        const { ask, write } = await modules("db");
        await write(["packs"], async ({ packs }) => {
            const [pack] = await ask(packs.getAll());
            await ask(packs.put({ ...pack, refreshed_at: Date.now() - 3 * 86400000 }));
        });
    }"""
    tablet.run(age)
    tablet.page.goto("/field/#/outbox")
    tablet.page.goto("/field/#/packs")
    expect(tablet.page.get_by_text("As of 3 days ago: refresh it before you rely on it.")).to_be_visible()


def test_a_pack_is_removed(tablet) -> None:
    tablet.call("packs", "take", "LG")
    tablet.page.locator("[data-code=LG]").get_by_role("button", name="Remove").click()
    expect(tablet.page.locator("[data-code=LG]").get_by_role("button", name="Take along")).to_be_visible()
    assert tablet.call("packs", "trees", "LG") == []


def test_another_person_takes_packs_of_their_own(tablet, server) -> None:
    tablet.call("packs", "take", "LG")
    server.user = {"id": 2, "name": "Bo Hazel"}
    tablet.send()
    assert tablet.call("packs", "list") == []
