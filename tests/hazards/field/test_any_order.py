"""Whatever the order and however often records arrive: each is stored once, and the trees end the same."""

import itertools
import random
import threading
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from hazards.models import Inspection, Standing
from inventory.access import Role
from inventory.models import Photo
from tests.factories import ParkFactory, TreeFactory, user_with
from tests.hazards.factories import TargetFactory
from tests.hazards.field.sending import assessment, at, inspection, photo, picture, send, statuses

LOOKS = [  # hours ago, condition, diameter, likelihood of failure
    (30, "fair", 40.0, "possible"),
    (20, "dead", None, "probable"),
    (9, "poor", 44.5, "imminent"),
    (3, "dead", 43.0, None),
]


class AnyOrder(TestCase):
    @settings(max_examples=12)
    @given(st.permutations(range(len(LOOKS) + 1)), st.lists(st.integers(0, len(LOOKS)), max_size=4), st.booleans())
    def test_any_order_and_any_repetition_end_the_same(self, order, again, one_request):
        client, tree, records = self.story()
        for number in [*order, *again] if not one_request else [None]:
            send(client, *([records[number]] if number is not None else [records[n] for n in [*order, *again]]))
        send(client, *records)
        assert Inspection.objects.count() == len(records)
        tree.refresh_from_db()
        assert (tree.dbh_cm, tree.condition, tree.status) == (43.0, "dead", "dead standing")
        standing = Standing.objects.get(tree=tree)
        assert (standing.rating, str(standing.inspection_id)) == ("moderate", records[4]["id"])

    def story(self):
        user = user_with(Role.INSPECTOR)
        client = Client()
        client.force_login(user)
        tree = TreeFactory(park=ParkFactory(code="LG"))
        target = TargetFactory(park=tree.park)
        records = [
            inspection(
                tree,
                *([assessment(target, failure=failure)] if failure else []),
                observed_at=at(hours),
                condition=condition,
                dbh_cm=dbh_cm,
            )
            for hours, condition, dbh_cm, failure in LOOKS
        ]
        # The look of nine hours ago was wrong: the limb is only possible to fail.
        right = assessment(target, failure="possible")
        corrected = {**records[2]["payload"], "supersedes": records[2]["id"], "assessments": [right]}
        return client, tree, [*records, inspection(tree) | {"payload": corrected}]


@pytest.mark.django_db(transaction=True)
def test_twenty_tablets_on_the_same_trees_neither_wait_in_a_circle_nor_lose_anything():
    """Each sends the same few trees in another order, in batches, all at once."""
    park = ParkFactory(code="LG")
    trees, target = TreeFactory.create_batch(4, park=park), TargetFactory(park=park)
    users = [user_with(Role.INSPECTOR, f"inspector-{n}") for n in range(20)]
    answers: list[str] = []
    start = threading.Barrier(len(users))

    def work(user: User, seed: int) -> None:
        client, mixed = Client(), random.Random(seed).sample(trees, len(trees))
        client.force_login(user)
        records = [inspection(tree, assessment(target)) for tree in mixed]
        start.wait(timeout=30)
        answers.extend(statuses(send(client, *records)))
        connection.close()

    threads = [threading.Thread(target=work, args=(user, n)) for n, user in enumerate(users)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert answers == ["stored"] * 80
    assert Inspection.objects.count() == 80


@pytest.mark.django_db(transaction=True)
def test_one_record_sent_twice_at_the_same_moment_is_stored_once():
    tree, user = TreeFactory(), user_with(Role.INSPECTOR)
    sent, answers = inspection(tree), []
    start = threading.Barrier(4)

    def work() -> None:
        client = Client()
        client.force_login(user)
        start.wait(timeout=30)
        answers.extend(statuses(send(client, sent)))
        connection.close()

    threads = [threading.Thread(target=work) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert sorted(answers) == ["known", "known", "known", "stored"]
    assert Inspection.objects.count() == 1


# ---- A thousand records through a bad line ---------------------------------------------------------------------------

RECORDS, PHOTOS_EVERY, TREES = 1_000, 20, 150


class BadLine:
    """Two tablets and what goes wrong between them and the server; the same every time for one seed."""

    def __init__(self, seed: int, users: list[User], monkeypatch: pytest.MonkeyPatch) -> None:
        self.dice = random.Random(seed)
        self.clients = [Client() for _ in users]
        self.users, self.faults = users, dict.fromkeys(("lost", "twice", "mixed", "server", "login", "part"), 0)
        for client, user in zip(self.clients, users, strict=True):
            client.force_login(user)
        self._fail_in_the_middle(monkeypatch)

    def _fail_in_the_middle(self, monkeypatch: pytest.MonkeyPatch) -> None:
        from hazards.field import kinds

        real, self.broken = kinds.record_inspection, False

        def failing(**told: Any) -> Inspection:
            stored = real(**told)
            if self.broken and self.dice.random() < 0.3:
                raise RuntimeError("the server was stopped")
            return stored

        monkeypatch.setattr(kinds, "record_inspection", failing)

    def happens(self, fault: str, chance: float) -> bool:
        found = self.dice.random() < chance
        self.faults[fault] += found
        return found

    def send(self, n: int, batch: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """The results that reach the tablet; none when the answer is lost or the login has ended."""
        if self.happens("login", 0.05):
            self.clients[n].logout()
            answer = self.clients[n].post("/field/records", "{}", content_type="application/json")
            assert answer.status_code == 401
            self.clients[n].force_login(self.users[n])
            return []
        if self.happens("mixed", 0.2):
            self.dice.shuffle(batch)
        if self.happens("part", 0.1):
            batch = batch[: len(batch) // 2]
        if self.happens("twice", 0.1):
            send(self.clients[n], *batch)
        self.broken = self.happens("server", 0.1)
        results = send(self.clients[n], *batch)
        self.broken = False
        return [] if self.happens("lost", 0.15) else results

    def day(self, n: int, outbox: list[dict[str, Any]], pictures: dict[str, bytes]) -> None:
        """Until the outbox is empty: a record leaves it only when an answer names it."""
        while outbox:
            for result in self.send(n, outbox[:25]):
                assert result["status"] in {"stored", "known", "trouble"}, result
                if result["status"] != "trouble":
                    outbox[:] = [record for record in outbox if record["id"] != result["id"]]
        for record, content in pictures.items():
            told = photo(self.clients[n], record, content)
            assert told.status_code == 200, told.content
            if self.happens("lost", 0.3):
                again = photo(self.clients[n], record, content, id=told.json()["id"])
                assert again.json()["status"] == "known"


def test_a_thousand_records_through_a_bad_line_end_as_a_thousand_inspections(db, monkeypatch):
    """Two tablets, half of the trees looked at by both; faults by a fixed seed."""
    park = ParkFactory(code="LG")
    trees, target = TreeFactory.create_batch(TREES, park=park), TargetFactory(park=park)
    line = BadLine(1, [user_with(Role.INSPECTOR, name) for name in ("wren", "ash")], monkeypatch)
    walks = itertools.cycle([trees[:100], trees[50:]])
    outboxes: list[list[dict[str, Any]]] = [[], []]
    for number, walk in zip(range(RECORDS), walks, strict=False):
        picks = [assessment(target)] if number % 10 == 0 else []
        outboxes[number % 2].append(inspection(walk[number // 2 % 100], *picks, observed_at=at(1 + number / 500)))
    for n, outbox in enumerate(outboxes):
        named = [record["id"] for record in outbox[::PHOTOS_EVERY]]
        line.day(n, outbox, {id: picture(n * 500 + k * 3) for k, id in enumerate(named)})
    assert all(line.faults.values()), line.faults
    assert sum(line.faults.values()) >= 40
    assert Inspection.objects.count() == RECORDS
    assert Photo.objects.count() == Photo.objects.values("about").distinct().count() == RECORDS // PHOTOS_EVERY
    assert Standing.objects.filter(inspected_on__isnull=False).count() == TREES
