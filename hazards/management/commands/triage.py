"""The ranked trees: ``manage.py triage --park ALB --limit 20``."""

import json
import textwrap
from argparse import ArgumentParser, ArgumentTypeError
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from hazards.models import Standing
from hazards.workflow import restand_stale
from inventory.models import Park

REASON_WIDTH = 90


@dataclass(frozen=True)
class Row:
    """``due`` is an ISO date, or None when no work is due before the next inspection."""

    tag: str
    park: str
    rating: str
    reason: str
    due: str | None


def positive(text: str) -> int:
    if not text.isdigit() or int(text) == 0:
        raise ArgumentTypeError(f"“{text}” is not a number of rows; write 1 or more")
    return int(text)


def ranked(park_code: str | None, limit: int | None) -> list[Row]:
    """The rated standing trees, most urgent first. Raises CommandError for a code that no park has."""
    standings = Standing.objects.ranked()
    if park_code is not None:
        standings = standings.filter(park=park_with(park_code))
    values = standings.values_list("tree__tag", "park__code", "rating", "reason", "work_due")
    return [
        Row(tag, park, rating, reason, due.isoformat() if due else None)
        for tag, park, rating, reason, due in values[:limit]
    ]


def park_with(code: str) -> Park:
    if park := Park.objects.filter(code=code.upper()).first():
        return park
    known = list(Park.objects.values_list("code", flat=True)[:20])
    raise CommandError(f"No park has the code “{code}”; the codes are {', '.join(known) or 'none yet'}.")


def table(rows: Iterable[Row]) -> Iterable[str]:
    rows = list(rows)
    tags = max([3, *(len(row.tag) for row in rows)])
    parks = max([4, *(len(row.park) for row in rows)])
    line = f"{{:<{tags}}}  {{:<{parks}}}  {{:<8}}  {{:<10}}  {{}}"
    yield line.format("Tag", "Park", "Rating", "Work due", "Why")
    for row in rows:
        first, *rest = textwrap.wrap(row.reason, REASON_WIDTH)
        yield line.format(row.tag, row.park, row.rating, row.due or "–", first)
        yield from (line.format("", "", "", "", more) for more in rest)


class Command(BaseCommand):
    help = "List the rated standing trees, the most urgent first, each with its reason and the day its work is due."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--park", metavar="CODE", help="only the trees of this park")
        parser.add_argument("--limit", metavar="N", type=positive, help="only the first N trees")
        parser.add_argument("--json", action="store_true", help="print a JSON array of tag, park, rating, reason, due")

    def handle(self, *args: Any, **options: Any) -> None:
        restand_stale()
        rows = ranked(options["park"], options["limit"])
        if options["json"]:
            self.stdout.write(json.dumps([asdict(row) for row in rows], ensure_ascii=False, indent=1))
            return
        if not rows:
            self.stdout.write("No standing tree is rated yet.")
            return
        for line in table(rows):
            self.stdout.write(line.rstrip())
