"""``manage.py load_rain FILE``: rain by day, for the city or by park, from a CSV."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.errors import Refused
from inventory.record import COMMAND
from replanting.weather import load_rain, read_rain


class Command(BaseCommand):
    help = (
        "Load rain by day: a CSV with the columns day and mm (or inches), and park (a code) where a park has a gauge."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            with options["file"].open(encoding="utf-8-sig", newline="") as file:
                count = load_rain(by=COMMAND, rows=read_rain(file))
        except (OSError, UnicodeDecodeError, Refused) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{count} days of rain are loaded.")
