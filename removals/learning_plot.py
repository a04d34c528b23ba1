"""Differences between plan and outcome as dots on one axis, a row each, in units of the drawing; zero in the middle."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

WIDTH, LABELS, RIGHT = 1000.0, 240.0, 30.0
TOP, ROW, FOOT = 20.0, 30.0, 50.0
STEPS = (1, 2, 5)


@dataclass(frozen=True, slots=True)
class Dot:
    label: str
    x: float
    y: float
    text_y: float
    outside: bool


@dataclass(frozen=True, slots=True)
class Tick:
    x: float
    label: str


@dataclass(frozen=True, slots=True)
class Plot:
    """``band``: left edge and width of what counts as expected, None without one."""

    width: float
    height: float
    top: float
    foot: float
    tick_label_y: float
    zero: float
    band: tuple[float, float] | None
    ticks: tuple[Tick, ...]
    dots: tuple[Dot, ...]

    @property
    def band_height(self) -> float:
        return self.foot - self.top


def plot(rows: Sequence[tuple[str, float]], unit: str, band: float | None = None) -> Plot:
    """``rows``: label and difference; ``band``: the half-width around zero that was expected."""
    reach = _reach([abs(value) for _, value in rows] + ([band] if band else []))
    foot = TOP + ROW * len(rows)
    return Plot(
        width=WIDTH,
        height=foot + FOOT,
        top=TOP,
        foot=foot,
        tick_label_y=foot + 28,
        zero=x_of(0.0, reach),
        band=None if band is None else (x_of(-band, reach), round(x_of(band, reach) - x_of(-band, reach), 1)),
        ticks=tuple(Tick(x_of(at, reach), f"{at:+g}{unit}" if at else "as planned") for at in _ticks(reach)),
        dots=tuple(_dot(label, value, number, reach, band) for number, (label, value) in enumerate(rows)),
    )


def x_of(value: float, reach: float) -> float:
    """Where a difference lies between −reach at the left and +reach at the right."""
    middle, half = (LABELS + WIDTH - RIGHT) / 2, (WIDTH - RIGHT - LABELS) / 2
    return round(middle + value / reach * half, 1)


def _dot(label: str, value: float, number: int, reach: float, band: float | None) -> Dot:
    y = TOP + ROW * (number + 0.5)
    return Dot(label, x_of(value, reach), y, y + 5, band is not None and abs(value) > band)


def _reach(sizes: Sequence[float]) -> float:
    """A round number that holds them all: 1, 2 or 5 times a power of ten."""
    largest = max([*sizes, 1e-6])
    power = 10.0 ** math.floor(math.log10(largest))
    return next(step * power for step in (*STEPS, 10) if step * power >= largest * (1 - 1e-9))


def _ticks(reach: float) -> tuple[float, ...]:
    return tuple(round(part * reach / 2, 9) for part in (-2, -1, 0, 1, 2))
