"""The files of the invented city, and the days that they count back from today."""

import csv
import datetime as dt
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.utils import timezone

CITY: Path = settings.BASE_DIR / "fixtures" / "city"
Row = dict[str, str]


def table(name: str) -> list[Row]:
    with (CITY / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def number(text: str) -> float | None:
    return float(text) if text else None


@dataclass(frozen=True)
class Calendar:
    """Days of the files as dates; a negative number of days lies ahead."""

    today: dt.date

    def on(self, days_before: str) -> dt.date:
        return self.today - dt.timedelta(days=int(days_before))

    def at(self, days_before: str, time: str) -> dt.datetime:
        moment = dt.datetime.combine(self.on(days_before), dt.time.fromisoformat(time))
        return timezone.make_aware(moment)
