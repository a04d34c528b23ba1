"""``manage.py demo [--no-serve]``: an invented city, the main job walked once, and the pages on this machine."""

import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from config.demo import city, crews, looks, mitigation, people, season, told, walk, works
from config.demo.files import Calendar, table
from config.demo.serve import serve
from inventory.record import Actor


class Command(BaseCommand):
    help = "Set up the invented city of Alderquay, walk the main job once, and serve the pages on this machine."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="end after the walk")

    def handle(self, *args: Any, **options: Any) -> None:
        if strangers := city.other_parks():
            raise CommandError(
                f"This database holds parks that are not Alderquay's ({strangers}). The demo does not mix with a city's "
                "own data: set HINGEWOOD_DATA_DIR to an empty folder, or DATABASE_URL to an empty database."
            )
        self._prepare()
        by = self._load()
        self._say("Now the walk: one tree, from the inspection to its successor.")
        walk.walk(by, self._say)
        self._say_logins()
        if not options["no_serve"]:
            try:
                sys.exit(serve(self._say))
            except RuntimeError as error:
                raise CommandError(str(error)) from error

    def _prepare(self) -> None:
        call_command("migrate", interactive=False, verbosity=0)
        self._say("The database is ready.")
        call_command("collectstatic", interactive=False, verbosity=0)
        self._say("Styles and scripts are collected.")

    def _load(self) -> dict[str, Actor]:
        calendar = Calendar(timezone.localdate())
        self._say(city.load_ground())
        by = people.load_people()
        self._say(f"{len(by)} people, each with a role.")
        self._say(city.load_trees(by["selma"]))
        self._say(f"{looks.load_targets(by['wren'])} targets: ways, play places, benches, roads, buildings.")
        self._say_loaded(looks.load_inspections(by, calendar), "inspections over three years")
        self._say(f"{crews.load_workers(by, calendar)} workers with their tickets.")
        self._say_loaded(works.load_orders(by, calendar), "removal orders in every state")
        self._say_loaded(mitigation.load_mitigation(by, calendar), "orders for pruning, cables and the like")
        self._say_loaded(works.load_replacements(by, calendar), "replacements in every state")
        self._say_loaded(season.load_season(by, calendar), "trees ordered for a planting season")
        self._say_loaded(season.load_weeks_of_rain(by, calendar), "days of rain")
        self._say_loaded(told.load_concerns(by, calendar), "concerns that people have told")
        self._say_loaded(told.load_storm(by, calendar), "finds of a storm")
        return by

    def _say_loaded(self, count: int, what: str) -> None:
        self._say(f"{count} {what}." if count else f"There already: {what}.")

    def _say_logins(self) -> None:
        self._say(f"Log in with the password {people.password()} as one of:")
        for row in table("people.csv"):
            self._say(f"  {row['login']:<8} {row['role']:<14} {row['name']}")

    def _say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()
