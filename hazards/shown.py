"""The two tables as pages show them: each cell knows whether it is the one that was reached."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from hazards.matrix import LIKELIHOOD, RATING, Consequences, Impact, Level
from hazards.models import Assessment


@dataclass(frozen=True)
class Cell:
    word: str
    here: bool


@dataclass(frozen=True)
class Line:
    word: str
    here: bool
    cells: list[Cell]


@dataclass(frozen=True)
class Table:
    """``columns`` are cells of the head; ``here`` marks the row, the column and the cell that were reached."""

    caption: str
    rows_are: str
    columns_are: str
    columns: list[Cell]
    lines: list[Line]
    rates: bool = False


def _lines(cells: Mapping[Any, tuple[Level, ...]], row: str, columns: list[Cell]) -> list[Line]:
    return [
        Line(
            level.value,
            level.value == row,
            [Cell(cell.value, level.value == row and column.here) for cell, column in zip(line, columns, strict=True)],
        )
        for level, line in cells.items()
    ]


def _columns(levels: type[Level], reached: str) -> list[Cell]:
    return [Cell(level.value, level.value == reached) for level in levels]


@dataclass(frozen=True)
class Path:
    """An assessment with its way through both tables."""

    assessment: Assessment
    likelihood: Table
    rating: Table


def path_of(assessment: Assessment) -> Path:
    impacts = _columns(Impact, assessment.impact)
    consequences = _columns(Consequences, assessment.consequences)
    return Path(
        assessment,
        Table(
            "Failure and impact",
            "Likelihood of failure",
            "Likelihood of impact",
            impacts,
            _lines(LIKELIHOOD, assessment.failure, impacts),
        ),
        Table(
            "Rating",
            "Failure and impact",
            "Consequences",
            consequences,
            _lines(RATING, assessment.failure_and_impact, consequences),
            rates=True,
        ),
    )
