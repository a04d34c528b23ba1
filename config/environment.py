"""Settings read from the environment; what cannot be right is refused with the remedy."""

import os
import zoneinfo

from django.core.exceptions import ImproperlyConfigured


def words(name: str, default: str = "") -> str:
    return os.environ.get(name, "").strip() or default


def switch(name: str, *, default: bool) -> bool:
    text = words(name).lower()
    if not text:
        return default
    if text in {"1", "on", "true", "yes"}:
        return True
    if text in {"0", "off", "false", "no"}:
        return False
    raise ImproperlyConfigured(f"{name} is “{text}”; write on or off.")


def choice(name: str, *choices: str) -> str:
    """One of the choices; the first where nothing is said."""
    text = words(name, choices[0])
    if text not in choices:
        raise ImproperlyConfigured(f"{name} is “{text}”; write {' or '.join(choices)}.")
    return text


def whole_number(name: str, default: int) -> int:
    text = words(name, str(default))
    if not text.isascii() or not text.isdigit():
        raise ImproperlyConfigured(f"{name} is “{text}”; write a whole number, for example {default}.")
    return int(text)


def time_zone(name: str, default: str) -> str:
    text = words(name, default)
    try:
        zoneinfo.ZoneInfo(text)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise ImproperlyConfigured(
            f"{name} is “{text}”; write a zone of the tz database, for example Europe/Lisbon."
        ) from error
    return text
