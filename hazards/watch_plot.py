"""Ratios of deaths to those expected as dots with their intervals on a logarithmic axis, in units of the drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

from hazards.mortality import RATIO_LINE, Compared

WIDTH, LABELS, RIGHT = 1000.0, 390.0, 30.0
TOP, ROW, FOOT = 20.0, 34.0, 50.0
LEAST, MOST = 0.25, 32.0
TICKS = (0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0)


@dataclass(frozen=True)
class Mark:
    """One row; where ``dot`` is None, ``words`` say why: beyond the axis, or nothing to divide by."""

    label: str
    y: float
    text_y: float
    dot: float | None
    low: float | None
    high: float | None
    words: str
    flagged: bool


@dataclass(frozen=True)
class Tick:
    x: float
    label: str


@dataclass(frozen=True)
class Plot:
    width: float
    height: float
    top: float
    foot: float
    ticks: Sequence[Tick]
    tick_label_y: float
    one: float
    twice: float
    beyond: float
    marks: Sequence[Mark]


def x_of(ratio: float) -> float:
    """Where a ratio lies; beyond the axis: at its end."""
    share = log(min(max(ratio, LEAST), MOST) / LEAST) / log(MOST / LEAST)
    return round(LABELS + share * (WIDTH - LABELS - RIGHT), 1)


def plot(rows: Sequence[tuple[str, Compared]]) -> Plot:
    """``rows``: a label and what was compared, in the order of the table beside."""
    foot = TOP + ROW * len(rows)
    return Plot(
        width=WIDTH,
        height=foot + FOOT,
        top=TOP,
        foot=foot,
        ticks=[Tick(x_of(ratio), f"{ratio:g}") for ratio in TICKS],
        tick_label_y=foot + 28,
        one=x_of(1.0),
        twice=x_of(RATIO_LINE),
        beyond=WIDTH - RIGHT,
        marks=[_mark(label, found, TOP + ROW * (number + 0.5)) for number, (label, found) in enumerate(rows)],
    )


def _mark(label: str, found: Compared, y: float) -> Mark:
    ratio, low, high = found.ratio, found.ratio_low, found.ratio_high
    words = "none elsewhere" if ratio is None else f"{ratio:.0f}× →" if ratio > MOST else ""
    return Mark(
        label=label,
        y=y,
        text_y=y + 5,
        dot=None if ratio is None or words else x_of(ratio),
        low=None if low is None or words else x_of(low),
        high=None if high is None or words else x_of(high),
        words=words,
        flagged=found.flagged,
    )
