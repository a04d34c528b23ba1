"""Predictions beside outcomes as the page shows them: a plot and a table for each, in the reader's unit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median

from inventory import units as u
from inventory.units import CM_PER_IN, M_PER_FT, Units
from removals.learning import Felling, Pair
from removals.learning_plot import Plot, plot


@dataclass(frozen=True, slots=True)
class Row:
    order_id: int
    number: str
    tag: str
    planned: str
    measured: str
    off: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """``summary``: a sentence on all rows; ``plot`` is None without rows."""

    key: str
    heading: str
    words: str
    summary: str
    plot: Plot | None
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class _Kind:
    """One quantity: where a felling keeps it, how it reads, and what turns its difference into the axis's unit."""

    key: str
    heading: str
    words: str
    pair: Callable[[Felling], Pair | None]
    off: Callable[[Felling, Pair], float]
    show: Callable[[float, Units], str]
    axis: dict[Units, tuple[float, str]]
    decimals: int


def _degrees(deg: float, units: Units) -> str:
    return f"{deg:.0f}°"


_KINDS = (
    _Kind(
        "direction",
        "Direction",
        "The bearing it fell on, from the planned lay; to the right is positive. The band is what new plans take.",
        lambda felling: felling.lay_deg,
        lambda felling, pair: felling.direction_error_deg or 0.0,
        _degrees,
        {Units.METRIC: (1.0, "°"), Units.US: (1.0, "°")},
        0,
    ),
    _Kind(
        "diameter",
        "Diameter at the cut",
        "Measured less planned: to the right the tree was thicker than its plan.",
        lambda felling: felling.diameter_cm,
        lambda felling, pair: pair.off,
        u.small_length,
        {Units.METRIC: (1.0, " cm"), Units.US: (1 / CM_PER_IN, " in")},
        1,
    ),
    _Kind(
        "height",
        "Height",
        "Measured along the ground less planned: to the right the tree was higher than its plan.",
        lambda felling: felling.height_m,
        lambda felling, pair: pair.off,
        u.distance,
        {Units.METRIC: (1.0, " m"), Units.US: (1 / M_PER_FT, " ft")},
        1,
    ),
)


def comparisons(rows: Sequence[Felling], taken_deg: float, units: Units) -> list[Comparison]:
    """Direction, diameter and height; ``taken_deg``: the steering error that new plans take, drawn as a band."""
    return [_comparison(kind, rows, taken_deg if kind.key == "direction" else None, units) for kind in _KINDS]


def _comparison(kind: _Kind, rows: Sequence[Felling], band: float | None, units: Units) -> Comparison:
    known = [(felling, pair) for felling in rows if (pair := kind.pair(felling))]
    per, unit = kind.axis[units]
    offs = [kind.off(felling, pair) * per for felling, pair in known]
    return Comparison(
        kind.key,
        kind.heading,
        kind.words,
        _summary(offs, unit, kind.decimals),
        plot([(felling.number, off) for (felling, _), off in zip(known, offs, strict=True)], unit, band)
        if known
        else None,
        tuple(_row(kind, *each, off, units) for each, off in zip(known, offs, strict=True)),
    )


def _row(kind: _Kind, felling: Felling, pair: Pair, off: float, units: Units) -> Row:
    unit = kind.axis[units][1]
    planned, measured = kind.show(pair.planned, units), kind.show(pair.measured, units)
    return Row(felling.order_id, felling.number, felling.tag, planned, measured, f"{off:+.{kind.decimals}f}{unit}")


def _summary(offs: Sequence[float], unit: str, decimals: int) -> str:
    if not offs:
        return "Nothing measured yet."
    sizes = [abs(off) for off in offs]
    return (
        f"{len(offs)} measured; half of them lie within {median(sizes):.{decimals}f}{unit} of the plan, "
        f"the farthest {max(sizes):.{decimals}f}{unit} off."
    )
