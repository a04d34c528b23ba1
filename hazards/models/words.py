"""Checks that hold a column to the words of the trade and to its tables."""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum

from django.db import models
from django.db.models import Q

from hazards.matrix import Level


def words(levels: type[Enum]) -> list[tuple[str, str]]:
    """Choices of a field, from the trade's own enum."""
    return [(level.value, level.value) for level in levels]


def is_word(field: str, levels: type[Enum], *, name: str) -> models.CheckConstraint:
    return models.CheckConstraint(condition=Q(**{f"{field}__in": [level.value for level in levels]}), name=name)


def any_of(conditions: Iterable[Q]) -> Q:
    first, *rest = conditions
    for condition in rest:
        first |= condition
    return first


def in_table(row: str, column: str, result: str, cells: dict[Level, tuple[Level, ...]], columns: type[Level]) -> Q:
    """Only what the table holds: one condition a cell."""
    return any_of(
        Q(**{row: key.value, column: pick.value, result: cells[key][pick.rank].value})
        for key in cells
        for pick in columns
    )
