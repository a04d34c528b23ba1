"""``manage.py open311_key NAME [--end]``: make a key for Open311 and show it once, or end it."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from hazards.api_keys import end_key, make_key
from inventory.errors import Refused


class Command(BaseCommand):
    help = "Make a key for somebody who sends reports through Open311, or end it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", help="whose key it is")
        parser.add_argument("--end", action="store_true", help="end the key instead")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            if options["end"]:
                end_key(name=options["name"])
                self.stdout.write(f"The key of {options['name']} opens nothing any more.")
            else:
                self.stdout.write(make_key(name=options["name"]))
                self.stderr.write("Give it on now: only its hash is kept.")
        except Refused as refused:
            raise CommandError(str(refused)) from refused
