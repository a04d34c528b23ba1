"""How the counts fall, week by week: a panel a rating, each with its own scale, in units of the drawing.

Each panel counts the trees of its rating or above, so that its line only ever falls; the weeks stand in a table beside.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from hazards.matrix import Rating
from reports.programme import COUNTED, Programme

WIDTH, LEFT, RIGHT = 1000.0, 70.0, 90.0
HEAD, PANEL, GAP, FOOT = 34.0, 110.0, 22.0, 40.0
DATES_MOST = 6


@dataclass(frozen=True, slots=True)
class Panel:
    """``line`` and ``area`` are lists of points as SVG writes them; ``now`` and ``end`` stand at the ends of the line."""

    rating: str
    label: str
    label_y: float
    top: float
    foot: float
    line: str
    area: str
    now: int
    now_y: float
    end: int
    end_y: float


@dataclass(frozen=True, slots=True)
class Tick:
    x: float
    day: dt.date


@dataclass(frozen=True, slots=True)
class Plot:
    width: float
    height: float
    left: float
    right: float
    now_x: float
    end_x: float
    foot: float
    date_y: float
    panels: tuple[Panel, ...]
    ticks: tuple[Tick, ...]


def plot(made: Programme) -> Plot:
    panels = tuple(_panel(made, rating, number) for number, rating in enumerate(COUNTED))
    foot = panels[-1].foot
    return Plot(
        width=WIDTH,
        height=foot + FOOT,
        left=LEFT,
        right=WIDTH - RIGHT,
        now_x=LEFT - 12,
        end_x=WIDTH - RIGHT + 12,
        foot=foot,
        date_y=foot + 26,
        panels=panels,
        ticks=tuple(_ticks(made)),
    )


def _panel(made: Programme, rating: Rating, number: int) -> Panel:
    head = number * (HEAD + PANEL + GAP)
    top, foot = head + HEAD, head + HEAD + PANEL
    now = sum(count for each, count in made.now.items() if each.rank >= rating.rank)
    counts = [now, *(week.at_least(rating) for week in made.weeks)]
    heights = [round(foot - PANEL * count / max(now, 1), 1) for count in counts]
    steps = list(_steps(heights))
    line = " ".join(f"{x},{y}" for x, y in steps)
    return Panel(
        rating=rating.value,
        label=f"Rated {rating.value}" if rating is Rating.EXTREME else f"Rated {rating.value} or above",
        label_y=head + HEAD - 12,
        top=top,
        foot=foot,
        line=line,
        area=f"{LEFT},{foot} {line} {steps[-1][0]},{foot}",
        now=now,
        now_y=heights[0] + 5,
        end=counts[-1],
        end_y=heights[-1] + 5,
    )


def _steps(heights: list[float]) -> Iterator[tuple[float, float]]:
    """A count holds through its week and falls at its end."""
    weeks = len(heights) - 1
    yield LEFT, heights[0]
    for number, (before, after) in enumerate(pairwise(heights), start=1):
        x = x_of(number, weeks)
        yield x, before
        if after != before:
            yield x, after


def x_of(week: int, weeks: int) -> float:
    """Where the week of that number begins; the last one ends at the right."""
    return round(LEFT + (WIDTH - LEFT - RIGHT) * week / weeks, 1)


def _ticks(made: Programme) -> Iterator[Tick]:
    weeks = len(made.weeks)
    every = -(-weeks // DATES_MOST)
    for week in made.weeks[::every]:
        yield Tick(x_of(week.number, weeks), week.begins)
