"""The demo's people: one a role and a second inspector and crew lead, all with one password of this installation."""

from django.contrib.auth.models import User
from django.utils.crypto import salted_hmac

from config.demo.files import table
from inventory.access import Role
from inventory.record import COMMAND, Actor
from inventory.workflow import add_person, change_person

_WORDS = ("ash", "birch", "cedar", "elder", "hazel", "larch", "maple", "oak", "pine", "rowan", "spruce", "willow")


def password() -> str:
    """The same on every run of one installation, another on the next: made from the secret key, stored nowhere."""
    digest = salted_hmac("hingewood.demo", "password", algorithm="sha256").digest()
    words = "-".join(_WORDS[byte % len(_WORDS)] for byte in digest[:3])
    return f"{words}-{int.from_bytes(digest[3:7]) % 10_000_000:07d}"


def load_people() -> dict[str, Actor]:
    """Who acts, by login, from the terminal: accounts opened, or found and given the demo's password and role again."""
    known = User.objects.in_bulk(field_name="username")
    return {row["login"]: Actor(_person(row, known.get(row["login"])), via=COMMAND.via) for row in table("people.csv")}


def _person(row: dict[str, str], user: User | None) -> User:
    role = Role(row["role"])
    if user is None:
        first, _, last = row["name"].partition(" ")
        return add_person(
            by=COMMAND, username=row["login"], password=password(), first_name=first, last_name=last, roles=[role]
        )
    if not user.check_password(password()):
        change_person(by=COMMAND, person=user, roles=[role], active=True, password=password())
    return user
