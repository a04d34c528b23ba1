"""Twenty tablets that send inspections at once to a served program on this machine, in a database of its own.

Inspections cannot be taken away again, so the run makes a database, serves it on the loopback and drops it. Bounded: each
tablet sends a fixed number of records.
"""

from __future__ import annotations

import http.client
import json
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlparse

from django.conf import settings
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.utils import timezone
from uuid_utils.compat import uuid7

from config.bench.timing import Timed
from config.embedded_database import database_url
from hazards.matrix import Occupancy
from hazards.models import Assessment, Defect, FieldRecord, Inspection, Target, TargetKind
from inventory.access import Role
from inventory.models import Park, RecordEntry, Tree
from inventory.workflow import give_role

DATABASE = "hingewood_bench_field"
TREES = 500
BATCH = 20
PATIENCE_S = 60
ROWS = (Inspection, Assessment, Defect, RecordEntry, FieldRecord)


@contextmanager
def own_database() -> Iterator[None]:
    """Migrated and empty; dropped at the end."""
    before = connection.settings_dict["NAME"]
    connection.settings_dict["TEST"]["NAME"] = DATABASE
    connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        yield
    finally:
        connection.creation.destroy_test_db(str(before), verbosity=0)


@contextmanager
def served(workers: int) -> Iterator[int]:
    """The program on a free port of the loopback; the port."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    address = urlparse(os.environ.get("DATABASE_URL") or database_url(settings.DATA_DIR))
    environment = {
        **os.environ,
        "DATABASE_URL": address._replace(path=f"/{DATABASE}").geturl(),
        "HINGEWOOD_HTTPS": "off",
    }
    command = ["gunicorn", "config.wsgi", "--workers", str(workers), "--threads", "4", "--bind", f"127.0.0.1:{port}"]
    server = subprocess.Popen(  # noqa: S603 - our own words
        [sys.executable, "-m", *command, "--log-level", "error"], env=environment, cwd=settings.BASE_DIR
    )
    try:
        _wait_for(port)
        yield port
    finally:
        server.terminate()
        server.wait(timeout=PATIENCE_S)


def _wait_for(port: int) -> None:
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        with socket.socket() as knock:
            if knock.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.1)
    raise RuntimeError("the server did not start")


@dataclass
class Tablet:
    """One person's session over one kept connection."""

    port: int
    session: str
    records: list[dict[str, Any]]

    def send_all(self) -> int:
        """How many were stored."""
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE_S)
        headers = self._headers(line)
        stored = 0
        for start in range(0, len(self.records), BATCH):
            body = {
                "schema": 1,
                "device": "bench",
                "clock_offset_ms": 0,
                "records": self.records[start : start + BATCH],
            }
            line.request("POST", "/field/records", json.dumps(body), headers)
            results = json.load(line.getresponse())["results"]
            stored += sum(result["status"] == "stored" for result in results)
        line.close()
        return stored

    def _headers(self, line: http.client.HTTPConnection) -> dict[str, str]:
        cookie = f"{settings.SESSION_COOKIE_NAME}={self.session}"
        line.request("GET", "/field/hello", headers={"Cookie": cookie})
        answer = line.getresponse()
        token = (answer.getheader("Set-Cookie") or "").split(f"{settings.CSRF_COOKIE_NAME}=")[1].split(";")[0]
        csrf = json.load(answer)["csrf"]
        cookies = f"{cookie}; {settings.CSRF_COOKIE_NAME}={token}"
        return {"Cookie": cookies, "X-CSRFToken": csrf, "Content-Type": "application/json"}


def _park() -> tuple[list[int], int]:
    park = Park.objects.create(code="BENCH", name="Bench")
    trees = Tree.objects.bulk_create(Tree(tag=f"BN{n:05d}", park=park, dbh_cm=40, height_m=15) for n in range(TREES))
    target = Target.objects.create(park=park, name="path", kind=TargetKind.PATH, occupancy=Occupancy.CONSTANT.value)
    return [tree.pk for tree in trees], target.pk


def _record(tree: int, target: int) -> dict[str, Any]:
    now = timezone.now().isoformat()
    found = {"part": "trunk", "kind": "cavity", "value": 30, "unit": "%"}
    rated = {"part": "union", "failure_mode": "splitting", "failure": "possible", "target": target, "impact": "high",
             "exposure": "fully exposed", "consequences": "severe"}  # fmt: skip
    payload = {"tree": tree, "observed_at": now, "level": 2, "condition": "fair", "dbh_cm": 41.0, "note": "Seen.",
               "defects": [found], "assessments": [rated]}  # fmt: skip
    return {"id": str(uuid7()), "kind": "inspection", "recorded_at": now, "payload": payload}


def _tablet(port: int, number: int, records: list[dict[str, Any]]) -> Tablet:
    user = User.objects.create_user(f"bench-{number}")
    give_role(user, Role.INSPECTOR)
    client = Client()
    client.force_login(user)
    return Tablet(port, client.cookies[settings.SESSION_COOKIE_NAME].value, records)


def sent_at_once(*, tablets: int, each: int, workers: int) -> tuple[Timed, Timed]:
    """All tablets over trees that they share; then the same rows put in by INSERT alone, a transaction a record."""
    with own_database():
        trees, target = _park()
        with served(workers) as port:
            outboxes = [[_record(trees[(n + k * 7) % TREES], target) for k in range(each)] for n in range(tablets)]
            ready = [_tablet(port, n, outbox) for n, outbox in enumerate(outboxes)]
            start = time.perf_counter()
            with ThreadPoolExecutor(tablets) as pool:
                stored = sum(pool.map(Tablet.send_all, ready))
            seconds = time.perf_counter() - start
        if stored != tablets * each or Inspection.objects.count() != stored:
            raise RuntimeError(
                f"{stored} of {tablets * each} records were stored; a bench that loses some measures nothing"
            )
        raw = Timed("baseline: INSERT of the same rows, one connection", (_inserted_again(),), stored)
    return raw, Timed(f"inspections sent by {tablets} tablets at once", (seconds,), stored)


def _inserted_again() -> float:
    """Seconds for the rows of all records, into bare tables, one statement a row and one commit a record."""
    with connection.cursor() as cursor:
        rows = {model._meta.db_table: _rows(cursor, model._meta.db_table) for model in ROWS}
        count = len(rows[Inspection._meta.db_table])
        start = time.perf_counter()
        for number in range(count):
            cursor.execute("BEGIN")
            for table, found in rows.items():
                if number < len(found):
                    marks = ", ".join(["%s"] * len(found[number]))
                    cursor.execute(f"INSERT INTO bare_{table} VALUES ({marks})", found[number])  # noqa: S608
            cursor.execute("COMMIT")
        return time.perf_counter() - start


def _rows(cursor: Any, table: str) -> list[tuple[Any, ...]]:
    """As text, which every column takes back."""
    cursor.execute(f"CREATE TABLE bare_{table} (LIKE {table})")
    columns = [column.name for column in connection.introspection.get_table_description(cursor, table)]
    texts = ", ".join(f'"{name}"::text' for name in columns)
    cursor.execute(f"SELECT {texts} FROM {table}")  # noqa: S608 - our own names
    return list(cursor.fetchall())
