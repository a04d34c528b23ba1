"""Records that a tablet sends: what one is, what a kind of them must bring, and what is answered.

Each floor lists its kinds in a module of its own; ``config.field`` puts them together. The JSON Schema of a kind is the one
rule on the form of its payload: it is published, and it is what the server checks.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any
from uuid import UUID

from django.utils import timezone
from jsonschema import Draft202012Validator, FormatChecker
from jsonschema.exceptions import ValidationError

from inventory.access import Permission
from inventory.errors import Refused
from inventory.record import Actor
from inventory.steps import CLOCK_GRACE

DIALECT = "https://json-schema.org/draft/2020-12/schema"
KEY_MAX = 2**63 - 1


class Faulty(Refused):
    """A record that cannot be taken as it is; ``errors``: a sentence by field, as the payload names it."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__(next(iter(errors.values())))
        self.errors = dict(errors)


class NotYet(Exception):
    """The record names another that has not arrived; it is taken when it comes again after that one."""


@dataclass(frozen=True)
class Sent:
    """``recorded_at``: by the tablet's clock; ``clock_offset_ms``: server minus tablet when they last spoke."""

    id: UUID
    kind: str
    recorded_at: dt.datetime
    device: str
    clock_offset_ms: int | None
    payload: Mapping[str, Any]

    @property
    def offset(self) -> dt.timedelta:
        """What is added to the tablet's times: nothing while its clock is about right."""
        offset = dt.timedelta(milliseconds=self.clock_offset_ms or 0)
        return offset if abs(offset) > CLOCK_GRACE else dt.timedelta()

    @property
    def happened_at(self) -> dt.datetime:
        """When it was recorded, put right, never after now."""
        return min(self.moment(self.recorded_at), timezone.now())

    def moment(self, told: dt.datetime) -> dt.datetime:
        """A time of the tablet's clock, put right; what would lie in the future even so is as of now."""
        now = timezone.now()
        right = self._right(told)
        return now if right > now + CLOCK_GRACE else right

    def clock_flags(self, *told: dt.datetime) -> tuple[str, ...]:
        """What a reader of the record should know of its times, a sentence each."""
        return tuple(self._clock_flags((self.recorded_at, *told)))

    def _right(self, told: dt.datetime) -> dt.datetime:
        try:
            return told + self.offset
        except OverflowError:
            raise Faulty(
                {"recorded_at": "The time of this record lies outside the calendar; set the tablet's clock."}
            ) from None

    def _clock_flags(self, told: tuple[dt.datetime, ...]) -> Iterator[str]:
        if self.offset:
            way = "slow" if self.offset > dt.timedelta() else "fast"
            yield f"The tablet's clock was {_duration(abs(self.offset))} {way}; its times were put right by that."
        if any(self._right(each) > timezone.now() + CLOCK_GRACE for each in told):
            yield "By the tablet's clock this lies in the future; the time of arrival was taken instead."


def _duration(offset: dt.timedelta) -> str:
    minutes = round(offset.total_seconds() / 60)
    days, hours = minutes // 1440, minutes % 1440 // 60
    words = [f"{days} d"] * bool(days) + [f"{hours} h"] * bool(hours) + [f"{minutes % 60} min"] * (not days)
    return " ".join(words)


@dataclass(frozen=True)
class Stored:
    """``number`` and ``url``: what people call it and where they read it; ``made``: fields of the kept record."""

    number: str
    url: str = ""
    flags: tuple[str, ...] = ()
    made: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Kind:
    """One kind of record. ``store`` runs in a transaction of its own and raises Refused, Faulty or NotYet."""

    name: str
    schema: Mapping[str, Any]
    permission: Permission
    store: Callable[[Actor, Sent], Stored]

    @cached_property
    def published(self) -> dict[str, Any]:
        return {"$schema": DIALECT, "title": self.name, **self.schema}

    @cached_property
    def _validator(self) -> Draft202012Validator:
        return Draft202012Validator(self.published, format_checker=FORMATS)

    def errors(self, payload: Any) -> dict[str, str]:
        """What is wrong with the form of a payload, a sentence by field; empty when it fits the schema."""
        found = (
            [("", NOT_TEXT)]
            if not is_storable(payload)
            else [_told(each) for each in self._validator.iter_errors(payload)]
        )
        return dict(reversed(found))


# ---- Form ------------------------------------------------------------------------------------------------------------

NOT_TEXT = "The record holds signs that are no text; type the words anew."
_FORMAT_WORDS = {"date-time": "time with its zone", "date": "day, like 2026-05-04", "uuid": "record's id"}


def _is_moment(value: object) -> bool:
    return not isinstance(value, str) or dt.datetime.fromisoformat(value).tzinfo is not None


def _is_day(value: object) -> bool:
    return not isinstance(value, str) or bool(dt.date.fromisoformat(value))


def _is_uuid(value: object) -> bool:
    return not isinstance(value, str) or str(UUID(value)) == value


FORMATS = FormatChecker(formats=())
for _name, _check in (("date-time", _is_moment), ("date", _is_day), ("uuid", _is_uuid)):
    FORMATS.checks(_name, raises=ValueError)(_check)


def canonical(value: Any) -> str:
    """The same text for the same content, whatever the order of its keys."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def digest(*parts: Any) -> str:
    return hashlib.sha256(canonical(parts).encode()).hexdigest()


def is_storable(value: Any) -> bool:
    """Without zero bytes and halves of signs, which the database cannot keep."""
    return not re.search(r"\\u0000|[\ud800-\udfff]", canonical(value))


def _told(error: ValidationError) -> tuple[str, str]:
    path = [str(step) for step in error.absolute_path]
    if error.validator == "required":
        path.append(next(name for name in error.validator_value if name not in error.instance))
        return ".".join(path), f"“{path[-1]}” is missing."
    return ".".join(path), _SENTENCES.get(str(error.validator), _plain)(error)


def _shown(error: ValidationError) -> str:
    return f"“{error.instance}”"[:60] if isinstance(error.instance, str | int | float) else "This"


def _plain(error: ValidationError) -> str:
    return f"{_shown(error)} does not fit here; see the schema of this kind of record."


_TYPES = {"string": "a text", "number": "a number", "integer": "a whole number", "boolean": "yes or no",
          "array": "a list", "object": "a group of fields", "null": "nothing"}  # fmt: skip


def _type(error: ValidationError) -> str:
    wanted = error.validator_value if isinstance(error.validator_value, list) else [error.validator_value]
    return f"{_shown(error)} does not fit; it is {' or '.join(_TYPES[each] for each in wanted)}."


_SENTENCES: dict[str, Callable[[ValidationError], str]] = {
    "type": _type,
    "enum": lambda error: (
        f"{_shown(error)} is not known; it is one of {', '.join(str(each) or 'nothing' for each in error.validator_value)}."
    ),
    "minimum": lambda error: f"{error.instance:g} is too small; it is at least {error.validator_value:g}.",
    "maximum": lambda error: f"{error.instance:g} is too large; it is at most {error.validator_value:g}.",
    "exclusiveMinimum": lambda error: f"{error.instance:g} is too small; it is more than {error.validator_value:g}.",
    "minLength": lambda error: "Say it in words; it is empty.",
    "pattern": lambda error: "Say it in words; it is empty.",
    "maxLength": lambda error: f"{len(error.instance)} characters are too many; keep it to {error.validator_value}.",
    "maxItems": lambda error: f"{len(error.instance)} are too many; at most {error.validator_value} fit in one record.",
    "minItems": lambda error: f"Give at least {error.validator_value}.",
    "format": lambda error: f"{_shown(error)} is not a {_FORMAT_WORDS[error.validator_value]}.",
    "additionalProperties": lambda error: (
        f"{_unknown(error)} is not known here; the page may be newer than the server."
    ),
}


def _unknown(error: ValidationError) -> str:
    return ", ".join(f"“{name}”" for name in error.instance if name not in error.schema.get("properties", {}))


# ---- Words for schemas -----------------------------------------------------------------------------------------------


def group(properties: Mapping[str, Any], *optional: str) -> dict[str, Any]:
    """An object of exactly these fields, all required but the optional ones."""
    required = [name for name in properties if name not in optional]
    return {"type": "object", "properties": dict(properties), "required": required, "additionalProperties": False}


def text(most: int, *, needed: bool = False) -> dict[str, Any]:
    return {"type": "string", "maxLength": most, **({"pattern": r"\S"} if needed else {})}


def number(low: float | None = None, high: float | None = None, *, whole: bool = False) -> dict[str, Any]:
    bounds = {name: value for name, value in (("minimum", low), ("maximum", high)) if value is not None}
    return {"type": "integer" if whole else "number", **bounds}


def word(*words: str) -> dict[str, Any]:
    return {"type": "string", "enum": list(words)}


def many(items: Mapping[str, Any], most: int) -> dict[str, Any]:
    return {"type": "array", "items": dict(items), "maxItems": most}


def or_null(schema: Mapping[str, Any]) -> dict[str, Any]:
    more = {"enum": [*schema["enum"], None]} if "enum" in schema else {}
    return {**schema, "type": [schema["type"], "null"], **more}


KEY = number(1, KEY_MAX, whole=True)
ID = {"type": "string", "format": "uuid"}
KEY_OR_ID = {"type": ["integer", "string"], "minimum": 1, "maximum": KEY_MAX, "format": "uuid"}
MOMENT = {"type": "string", "format": "date-time"}
DAY = {"type": "string", "format": "date"}
YES_OR_NO = {"type": "boolean"}


def moment(told: str) -> dt.datetime:
    """Of a payload that fits its schema."""
    return dt.datetime.fromisoformat(told)
