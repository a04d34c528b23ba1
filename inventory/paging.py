"""Paging by key: a page starts after the last row of the one before, so that page 10,000 costs as much as page 1."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django.core.signing import BadSignature, Signer
from django.db.models import Model, Q, QuerySet

Row = TypeVar("Row", bound=Model)
_SIGNER = Signer(salt="page")


@dataclass(frozen=True)
class Page(Generic[Row]):
    """Rows with the tokens of the neighbouring pages; an empty token: there is none."""

    rows: Sequence[Row]
    next: str
    previous: str


def _token(direction: str, row: Model, keys: Sequence[str]) -> str:
    values = [_value(row, key.lstrip("-")) for key in keys]
    return _SIGNER.sign(json.dumps([direction, values], default=str))


def _value(row: Any, path: str) -> Any:
    for name in path.split("__"):
        row = getattr(row, name)
    return row.isoformat() if isinstance(row, dt.date) else row


def _read(token: str, keys: Sequence[str]) -> tuple[str, list[Any]]:
    """Direction and key values; a token that was tampered with or belongs to another order starts from the top."""
    try:
        direction, values = json.loads(_SIGNER.unsign(token))
    except (BadSignature, ValueError):
        return "next", []
    return (direction, values) if len(values) == len(keys) else ("next", [])


def _after(keys: Sequence[str], values: Sequence[Any], *, backwards: bool) -> Q:
    """The rows past ``values`` in the order of ``keys``: (a, b) > (x, y) spelled out, the first key also as a plain bound."""
    condition = Q()
    equal = Q()
    for key, value in zip(keys, values, strict=True):
        name = key.lstrip("-")
        descending = key.startswith("-") is not backwards
        condition |= equal & Q(**{f"{name}__{'lt' if descending else 'gt'}": value})
        equal &= Q(**{name: value})
    first = keys[0].lstrip("-")
    bound = "lte" if keys[0].startswith("-") is not backwards else "gte"
    return Q(**{f"{first}__{bound}": values[0]}) & condition


def _reversed(keys: Sequence[str]) -> list[str]:
    return [key[1:] if key.startswith("-") else f"-{key}" for key in keys]


def page_of(rows: QuerySet[Row], keys: Sequence[str], token: str = "", size: int = 50) -> Page[Row]:
    """One page of ``rows`` in the order of ``keys`` (unique together and never null; ``-`` turns a key around).

    ``token`` is the ``next`` or ``previous`` of another page, or empty for the first.
    """
    direction, values = _read(token, keys) if token else ("next", [])
    backwards = direction == "previous" and bool(values)
    order = _reversed(keys) if backwards else list(keys)
    chosen = rows.filter(_after(keys, values, backwards=backwards)) if values else rows
    found = list(chosen.order_by(*order)[: size + 1])
    more = len(found) > size
    found = found[:size]
    if backwards:
        found.reverse()
    if not found:
        return Page([], "", "")
    has_next = more or backwards
    has_previous = more if backwards else bool(values)
    return Page(
        found,
        next=_token("next", found[-1], keys) if has_next else "",
        previous=_token("previous", found[0], keys) if has_previous else "",
    )


def part_of(rows: Sequence[Any], token: str = "", size: int = 50) -> Page[Any]:
    """One page of a list that is whole in memory already; ``token`` is the number of its first row."""
    start = int(token) if token.isdecimal() and len(token) < 8 and int(token) < len(rows) else 0
    following = str(start + size) if start + size < len(rows) else ""
    return Page(rows[start : start + size], following, str(max(start - size, 0)) if start else "")
