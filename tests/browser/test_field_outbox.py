"""The outbox of a tablet: nothing saved is lost, nothing is sent twice, nothing goes under the wrong name."""

import datetime as dt
import json

import pytest
from playwright.sync_api import Error, Page, expect

from tests.browser.chromium import TABLET
from tests.browser.tablet import PlayedServer, Tablet


@pytest.fixture
def server() -> PlayedServer:
    return PlayedServer()


@pytest.fixture
def tablet(open_page, server) -> Tablet:
    page: Page = open_page(viewport=TABLET)
    server.attend(page.context)
    page.goto("/field/")
    tablet = Tablet(page)
    tablet.send()
    return tablet


def outbox(tablet: Tablet) -> Page:
    tablet.page.goto("/field/#/outbox")
    expect(tablet.page.get_by_role("heading", name="Outbox", level=1)).to_be_visible()
    return tablet.page


def refuse(message: str):
    return lambda record: {"status": "refused", "errors": [{"field": "text", "message": message}]}


def test_a_saved_record_is_sent_and_its_receipt_kept(tablet, server) -> None:
    name = tablet.add(title="Oak 12, inspection")
    tablet.send()
    assert list(server.records) == [name]
    line = outbox(tablet).locator(f"[data-id='{name}']")
    expect(line).to_contain_text("Oak 12, inspection")
    expect(line).to_contain_text("received as R-1")


def test_a_record_carries_the_tablets_time_with_its_offset(tablet, server) -> None:
    before = dt.datetime.now(dt.UTC)
    name = tablet.add()
    tablet.send()
    recorded_at = dt.datetime.fromisoformat(server.records[name]["recorded_at"])
    assert recorded_at.utcoffset() is not None
    assert abs(recorded_at - before) < dt.timedelta(minutes=1)


def test_without_signal_a_record_waits_and_goes_when_there_is_signal(tablet, server) -> None:
    server.set_signal(False)
    name = tablet.add()
    assert tablet.send()["phase"] == "no-signal"
    assert tablet.states() == {name: "waiting"}
    server.set_signal(True)  # the page hears "online" and sends by itself
    outbox(tablet)
    expect(tablet.page.locator(f"[data-id='{name}']")).to_contain_text("received as R-1")


def test_a_lost_answer_is_asked_for_again_under_the_same_id(tablet, server) -> None:
    def lose(route, records):
        server.fault = None
        for record in records:
            server.result(record)
        route.abort("connectionreset")
        return True

    server.fault = lose
    name = tablet.add()
    tablet.send()
    tablet.send()
    assert server.requests == [[name], [name]]
    assert (list(server.records), tablet.states()) == ([name], {name: "sent"})


def test_an_answer_that_does_not_name_the_record_leaves_it_waiting(tablet, server) -> None:
    server.judge = lambda record: {"id": "0197d1c0-0000-7000-8000-000000000000", "status": "stored"}
    name = tablet.add()
    tablet.send()
    assert tablet.states() == {name: "waiting"}


def test_two_taps_on_save_make_one_record(tablet, server) -> None:
    tablet.call("drafts", "save", "inspect/12", {"note": "Cavity"})
    script = """async (modules) => {
        const outbox = await modules("outbox");
        const { record } = await (await modules("drafts")).open("inspect/12");
        const save = () => outbox.add({ id: record, kind: "note", title: "Oak", payload: {}, draft: "inspect/12" });
        return [...(await Promise.all([save(), save()])), await save()];
    }"""
    ids = tablet.run(script)
    tablet.send()
    assert len(set(ids)) == 1
    assert list(server.records) == ids[:1]
    assert tablet.call("drafts", "load", "inspect/12") is None


def test_a_draft_survives_a_tab_that_is_killed(tablet) -> None:
    tablet.call("drafts", "save", "inspect/12", {"note": "Cavity at the base"})
    context = tablet.page.context
    tablet.page.close()
    page = context.new_page()
    page.goto("/field/")
    assert Tablet(page).call("drafts", "load", "inspect/12") == {"note": "Cavity at the base"}


def test_a_refused_record_says_why_and_is_mended_under_its_id(tablet, server) -> None:
    server.judge = refuse("The height is 400 m: give a height between 0.5 m and 120 m.")
    tablet.call("drafts", "save", "inspect/12", {"height": 400})
    first = tablet.add(draft="inspect/12", route="#/packs", payload={"height_m": 400})
    tablet.send()
    page = outbox(tablet)
    expect(page.locator(f"[data-id='{first}']")).to_contain_text("The height is 400 m")
    page.get_by_role("button", name="Mend").click()
    expect(page.get_by_role("heading", name="Parks on this tablet")).to_be_visible()

    draft = tablet.call("drafts", "open", "inspect/12")
    assert draft["value"] == {"height": 400}
    assert draft["errors"] == [
        {"field": "text", "message": "The height is 400 m: give a height between 0.5 m and 120 m."}
    ]
    server.judge = None
    second = tablet.add(draft="inspect/12", route="#/packs", payload={"height_m": 40})
    tablet.send()
    assert second == first
    assert (list(server.records), tablet.states()) == ([first], {first: "sent"})
    assert server.records[first]["payload"] == {"height_m": 40}


def test_a_record_that_is_mended_keeps_its_photos(tablet, server, camera) -> None:
    server.judge = refuse("No.")
    photo = tablet.photo(camera(300, 200), "inspect/12")
    first = tablet.add(draft="inspect/12", route="#/packs")
    tablet.send()
    tablet.call("outbox", "mend", first)
    assert [kept["id"] for kept in tablet.call("photos", "ofDraft", "inspect/12")] == [photo["id"]]
    server.judge = None
    tablet.add(draft="inspect/12")
    tablet.send()
    assert list(server.photos) == [photo["id"]]


def test_mending_does_not_write_over_a_form_that_is_open(tablet, server) -> None:
    server.judge = refuse("No.")
    first = tablet.add(draft="inspect/12")
    tablet.call("drafts", "save", "inspect/12", {"note": "a new one"})
    tablet.send()
    with pytest.raises(Error, match="Another form for the same thing is open"):
        tablet.call("outbox", "mend", first)
    assert tablet.call("drafts", "load", "inspect/12") == {"note": "a new one"}


def test_a_conflict_can_be_mended_and_a_forbidden_record_stays(tablet, server) -> None:
    first, second = tablet.add(title="one"), tablet.add(title="two")
    server.judge = lambda record: {"status": "conflict" if record["id"] == first else "forbidden"}
    tablet.send()
    assert tablet.states() == {first: "refused", second: "forbidden"}
    expect(outbox(tablet).locator(f"[data-id='{second}']")).to_contain_text("Your role does not allow this record")


def test_what_stands_under_another_records_id_is_mended_under_a_new_one(tablet, server) -> None:
    server.judge = lambda record: {"status": "conflict"}
    first = tablet.add(draft="inspect/12", route="#/packs")
    tablet.send()
    tablet.call("outbox", "mend", first)
    server.judge = None
    second = tablet.add(draft="inspect/12", route="#/packs")
    tablet.send()
    assert second != first
    assert (list(server.records), tablet.states()) == ([second], {second: "sent"})


def test_one_bad_record_does_not_hold_up_the_rest(tablet, server) -> None:
    server.set_signal(False)
    bad = tablet.add(title="bad")
    good = [tablet.add(title=f"good {n}") for n in range(5)]

    def fail(route, records):
        if bad not in {record["id"] for record in records}:
            return False
        route.fulfill(status=500, body="")
        return True

    server.fault = fail
    server.set_signal(True)
    for _ in range(4):
        tablet.send()
    assert set(server.records) == set(good)
    assert tablet.states()[bad] == "waiting"


def test_a_request_that_is_too_large_goes_in_single_records(tablet, server) -> None:
    server.set_signal(False)
    names = [tablet.add() for _ in range(3)]

    def too_large(route, records):
        if len(records) == 1:
            return False
        route.fulfill(status=413, json={"errors": [{"field": "", "message": "Too large."}]})
        return True

    server.fault = too_large
    server.set_signal(True)
    tablet.send()
    assert sorted(server.records) == sorted(names)


def test_an_expired_login_keeps_all_and_asks_to_sign_in(tablet, server) -> None:
    server.signed_in = False
    names = [tablet.add(), tablet.add()]
    assert tablet.send()["phase"] == "signed-out"
    link = tablet.page.get_by_role("link", name="Sign in to send 2 records")
    expect(link).to_have_attribute("href", "/login/?next=/field/")
    server.signed_in = True
    tablet.send()
    assert sorted(server.records) == sorted(names)
    expect(link).to_be_hidden()


def test_somebody_elses_records_are_never_sent(tablet, server) -> None:
    server.signed_in = False
    wrens = tablet.add(title="Oak 12")
    server.signed_in, server.user = True, {"id": 2, "name": "Bo Hazel"}
    tablet.send()
    bos = tablet.add(title="Lime 3")
    tablet.send()
    assert list(server.records) == [bos]
    expect(
        outbox(tablet).get_by_text("1 record of Wren Hale: sent when Wren Hale signs in on this tablet.")
    ).to_be_visible()
    server.user = {"id": 1, "name": "Wren Hale"}
    tablet.send()
    assert list(server.records) == [bos, wrens]


def test_a_draft_is_seen_by_its_user_alone(tablet, server) -> None:
    tablet.call("drafts", "save", "inspect/12", {"note": "Wren's"})
    server.user = {"id": 2, "name": "Bo Hazel"}
    tablet.send()
    assert tablet.call("drafts", "load", "inspect/12") is None


def test_nobody_signed_in_yet_is_told_so(open_page) -> None:
    server = PlayedServer(signed_in=False)
    page = open_page()
    server.attend(page.context)
    page.goto("/field/")
    with pytest.raises(Error, match="Not saved: nobody has signed in on this tablet yet"):
        Tablet(page).add()


def test_a_full_tablet_says_not_saved(tablet) -> None:
    tablet.page.evaluate(
        """() => { IDBObjectStore.prototype.add = () => { throw new DOMException("full", "QuotaExceededError"); }; }"""
    )
    with pytest.raises(Error, match="Not saved: this tablet has no room left"):
        tablet.add()
    assert tablet.states() == {}


def test_a_connection_that_the_browser_closed_is_opened_again_once(tablet) -> None:
    tablet.page.evaluate(
        """() => {
            const real = IDBDatabase.prototype.transaction;
            IDBDatabase.prototype.transaction = function () {
                IDBDatabase.prototype.transaction = real;
                throw new DOMException("The database connection is closing.", "InvalidStateError");
            };
        }"""
    )
    name = tablet.add()
    assert name in tablet.states()


def test_a_tablet_that_runs_low_says_so(tablet) -> None:
    tablet.page.evaluate(
        """() => { navigator.storage.estimate = async () => ({ usage: 950 * 1048576, quota: 1000 * 1048576 }); }"""
    )
    tablet.call("room", "look")
    expect(tablet.page.get_by_text("Only 50 MB of room left on this tablet")).to_be_visible()


def test_the_browser_is_asked_to_keep_the_store(open_page, server) -> None:
    page = open_page()
    server.attend(page.context)
    page.add_init_script("navigator.storage.persist = async () => { window.asked = true; return true; };")
    page.goto("/field/")
    Tablet(page).call("room", "start")
    assert page.evaluate("window.asked")


def test_the_clock_is_held_against_the_servers(tablet, server) -> None:
    server.ahead = dt.timedelta(hours=26)
    tablet.send()
    offset = dt.timedelta(milliseconds=tablet.call("me", "clockOffset"))
    assert abs(offset - server.ahead) < dt.timedelta(seconds=5)


def test_a_page_too_old_for_the_server_sends_nothing_and_keeps_all(tablet, server) -> None:
    server.schema_min = 2
    name = tablet.add()
    assert tablet.send()["phase"] == "too-old"
    assert (server.records, tablet.states()) == ({}, {name: "waiting"})


def test_receipts_go_after_seven_days(tablet, server) -> None:
    tablet.add()
    tablet.send()
    now = dt.datetime.now(dt.UTC).timestamp() * 1000
    tablet.call("outbox", "dropOldReceipts", now + 6.9 * 86_400_000)
    assert len(tablet.states()) == 1
    tablet.call("outbox", "dropOldReceipts", now + 7.1 * 86_400_000)
    assert tablet.states() == {}


def test_what_is_unsent_can_be_saved_as_a_file(tablet, server, camera) -> None:
    server.signed_in = False
    photo = tablet.photo(camera(300, 200), "inspect/12", caption="base")
    name = tablet.add(draft="inspect/12", payload={"note": "Cavity"})
    page = outbox(tablet)
    with page.expect_download() as download:
        page.get_by_role("button", name="Save unsent as a file").click()
    written = json.loads(download.value.path().read_text())
    assert [(record["id"], record["payload"]) for record in written["records"]] == [(name, {"note": "Cavity"})]
    assert [(kept["id"], kept["record"], kept["caption"]) for kept in written["photos"]] == [
        (photo["id"], name, "base")
    ]


def test_signing_out_with_unsent_records_asks_first(tablet, server) -> None:
    server.judge = refuse("No.")
    name = tablet.add()
    tablet.send()
    left: list[str] = []
    tablet.page.context.route("**/logout/", lambda route: (left.append("out"), route.fulfill(status=200, body=""))[1])
    page = outbox(tablet)
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_text("Not sent yet: 1 record of yours.")).to_be_visible()
    assert left == []
    page.get_by_role("button", name="Sign out all the same").click()
    expect(page.get_by_role("button", name="Sign out", exact=True)).to_be_hidden()
    assert left == ["out"]
    assert name in tablet.states()


def test_a_record_is_thrown_away_only_after_a_second_word(tablet, server) -> None:
    server.judge = refuse("No.")
    name = tablet.add()
    tablet.send()
    page = outbox(tablet)
    page.get_by_role("button", name="Throw away").click()
    assert name in tablet.states()
    page.get_by_role("button", name="Throw it away for good").click()
    expect(page.locator(f"[data-id='{name}']")).to_have_count(0)
    assert tablet.states() == {}


def test_two_pages_of_one_tablet_send_a_record_once(tablet, server) -> None:
    other = tablet.page.context.new_page()
    other.goto("/field/")
    server.set_signal(False)
    names = [tablet.add() for _ in range(10)]
    server.set_signal(True)
    both = "(path) => { import(path).then((sync) => sync.send()); }"
    for page in (tablet.page, other):
        page.evaluate(both, tablet.url_of("field/sync.js"))
    page = outbox(tablet)
    expect(page.get_by_role("heading", name="Sent in the last seven days (10)")).to_be_visible()
    sent = [name for request in server.requests for name in request]
    assert sorted(sent) == sorted(names)
