"""``manage.py forget_contacts``: erase the contacts of concerns whose time is over; for a daily timer."""

from typing import Any

from django.core.management.base import BaseCommand

from hazards.concerns import forget


class Command(BaseCommand):
    help = "Erase the contacts, and the photos that nobody kept with a tree, of concerns whose time is over."

    def handle(self, *args: Any, **options: Any) -> None:
        count = forget()
        self.stdout.write(f"{count} contact{'s'[: count != 1]} erased.")
