"""A day in the field, from a script: 200 inspections by two tablets, with 40 faults. All arrive, each once, with every photo.

The server is the program as it is served, in processes of its own, behind a line that fails when the script says so.
"""

import base64
import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, expect

from hazards.models import FieldRecord, Inspection
from inventory.access import Role
from inventory.models import Photo
from tests.browser.bad_line import BadLine
from tests.browser.chromium import TABLET
from tests.browser.own_server import OwnServer, caught, held_at
from tests.browser.tablet import Tablet
from tests.factories import ParkFactory, TreeFactory, user_with

RECORDS, TREES = 200, 40
# Of sending in the evening: more than a record can need that was left over from a fault.
ROUNDS = 5
FAULTS = {
    "answer lost": 8,
    "cut half-way": 6,
    "photo cut half-way": 4,
    "double tap": 8,
    "tab killed in mid-form": 4,
    "tab killed in mid-send": 3,
    "login expired": 2,
    "two tablets on one tree": 3,
    "server killed in mid-request": 2,
}
PASSWORD = "a long word of the demo"
RECORDS_TABLE = "hazards_fieldrecord"

TAKE = """async (modules, [picture, draft]) => {
    const bytes = Uint8Array.from(atob(picture), (sign) => sign.charCodeAt(0));
    return (await modules("photos")).take(new File([bytes], "camera.jpg", { type: "image/jpeg" }), { draft });
}"""
SAVE = """async (modules, [record, taps]) => {
    const [outbox, drafts] = [await modules("outbox"), await modules("drafts")];
    const { record: id } = await drafts.open(record.draft);
    const saved = Array.from({ length: taps }, () => outbox.add({ ...record, id }));
    return (await Promise.all(saved))[0];
}"""
# Goes on by itself: the test looks away, or kills the page meanwhile.
SEND = "(path) => { import(path).then((sync) => sync.send()); }"


@dataclass
class Person:
    """An inspector with a tablet: its context keeps what a tab that is killed leaves behind."""

    context: BrowserContext
    server: OwnServer
    tablet: Tablet = field(init=False)

    def open(self) -> None:
        page = self.context.new_page()
        page.goto("/field/")
        self.tablet = Tablet(page, self.server.url_of)

    def kill_tab(self) -> None:
        self.tablet.page.close()
        self.open()

    def sign_in(self, username: str) -> None:
        page = self.tablet.page
        page.get_by_role("link", name="Sign in").first.click()
        page.get_by_label("Login name").fill(username)
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url("**/field/**")
        expect(page.get_by_role("link", name="Outbox").first).to_be_visible()
        self.tablet.send()

    def send_unwatched(self) -> None:
        self.tablet.page.evaluate(SEND, self.server.url_of("field/sync.js"))


@dataclass
class Day:
    """What the script did: the notes of all records by id, the drafts of all photos by id, the id that each draft got."""

    script: random.Random
    line: BadLine
    server: OwnServer
    wren: Person
    bo: Person
    trees: list[int]
    picture: Any
    made: dict[str, str] = field(default_factory=dict)
    photos: dict[str, str] = field(default_factory=dict)
    ids: dict[str, str] = field(default_factory=dict)
    faults: Counter[str] = field(default_factory=Counter)

    # ---- Records -----------------------------------------------------------------------------------------------------

    def draft(self, who: Person, tree: int, *, with_photo: bool) -> dict[str, Any]:
        number = len(self.made)
        note = f"look {number}"
        payload = {
            "tree": tree,
            "observed_at": timezone.now().isoformat(),
            "level": 2,
            "condition": "fair",
            "note": note,
        }
        record = {"kind": "inspection", "title": f"Tree {tree}, {note}", "draft": f"inspect/{tree}/{number}"}
        who.tablet.call("drafts", "save", record["draft"], payload)
        if with_photo:
            self.take_photo(who, record["draft"])
        return record | {"payload": payload}

    def take_photo(self, who: Person, draft: str) -> None:
        picture = base64.b64encode(self.picture(320 + len(self.photos), 240)).decode()
        taken = who.tablet.run(TAKE, [picture, draft])
        self.photos[taken["id"]] = draft

    def save(self, who: Person, record: dict[str, Any], taps: int = 1) -> str:
        name = who.tablet.run(SAVE, [record, taps])
        self.made[name] = record["payload"]["note"]
        self.ids[record["draft"]] = name
        return name

    def look(self, who: Person | None = None, *, with_photo: bool | None = None, taps: int = 1) -> str:
        who = who or self.script.choice([self.wren, self.wren, self.bo])
        photo = self.script.random() < 0.25 if with_photo is None else with_photo
        return self.save(who, self.draft(who, self.script.choice(self.trees), with_photo=photo), taps)

    # ---- Faults ------------------------------------------------------------------------------------------------------

    def happens(self, fault: str) -> None:
        self.wren.context.set_offline(False)
        self.wren.tablet.send()
        getattr(self, fault.replace(" ", "_").replace("-", "_"))()
        self.faults[fault] += 1

    def sent_over_a_fault(self, *, with_photo: bool) -> None:
        heard = len(self.line.fired)
        self.look(self.wren, with_photo=with_photo)
        self.wren.tablet.send()
        assert len(self.line.fired) == heard + 1, "the fault did not happen"

    def answer_lost(self) -> None:
        self.line.lose_answer("/field/records")
        self.sent_over_a_fault(with_photo=False)

    def cut_half_way(self) -> None:
        self.line.cut_half_way("/field/records")
        self.sent_over_a_fault(with_photo=False)

    def photo_cut_half_way(self) -> None:
        self.line.cut_half_way("/field/photos")
        self.sent_over_a_fault(with_photo=True)

    def double_tap(self) -> None:
        self.look(self.wren, taps=2)

    def tab_killed_in_mid_form(self) -> None:
        record = self.draft(self.wren, self.script.choice(self.trees), with_photo=True)
        self.wren.kill_tab()
        assert self.wren.tablet.call("drafts", "load", record["draft"]) == record["payload"]
        self.save(self.wren, record)

    def tab_killed_in_mid_send(self) -> None:
        with held_at(RECORDS_TABLE):
            self.look(self.wren)
            self.wren.send_unwatched()
            caught(RECORDS_TABLE)
            self.wren.kill_tab()

    def login_expired(self) -> None:
        Session.objects.all().delete()
        self.look(self.wren)
        assert self.wren.tablet.send()["phase"] == "signed-out"
        assert self.bo.tablet.send()["phase"] == "signed-out"
        for person, username in ((self.wren, "wren"), (self.bo, "bo")):
            person.sign_in(username)

    def two_tablets_on_one_tree(self) -> None:
        tree = self.script.choice(self.trees)
        both = (self.wren, self.bo)
        for person in both:
            self.save(person, self.draft(person, tree, with_photo=True))
        for person in both:
            person.send_unwatched()

    def server_killed_in_mid_request(self) -> None:
        with held_at(RECORDS_TABLE):
            self.look(self.wren)
            self.wren.send_unwatched()
            caught(RECORDS_TABLE)
            self.server.kill()
        assert self.wren.tablet.send()["phase"] == "no-signal"
        self.server.start()

    # ---- The day -----------------------------------------------------------------------------------------------------

    def pass_by(self) -> None:
        faults = [name for name, times in FAULTS.items() for _ in range(times)]
        self.script.shuffle(faults)
        at = set(self.script.sample(range(RECORDS - 60), len(faults)))
        for step in range(RECORDS):
            if step in at:
                self.happens(faults.pop())
            elif len(self.made) < RECORDS - 2 * len(faults):
                self.wren.context.set_offline(step % 20 < 12)
                self.look()

    def evening(self) -> None:
        while len(self.made) < RECORDS:
            self.look()
        for person in (self.wren, self.bo):
            person.context.set_offline(False)
            for _ in range(ROUNDS):
                person.tablet.send()
            assert self.left(person) == [0, 0]

    def left(self, person: Person) -> list[int]:
        counts = person.tablet.call("outbox", "counts")
        assert counts["refused"] == 0
        return [counts["waiting"], counts["photos"]]


@pytest.fixture(scope="module")
def static_files(tmp_path_factory, django_db_setup, django_db_blocker) -> OwnServer:
    server = OwnServer(tmp_path_factory.mktemp("served"))
    with django_db_blocker.unblock():
        server.collect()
    return server


@pytest.fixture
def served(static_files, transactional_db) -> Iterator[OwnServer]:
    static_files.start()
    yield static_files
    static_files.kill()


@pytest.fixture
def line(served) -> Iterator[BadLine]:
    line = BadLine(served.port)
    yield line
    line.close()


@pytest.fixture
def person(chromium: Browser, served, line, settings):
    """``person("wren")``: signed in by the login page, with a tablet whose worker is ready."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.PBKDF2PasswordHasher"]
    contexts: list[BrowserContext] = []

    def signed_in(username: str) -> Person:
        inspector = user_with(Role.INSPECTOR, username)
        inspector.set_password(PASSWORD)
        inspector.save()
        context = chromium.new_context(base_url=line.url, viewport=TABLET)
        contexts.append(context)
        someone = Person(context, served)
        someone.open()
        someone.tablet.page.evaluate("navigator.serviceWorker.ready.then(() => null)")
        someone.sign_in(username)
        return someone

    yield signed_in
    for context in contexts:
        context.close()


@pytest.mark.parametrize("seed", [1, 2])
def test_a_day_with_faults_loses_nothing_and_sends_nothing_twice(person, line, served, camera, seed) -> None:
    park = ParkFactory(code="LG")
    trees = [TreeFactory(park=park).pk for _ in range(TREES)]
    day = Day(random.Random(seed), line, served, person("wren"), person("bo"), trees, camera)
    day.pass_by()
    day.evening()

    assert dict(day.faults) == FAULTS
    assert sum(day.faults.values()) == 40
    assert len(day.made) == RECORDS
    assert {str(record.pk): record.payload["note"] for record in FieldRecord.objects.all()} == day.made
    assert {str(look.pk): look.note for look in Inspection.objects.all()} == day.made
    expected = {photo: day.ids[draft] for photo, draft in day.photos.items()}
    assert {str(photo.pk): str(photo.about) for photo in Photo.objects.all()} == expected
    assert len(expected) >= 40
