"""Work out the ranking again, after the species' flags or the program itself changed: ``manage.py restand``."""

from typing import Any

from django.core.management.base import BaseCommand

from hazards.workflow import restand_city


class Command(BaseCommand):
    help = "Work out the rating, the place in the ranking and the due dates of every inspected standing tree again."

    def handle(self, *args: Any, **options: Any) -> None:
        changed = restand_city()
        self.stdout.write(f"{changed} tree{'' if changed == 1 else 's'} changed.")
