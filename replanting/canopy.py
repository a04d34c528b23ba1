"""Crown cover that removals took, and when the plantings will have grown it back: an estimate, told with its range.

Crown cover is the area of the circle of the spread, π/4 spread². A planting counts from nothing: it grows in height by the
class of its taxon, 0.5 to 1 ft a year when slow, 1 to 2 when medium, 2 to 3 when fast (common practice), and spreads in
proportion until it has its mature size. The low estimate takes the slower rate, the taller height to grow to and the lesser
spread; the high one the reverse. Losses to come are not taken off, nor the growth of trees that stand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from inventory.units import M_PER_FT

FT_A_YEAR = {"slow": (0.5, 1.0), "medium": (1.0, 2.0), "fast": (2.0, 3.0)}
HORIZON_YEARS = 100


class Bound(Enum):
    LOW = 0
    HIGH = 1


@dataclass(frozen=True)
class Plantings:
    """Some trees of one taxon planted in one year, with the palette's mature sizes in metres."""

    year: int
    number: int
    growth: str
    height_min_m: float
    height_max_m: float
    spread_min_m: float
    spread_max_m: float

    def cover_m2(self, year: int, bound: Bound) -> float:
        low = bound is Bound.LOW
        height_m = self.height_max_m if low else self.height_min_m
        spread_m = self.spread_min_m if low else self.spread_max_m
        grown_m = FT_A_YEAR[self.growth][bound.value] * M_PER_FT * max(0, year - self.year)
        return self.number * crown_m2(spread_m * min(1.0, grown_m / height_m))


@dataclass(frozen=True)
class Point:
    """Cover of all plantings at the end of a year."""

    year: int
    low_m2: float
    high_m2: float


@dataclass(frozen=True)
class Forecast:
    """``early`` and ``late``: the years in which the cover is back by the high and by the low estimate, None within a century."""

    taken_m2: float
    points: tuple[Point, ...]
    early: int | None
    late: int | None


def crown_m2(spread_m: float) -> float:
    return math.pi / 4 * spread_m**2


def forecast(taken_m2: float, plantings: Sequence[Plantings], this_year: int) -> Forecast:
    """From this year by decades to the year in which the last estimate is back, or over a century."""
    points = [_point(plantings, year) for year in range(this_year, this_year + HORIZON_YEARS + 1)]
    early = next((point.year for point in points if point.high_m2 >= taken_m2), None)
    late = next((point.year for point in points if point.low_m2 >= taken_m2), None)
    shown = [point for point in points[::10] if late is None or point.year < late + 10]
    return Forecast(taken_m2, tuple(shown), early, late)


def _point(plantings: Sequence[Plantings], year: int) -> Point:
    low, high = (sum(some.cover_m2(year, bound) for some in plantings) for bound in Bound)
    return Point(year, low, high)
