"""Strength left in a hollow stem: ``echo '{"diameter_cm": 60, "shell_cm": 9}' | manage.py strength``."""

import json
import sys
from argparse import ArgumentParser
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from hazards.strength import CAUTIONS, Hollow, Strength, strength

KEYS = {"diameter_cm", "shell_cm", "decay_diameter_cm", "opening"}
EXAMPLE = '{"diameter_cm": 60, "shell_cm": 9, "opening": 0.1}'


def hollow_from(text: str) -> Hollow:
    """Raises CommandError with one sentence that says what would be right."""
    try:
        given = json.loads(text)
    except ValueError:
        raise CommandError(f"Standard input is not JSON; write for example {EXAMPLE}.", returncode=2) from None
    if not isinstance(given, dict) or not given.keys() <= KEYS or "diameter_cm" not in given:
        raise CommandError(f"Give diameter_cm, shell_cm or decay_diameter_cm, and opening: {EXAMPLE}.", returncode=2)
    if ("shell_cm" in given) == ("decay_diameter_cm" in given):
        raise CommandError("Give either shell_cm or decay_diameter_cm, one of the two.", returncode=2)
    values = {name: _number(name, value) for name, value in given.items()}
    try:
        return Hollow.with_shell(**values) if "shell_cm" in values else Hollow(**values)
    except ValueError as error:
        raise CommandError(str(error)) from None


def _number(name: str, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise CommandError(f"{name} is {value!r}; give a number.", returncode=2)
    return float(value)


def sentences(found: Strength) -> Iterator[str]:
    ratio = "no figure with an opening" if found.shell_ratio is None else f"{found.shell_ratio:.2f}"
    yield f"Loss by Wagener {found.wagener_pct:.1f} %, by Coder {found.coder_pct:.1f} %."
    yield f"With the opening, by Smiley & Fraedrich {found.open_cavity_pct:.1f} %."
    yield f"Shell over radius: {ratio}. 1 in of sound wood for each 6 in: {'yes' if found.shell_rule_met else 'no'}."
    yield from found.flags or ("No line is reached.",)
    yield from ("", *CAUTIONS)


class Command(BaseCommand):
    help = f"Read a hollow stem as JSON from standard input, for example {EXAMPLE}, and say what strength it has lost."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        found = strength(hollow_from(sys.stdin.read()))
        if options["json"]:
            self.stdout.write(json.dumps(asdict(found), ensure_ascii=False))
            return
        for sentence in sentences(found):
            self.stdout.write(sentence)
