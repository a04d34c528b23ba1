"""A park's report for a terminal, a spreadsheet or a file to send."""

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from hazards.workflow import restand_stale
from inventory.models import Park
from reports.park import ParkReport, as_csv, as_json, park_report
from reports.park_page import as_html


def _json(report: ParkReport) -> str:
    return json.dumps(as_json(report), indent=2, ensure_ascii=False)


FORMATS = {"json": _json, "csv": as_csv, "html": as_html}


class Command(BaseCommand):
    help = "Print a park's report: trees by status, size and species, ratings, what is overdue, orders, replacements."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("code", help="the park's code")
        parser.add_argument("--format", choices=FORMATS, default="json")

    def handle(self, *args: Any, **options: Any) -> None:
        park = Park.objects.defer("boundary").filter(code=options["code"].upper()).first()
        if park is None:
            raise CommandError(f"There is no park {options['code']}; the codes are: {_codes()}.")
        restand_stale()
        self.stdout.write(FORMATS[options["format"]](park_report(park, timezone.localdate())).rstrip("\n"))


def _codes() -> str:
    return ", ".join(Park.objects.values_list("code", flat=True)[:50]) or "none yet, import trees first"
