"""``manage.py import_parks FILE``: park boundaries and emergency cards from GeoJSON; harmless to repeat."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from inventory.park_file import ParkProblem, read_parks
from inventory.record import COMMAND
from inventory.workflow import put_parks


class Command(BaseCommand):
    help = "Add parks, or bring their boundaries and emergency cards up to date, from a GeoJSON file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            parks = read_parks(options["file"].read_text(encoding="utf-8-sig"))
        except (OSError, UnicodeDecodeError, ParkProblem) as error:
            raise CommandError(str(error)) from error
        changed = put_parks(by=COMMAND, parks=parks)
        self.stdout.write(f"{len(parks)} parks in the file, {changed} new or changed.")
