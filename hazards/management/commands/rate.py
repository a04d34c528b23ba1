"""Rate three picks by both tables: ``manage.py rate probable high severe``."""

import json
from argparse import ArgumentParser
from typing import Any, TypeVar

from django.core.management.base import BaseCommand, CommandError

from hazards.matrix import Consequences, Failure, Impact, Level, rate

AnyLevel = TypeVar("AnyLevel", bound=Level)


def word(text: str, levels: type[AnyLevel], name: str) -> AnyLevel:
    """The level that the trade's word names; CommandError (status 2) lists the right words otherwise."""
    try:
        return levels(" ".join(text.lower().split()))
    except ValueError:
        right = ", ".join(level.value for level in levels)
        raise CommandError(f"“{text}” is not a {name}; write one of: {right}.", returncode=2) from None


class Command(BaseCommand):
    help = "Rate a failure by the two tables of ANSI A300 Part 9 practice. Quote words with a space: “very low”."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("failure", help="likelihood of failure: improbable, possible, probable, imminent")
        parser.add_argument("impact", help="likelihood of impact: very low, low, medium, high")
        parser.add_argument("consequences", help="consequences: negligible, minor, significant, severe")
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        rated = rate(
            word(options["failure"], Failure, "likelihood of failure"),
            word(options["impact"], Impact, "likelihood of impact"),
            word(options["consequences"], Consequences, "word for the consequences"),
        )
        if options["json"]:
            answer = {"failure_and_impact": rated.failure_and_impact.value, "rating": rated.rating.value}
            self.stdout.write(json.dumps(answer))
            return
        self.stdout.write(f"Failure and impact: {rated.failure_and_impact.value}. Rating: {rated.rating.value}.")
