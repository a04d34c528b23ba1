"""``manage.py load_palette [FILE]``: bring the species of the palette up to date; harmless to repeat."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from inventory.palette_file import PaletteProblem, read_palette
from inventory.record import COMMAND
from inventory.workflow import load_palette


class Command(BaseCommand):
    help = "Load the species palette, or bring it up to date from a changed file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", nargs="?", type=Path, default=settings.BASE_DIR / "fixtures" / "species.csv")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            with open(options["file"], encoding="utf-8-sig", newline="") as file:
                taxa = read_palette(file)
        except (OSError, PaletteProblem) as error:
            raise CommandError(str(error)) from error
        changed = load_palette(by=COMMAND, taxa=taxa)
        self.stdout.write(f"{len(taxa)} taxa in the palette, {changed} new or changed.")
