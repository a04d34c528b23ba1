"""When stock of a kind may be planted where, and the sentence to show when a day lies outside.

Balled and burlapped and container stock in zones 4 and 5: spring, or late summer to early November, evergreens by early
October (Iowa State University Extension 2011, read). Bare root is planted dormant only. The other months by zone, and the
kinds that are dug in spring only, are from memory of nursery tables. Days are our reading of the words: late summer begins
on 15 August, early November ends on the 7th, early October on the 7th. A window is advice: the planner may go on with a
reason. The table speaks of zones 3 to 10 and is not stretched.
"""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

BARE_ROOT, BALLED, CONTAINER = "bare root", "balled and burlapped", "container"
ZONES = (3, 10)
EVERGREEN_BY = (10, 7)
EVERGREEN_ZONE_MOST = 7
SPRING_DUG = frozenset(
    {
        "Betula",
        "Carpinus",
        "Crataegus",
        "Fagus",
        "Liquidambar",
        "Liriodendron",
        "Magnolia",
        "Nyssa",
        "Prunus",
        "Quercus",
    }
)
# A dug spring kind is dug before it leafs out: in the first half of the year.
_SPRING_ENDS = (6, 30)
MonthDay = tuple[int, int]
Window = tuple[MonthDay, MonthDay]

_APRIL_MAY: Window = ((4, 1), (5, 31))
_LATE_SUMMER: Window = ((8, 15), (11, 7))
_BARE_ROOT: dict[int, tuple[Window, ...]] = {
    **dict.fromkeys((3, 4), (_APRIL_MAY,)),
    **dict.fromkeys((5, 6), (((3, 1), (4, 30)),)),
    7: (((2, 1), (3, 31)), ((11, 1), (11, 30))),
    **dict.fromkeys((8, 9, 10), (((12, 1), (2, 29)),)),
}
_BALLED: dict[int, tuple[Window, ...]] = {
    3: (((4, 1), (6, 30)), ((9, 1), (10, 31))),
    **dict.fromkeys((4, 5), (((4, 1), (6, 30)), _LATE_SUMMER)),
    **dict.fromkeys((6, 7), (((3, 1), (5, 31)), ((9, 1), (11, 30)))),
    **dict.fromkeys((8, 9, 10), (((10, 1), (3, 31)),)),
}
# In a container a tree may be planted whenever the soil is not frozen and somebody waters it; unfrozen months from memory.
_CONTAINER: dict[int, tuple[Window, ...]] = {
    3: (((5, 1), (9, 30)),),
    **dict.fromkeys((4, 5), (((4, 1), (6, 30)), _LATE_SUMMER)),
    **dict.fromkeys((6, 7), (((3, 1), (11, 30)),)),
    **dict.fromkeys((8, 9, 10), (((1, 1), (12, 31)),)),
}
_TABLES = {BARE_ROOT: _BARE_ROOT, BALLED: _BALLED, CONTAINER: _CONTAINER}


@dataclass(frozen=True)
class Kind:
    """What of a taxon bears on its season: its genus, and whether it keeps its leaves."""

    genus: str = ""
    evergreen: bool = False

    @property
    def spring_dug(self) -> bool:
        return self.genus in SPRING_DUG


@dataclass(frozen=True)
class Span:
    """The days of one window, both ends within."""

    first: dt.date
    last: dt.date

    @property
    def name(self) -> str:
        return season_name(self.first)


def season_name(day: dt.date) -> str:
    """``spring 2027``: spring to the end of June, autumn from July."""
    return f"{'spring' if day.month <= 6 else 'autumn'} {day.year}"


def windows(stock: str, zone: int, kind: Kind = Kind()) -> tuple[Window, ...]:
    """The windows of a year in the zone. ValueError for a zone that the table does not speak of."""
    if not ZONES[0] <= zone <= ZONES[1]:
        raise ValueError(f"The table of planting windows speaks of zones {ZONES[0]} to {ZONES[1]}, not of zone {zone}.")
    found = _TABLES[stock][zone]
    if stock != CONTAINER and kind.spring_dug:
        found = tuple(_in_spring(found))
    if kind.evergreen and zone <= EVERGREEN_ZONE_MOST:
        found = tuple((first, min(last, EVERGREEN_BY)) for first, last in found if first <= EVERGREEN_BY)
    return found


def _in_spring(found: tuple[Window, ...]) -> Iterator[Window]:
    for first, last in found:
        if first > last:  # over the turn of the year: its spring is what lies after it
            yield (1, 1), last
        elif first < _SPRING_ENDS:
            yield first, min(last, _SPRING_ENDS)


def window_around(stock: str, zone: int, day: dt.date, kind: Kind = Kind()) -> Span | None:
    """The window that the day lies in; None outside of all."""
    return next((span for span in _spans(stock, zone, day, kind) if span.first <= day <= span.last), None)


def next_window(stock: str, zone: int, day: dt.date, kind: Kind = Kind()) -> Span:
    """The window that the day lies in, or the first one after it. ValueError for a zone outside of the table."""
    return min((span for span in _spans(stock, zone, day, kind) if span.last >= day), key=lambda span: span.first)


def has_window(stock: str, zone: int, season: str, year: int, kind: Kind = Kind()) -> bool:
    """Whether such stock may be planted on some day of ``spring`` or ``autumn`` of the year; False outside of the table."""
    first = dt.date(year, 1, 1) if season == "spring" else dt.date(year, 7, 1)
    last = dt.date(year, 6, 30) if season == "spring" else dt.date(year, 12, 31)
    try:
        return next_window(stock, zone, first, kind).first <= last
    except ValueError:
        return False


def _spans(stock: str, zone: int, day: dt.date, kind: Kind) -> Iterator[Span]:
    for first, last in windows(stock, zone, kind):
        for year in range(day.year - 1, day.year + 2):
            ends = year + 1 if first > last else year
            yield Span(_on(year, first), _on(ends, last))


def _on(year: int, month_day: MonthDay) -> dt.date:
    month, day = month_day
    return dt.date(year, month, min(day, calendar.monthrange(year, month)[1]))


def warning(stock: str, zone: int | None, day: dt.date, kind: Kind = Kind()) -> str:
    """Why the day is no good day to plant such stock, and which is; empty within a window."""
    if zone is None:
        return "The park has no hardiness zone, so no planting window can be told; enter the zone with the park."
    try:
        span = next_window(stock, zone, day, kind)
    except ValueError as error:
        return str(error)
    if span.first <= day:
        return ""
    return f"{_words(day)} lies outside the window for {_what(stock, kind)} in zone {zone}; the next is {span_words(span)}."


def _what(stock: str, kind: Kind) -> str:
    if stock != CONTAINER and kind.spring_dug:
        return f"{kind.genus}, {stock}, a kind that is dug in spring only,"
    return f"{stock} evergreens" if kind.evergreen else f"{stock} stock"


def span_words(span: Span) -> str:
    return f"{_words(span.first)} to {_words(span.last)}"


def _words(day: dt.date) -> str:
    return f"{day:%-d %b %Y}"
