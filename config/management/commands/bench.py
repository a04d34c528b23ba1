"""``manage.py bench``: how fast the import and the lists are on this machine, beside what the machine itself can do.

``manage.py bench field`` serves the program in a database of its own and lets twenty tablets send to it at once. Otherwise
everything happens in one transaction that is rolled back; the database keeps nothing of it. Other work on the machine
shows in the spread, so quote the medians with the baselines of the same run.
"""

import tempfile
from argparse import ArgumentParser
from collections.abc import Callable
from dataclasses import replace
from itertools import cycle
from pathlib import Path
from typing import Any

from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.db import connection, transaction
from django.test import Client
from django.urls import reverse

from config.bench.city import HEADER, look_at_all, rate_all, tree_rows, write_tree_file
from config.bench.field import sent_at_once
from config.bench.timing import Timed, timed
from hazards.city_policy import rework_the_city
from hazards.models import Standing
from hazards.policy import DEFAULT
from inventory.access import Role
from inventory.importing.run import Source, import_file, plan_for
from inventory.models import ImportRun, Tree
from inventory.paging import page_of
from inventory.record import COMMAND
from inventory.workflow import give_role


class Command(BaseCommand):
    help = "Measure the import and the lists, with the machine's baseline in the same run; keeps nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("what", nargs="?", choices=["lists", "field"], default="lists")
        parser.add_argument("--tablets", type=int, default=20, help="of bench field")
        parser.add_argument("--each", type=int, default=100, help="records that each tablet sends")
        parser.add_argument("--workers", type=int, default=2, help="processes of the server")
        parser.add_argument("--trees", type=int, default=100_000)
        parser.add_argument("--runs", type=int, default=9, help="of each list, after one to warm up")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["what"] == "field":
            tablets, each = min(options["tablets"], 50), min(options["each"], 1000)
            for result in sent_at_once(tablets=tablets, each=each, workers=options["workers"]):
                self._show(result)
            return
        trees, runs = options["trees"], options["runs"]
        call_command("collectstatic", interactive=False, verbosity=0)  # the pages link to the collected files
        with tempfile.TemporaryDirectory() as folder, transaction.atomic():
            path = Path(folder) / "bench.csv"
            write_tree_file(path, trees)
            self.stdout.write(f"{trees:,} trees\n\nImport")
            self._show(
                timed("baseline: COPY of the same rows as text", lambda: copy_as_text(trees), runs=3, amount=trees)
            )
            self._show(
                once(f"import of {path.stat().st_size / 1e6:.1f} MB of CSV", lambda: bring_in(path), amount=trees)
            )
            self._show(once("the same file again: nothing changes", lambda: bring_in(path), amount=trees))
            rate_all()
            self.stdout.write("\nLists, 50 rows a page")
            for name, run in questions().items():
                self._show(timed(name, run, runs=runs))
            self.stdout.write("\nThe whole city")
            for name, (run, amount) in of_the_whole_city(trees).items():
                self._show(timed(name, run, runs=3, amount=amount))
            transaction.set_rollback(True)

    def _show(self, result: Timed) -> None:
        self.stdout.write(result.line())


def once(name: str, run: Callable[[], object], *, amount: int) -> Timed:
    """What may run only once, without a warm-up."""
    runs = iter([lambda: None, run])
    return timed(name, lambda: next(runs)(), runs=1, amount=amount)


def copy_as_text(trees: int) -> None:
    columns = ", ".join(f"c{n} text" for n in range(len(HEADER)))
    with connection.cursor() as cursor:
        cursor.execute("DROP TABLE IF EXISTS bench_copy")
        cursor.execute(f"CREATE TEMP TABLE bench_copy ({columns})")
        with cursor.copy("COPY bench_copy FROM STDIN") as copy:
            for row in tree_rows(trees):
                copy.write_row([str(value) for value in row])


def bring_in(path: Path) -> None:
    source = Source.of(path)
    plan, _ = plan_for(source, fallback="BENCH")
    outcome = import_file(by=COMMAND, run=ImportRun.objects.create(file_name=path.name), source=source, plan=plan)
    assert outcome.counts.refused == 0, outcome  # noqa: S101 - a bench that measures refusals measures nothing


def questions() -> dict[str, Callable[[], object]]:
    ranked, keys = Standing.objects.ranked().select_related("tree__species", "park"), ["triage_key", "tag"]
    deep = page_of(ranked, keys, size=5000).next
    some = list(Tree.objects.filter(tag__startswith="BN").values_list("pk", flat=True)[:50])
    client = signed_in()
    return {
        "baseline: SELECT 1": lambda: raw("SELECT 1"),
        "baseline: 50 trees by their numbers": lambda: raw("SELECT * FROM inventory_tree WHERE id = ANY(%s)", some),
        "ranking, first page": lambda: page_of(ranked, keys),
        "ranking, after 5,000 rows": lambda: page_of(ranked, keys, deep),
        "ranking of one park": lambda: page_of(ranked.filter(park__code="BENCH3"), keys),
        "page of trees, whole": lambda: shown(client, reverse("reports:trees")),
        "page of trees, one park": lambda: shown(client, reverse("reports:trees"), park="BENCH3"),
        "page of trees, text in tag or name": lambda: shown(client, reverse("reports:trees"), q="quercus prima"),
        "page of the ranking": lambda: shown(client, reverse("hazards:ranking")),
    }


def of_the_whole_city(trees: int) -> dict[str, tuple[Callable[[], object], int]]:
    """What reads or writes every rated tree; the two orders take turns, so that each run changes every key."""
    look_at_all()
    orders = cycle([DEFAULT.order[::-1], DEFAULT.order])
    client = signed_in("bench-planner")
    programme, rounds = reverse("reports:programme"), reverse("hazards:rounds")
    return {
        "a new order: every tree keyed anew": (
            lambda: rework_the_city(replace(DEFAULT, order=next(orders))),
            trees,
        ),
        "page of the programme": (lambda: shown(client, programme, suppose="on"), 1),
        "page of the rounds by park and week": (lambda: shown(client, rounds), 1),
    }


def raw(sql: str, *params: Any) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sql, params or None)
        cursor.fetchall()


def signed_in(name: str = "bench-reader") -> Client:
    user = User.objects.create_user(name)
    give_role(user, Role.READER)
    client = Client(SERVER_NAME="localhost")
    client.force_login(user)
    return client


def shown(client: Client, url: str, **asked: str) -> None:
    response = client.get(url, asked, secure=True)
    assert response.status_code == 200, response.status_code  # noqa: S101 - measures the page, not an error
