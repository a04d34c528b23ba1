"""When rain did the watering: an inch (25.4 mm) within a week counts as watered (read in the Georgia rule's source).

Each millimetre counts once: after the inch the count begins anew, so that a drizzle after one wet day is no second watering.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

INCH_MM = 25.4
WEEK_DAYS = 7


def watered_by_rain(rain_mm: Mapping[dt.date, float]) -> list[dt.date]:
    """The days on which the rain of the last seven reached an inch, in order."""
    found: list[dt.date] = []
    window: list[tuple[dt.date, float]] = []
    for day in sorted(rain_mm):
        window = [(then, mm) for then, mm in window if (day - then).days < WEEK_DAYS]
        window.append((day, rain_mm[day]))
        if sum(mm for _, mm in window) >= INCH_MM:
            found.append(day)
            window = []
    return found


def fallen_mm(rain_mm: Mapping[dt.date, float], until: dt.date, days: int = WEEK_DAYS) -> float:
    """What fell within ``days`` up to and with ``until``."""
    return sum(mm for day, mm in rain_mm.items() if 0 <= (until - day).days < days)
