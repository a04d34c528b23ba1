"""The season in which a promise has to be planted at the latest: the last one that begins by its day.

A planting season begins on 1 March or 15 August, the earliest first days of `season`'s windows for balled and container stock in
most zones; the window of one tree, by its stock and zone, is that table's.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from itertools import pairwise

from replanting.season import season_name

BEGINS = ((3, 1), (8, 15))


@dataclass(frozen=True)
class DueSeason:
    """Promises whose day lies from ``first`` to ``last`` are planted in this season at the latest."""

    first: dt.date
    last: dt.date

    @property
    def name(self) -> str:
        return season_name(self.first)

    @property
    def key(self) -> str:
        return self.first.isoformat()


def seasons_from(day: dt.date, number: int) -> tuple[DueSeason, ...]:
    """The season that a promise for ``day`` belongs to, and those that follow it."""
    starts = [dt.date(year, *begin) for year in range(day.year - 1, day.year + number // 2 + 2) for begin in BEGINS]
    found = [
        DueSeason(start, following - dt.timedelta(days=1)) for start, following in pairwise(starts) if following > day
    ]
    return tuple(found[:number])
