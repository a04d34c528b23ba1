"""`manage.py felling_plan --json`: one felling plan from standard input, as JSON on standard output."""

import json
import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from removals.felling import plan
from removals.felling_input import FellingInput
from removals.felling_json import input_from_json, result_to_json

IMPOSSIBLE = 2


class Command(BaseCommand):
    help = (
        "Computes a felling plan from one JSON object on standard input. Exits with 2 and one sentence a field "
        "on standard error when the input is missing or impossible."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--json", action="store_true", required=True, help="read and print JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        inp = _input_from(sys.stdin.read())
        if isinstance(inp, list):
            self.stderr.write("\n".join(inp))
            sys.exit(IMPOSSIBLE)
        self.stdout.write(json.dumps(result_to_json(plan(inp)), indent=2, ensure_ascii=False))


def _input_from(text: str) -> FellingInput | list[str]:
    try:
        return input_from_json(json.loads(text))
    except (ValueError, RecursionError) as problem:
        return [f"Standard input is not JSON: {problem}."]
