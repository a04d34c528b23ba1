"""Rain as it is stored: read from a table, kept by day, and asked when it last did the watering."""

from __future__ import annotations

import csv
import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from inventory import record
from inventory.access import Permission
from inventory.errors import Refused
from inventory.models import Park
from inventory.record import Actor
from inventory.steps import permit
from inventory.units import CM_PER_IN
from replanting.models import RAIN_MAX_MM, Rain
from replanting.rain import watered_by_rain

MM_PER_IN = 10 * CM_PER_IN
# Far enough back for a week's inch and for the longest pause between two waterings.
LOOK_BACK = dt.timedelta(days=28)
ROWS_MOST = 40_000
LastRain = Callable[[int], "dt.date | None"]


@dataclass(frozen=True)
class Fallen:
    """Rain of one day; ``park`` is a park's code, empty for the city's gauge."""

    day: dt.date
    mm: float
    park: str = ""


def read_rain(lines: Iterable[str]) -> list[Fallen]:
    """A CSV with the columns ``day`` and ``mm`` or ``inches``, and ``park`` (a code) where a park has a gauge of its own.

    Refused with the line and what would be right; nothing is taken from a table with a fault.
    """
    rows = csv.DictReader(lines)
    names = {(name or "").strip().lower().lstrip("\ufeff"): name for name in rows.fieldnames or []}
    unit = next((unit for unit in ("mm", "inches") if unit in names), None)
    if "day" not in names or unit is None:
        raise Refused("The table has no columns “day” and “mm” (or “inches”); name them so in its first line.")
    found = list(_fallen(rows, names, unit))
    if not found:
        raise Refused("The table has no rain in it; give a line a day.")
    return found


def _fallen(rows: csv.DictReader[str], names: dict[str, str], unit: str) -> Iterator[Fallen]:
    scale = 1.0 if unit == "mm" else MM_PER_IN
    for number, row in enumerate(rows, start=2):
        if number > ROWS_MOST:
            raise Refused(f"The table has more than {ROWS_MOST:,} lines; load it in parts.")
        try:
            day = dt.date.fromisoformat((row[names["day"]] or "").strip())
            mm = float((row[names[unit]] or "").strip()) * scale
        except ValueError:
            raise Refused(f"Line {number} has no day like 2026-07-04 with a number of {unit}; mend it.") from None
        if not 0 <= mm <= RAIN_MAX_MM:
            raise Refused(f"Line {number}: rain of a day lies between 0 and {RAIN_MAX_MM:.0f} mm; mend it.")
        yield Fallen(day, mm, (row.get(names.get("park", "park")) or "").strip())


@transaction.atomic
def load_rain(*, by: Actor, rows: Iterable[Fallen]) -> int:
    """Keep the rain of each day, a newer figure in the place of an older one; how many days."""
    permit(by, Permission.REPLANT)
    fallen = {(row.park, row.day): row for row in rows}
    parks = Park.objects.in_bulk({park for park, _ in fallen if park}, field_name="code")
    if unknown := sorted({park for park, _ in fallen if park} - set(parks)):
        raise Refused(f"No park has the code {', '.join(unknown)}; give codes of parks, or none for the city's gauge.")
    if late := [row for row in fallen.values() if row.day > timezone.localdate()]:
        raise Refused(f"{late[0].day:%-d %b %Y} has not come yet; rain is loaded once it fell.")
    made = [Rain(park=parks.get(row.park), day=row.day, mm=row.mm) for row in fallen.values()]
    for gauge in {row.park for row in fallen.values()}:
        days = [day for park, day in fallen if park == gauge]
        Rain.objects.filter(park=parks.get(gauge), day__in=days).delete()
    Rain.objects.bulk_create(made, batch_size=1000)
    first, last = min(row.day for row in made), max(row.day for row in made)
    record.write(by=by, verb="rain", subject=made[0], summary=f"Loaded rain of {len(made)} days, {first} to {last}.")
    return len(made)


def last_watering_by_rain(today: dt.date) -> LastRain:
    """Asked with a park's number: the last day on which rain did its watering, by its own gauge or else the city's."""
    gauges: defaultdict[int | None, dict[dt.date, float]] = defaultdict(dict)
    for park, day, mm in Rain.objects.filter(day__range=(today - LOOK_BACK, today)).values_list("park", "day", "mm"):
        gauges[park][day] = mm
    last = {park: max(watered_by_rain(rain_mm), default=None) for park, rain_mm in gauges.items()}
    return lambda park: last[park] if park in last else last.get(None)
