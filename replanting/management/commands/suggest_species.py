"""`manage.py suggest_species --json`: the taxa for a place from standard input, as JSON on standard output."""

import json
import sys
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.palette_file import PaletteProblem, read_palette
from replanting.fit import Traits
from replanting.palette import Request, suggest
from replanting.site import traits_from
from replanting.site_json import request_from_json, suggestion_to_json

IMPOSSIBLE = 2


class Command(BaseCommand):
    help = (
        "Reads a site as one JSON object on standard input and prints the taxa that may stand there by score, and the others "
        "with the reason. The palette is read from its file: no table of the database is asked. Exits with 2 and one "
        "sentence a field on standard error when the input is missing or impossible."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--json", action="store_true", required=True, help="read and print JSON")
        parser.add_argument(
            "--palette", type=Path, default=settings.BASE_DIR / "fixtures" / "species.csv", help="another palette file"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        taxa = _taxa(options["palette"])
        request = _request_from(sys.stdin.read(), taxa)
        if isinstance(request, list):
            self.stderr.write("\n".join(request))
            sys.exit(IMPOSSIBLE)
        out = suggestion_to_json(request, suggest(request, taxa))
        self.stdout.write(json.dumps(out, indent=2, ensure_ascii=False))


def _taxa(path: Path) -> list[Traits]:
    try:
        with open(path, encoding="utf-8-sig", newline="") as file:
            return [traits_from(row) for row in read_palette(file)]
    except (OSError, PaletteProblem) as problem:
        raise CommandError(str(problem)) from problem


def _request_from(text: str, taxa: list[Traits]) -> Request | list[str]:
    try:
        return request_from_json(json.loads(text), taxa)
    except (ValueError, RecursionError) as problem:
        return [f"Standard input is not JSON: {problem}."]
