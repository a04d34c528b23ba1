"""``manage.py give_role LOGIN ROLE``: put a person into a role."""

from typing import Any

from django.contrib.auth.models import User
from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.access import Role
from inventory.workflow import give_role


class Command(BaseCommand):
    help = "Give a person a role: " + ", ".join(role.value for role in Role) + "."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("login")
        parser.add_argument("role", type=Role, choices=list(Role), metavar="role", help="for example: inspector")

    def handle(self, *args: Any, **options: Any) -> None:
        person = User.objects.filter(username=options["login"]).first()
        if person is None:
            raise CommandError(f"Nobody signs in as {options['login']}; add the person first.")
        give_role(person, options["role"])
        self.stdout.write(f"{person.username} is {options['role'].value}.")
