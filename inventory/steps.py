"""What every step of every floor shares: who may, words and days as they are given, how a sentence names a day or a person."""

from __future__ import annotations

import datetime as dt
import textwrap

from django.contrib.auth.models import User
from django.utils import timezone

from inventory.access import Permission, allowed
from inventory.errors import Refused
from inventory.record import Actor

# A tablet's clock may run a little ahead of ours; so much off is what any tablet's is.
CLOCK_GRACE = dt.timedelta(minutes=10)
EARLIEST = dt.datetime(1950, 1, 1, tzinfo=dt.UTC)


def permit(by: Actor, permission: Permission) -> None:
    """A person needs the permission; the program itself acts only from the terminal."""
    if by.user is None:
        if by.via != "command":
            raise Refused("Nobody is named who does this; sign in first.")
    elif not allowed(by.user, permission):
        raise Refused(f"{by.name} may not {permission.value}; ask somebody whose role does.")


def said(text: str, otherwise: str, limit: int = 400) -> str:
    text = text.strip()
    if not text:
        raise Refused(otherwise)
    if len(text) > limit:
        raise Refused(f"Up to {limit} characters, please; this has {len(text)}.")
    return text


def past(on: dt.date | None, *, since: dt.date | None = None) -> dt.date:
    """The day of something that has happened: today unless given, not in the future, not before what led to it."""
    today = timezone.localdate()
    if on is None:
        return today
    if on > today:
        raise Refused(f"{day_words(on)} lies in the future; give the day on which it happened.")
    if since and on < since:
        raise Refused(f"{day_words(on)} is before {day_words(since)}, the step that this one follows.")
    return on


def moment(at: dt.datetime | None) -> dt.datetime:
    now = timezone.now()
    if at and at > now:
        raise Refused(f"{at:%Y-%m-%d %H:%M} lies in the future; give the time at which it happened.")
    return at or now


def moment_told(at: dt.datetime | None) -> dt.datetime:
    """Now unless given; a tablet's clock may run a little ahead, and never makes a time that is to come."""
    now = timezone.now()
    if at is None:
        return now
    if not EARLIEST <= at <= now + CLOCK_GRACE:
        raise Refused(
            f"{timezone.localtime(at):%Y-%m-%d %H:%M} is not a time that has passed; give the time it happened."
        )
    return min(at, now)


def name_of(user: User) -> str:
    return str(user.get_full_name() or user.get_username())


def day_words(day: dt.date | None) -> str:
    return "an unknown day" if day is None else f"{day:%-d %b %Y}"


def short(text: str, limit: int) -> str:
    return textwrap.shorten(text, limit, placeholder="…")
