"""The round of the week: the young trees in care, read from what is stored, with what each asks for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from replanting.care import WATER_RULES, Due, Kind, WaterRule, Young, care_ends, dues, seasons_of_care
from replanting.city_policy import current
from replanting.models import Planting, PlantingQuerySet, ReplacementTask, TaskState
from replanting.site import zone_number
from replanting.weather import LastRain, last_watering_by_rain

WEEK = dt.timedelta(days=6)
_COLUMNS = (
    *("pk", "planted_on", "tree__park__hardiness_zone", "caliper_cm"),
    *("tree__park", "last_watered", "last_visit", "unstaked", "pruned_on"),
)


@dataclass(frozen=True)
class Call:
    """A young tree and what it asks for; ``dues`` is empty when nothing is due."""

    planting: int
    planted_on: dt.date
    dues: tuple[Due, ...]

    @property
    def order(self) -> tuple[dt.date, int]:
        """By what has been due the longest; trees that ask for nothing come after, the youngest last."""
        return (self.dues[0].on if self.dues else dt.date.max, self.planting)

    def late(self, today: dt.date) -> bool:
        return any(due.late(today) for due in self.dues)

    @property
    def waters(self) -> bool:
        return any(due.kind is Kind.WATER for due in self.dues)


def calls(plantings: PlantingQuerySet, today: dt.date, rule: WaterRule, *, drought: bool = False) -> list[Call]:
    """One query; the rules run over all young trees in care, a small part of any city's trees."""
    rows = plantings.with_care_given().order_by().values_list(*_COLUMNS)
    found = [
        Call(pk, young.planted_on, dues(young, today, today + WEEK, rule, drought=drought))
        for pk, young in _young(rows, last_watering_by_rain(today))
    ]
    return sorted(found, key=lambda call: call.order)


def _young(rows: Iterable[Any], rained: LastRain) -> Iterator[tuple[int, Young]]:
    """Rows of `_COLUMNS`; an inch of rain within a week counts as a watering."""
    for pk, planted_on, zone, caliper_cm, park, watered, *given in rows:
        wet = max((day for day in (watered, rained(park)) if day), default=None)
        yield pk, Young(planted_on, zone_number(zone), caliper_cm, wet, *given)


@dataclass(frozen=True)
class Care:
    """What a task's young tree asks for in the week to come, and until when it is cared for."""

    rule: WaterRule
    litres: tuple[float, float] | None
    seasons: int
    ends: dt.date
    dues: tuple[Due, ...]


def care_of(task: ReplacementTask, today: dt.date) -> Care | None:
    """None unless a young tree of the task is in care."""
    if task.state != TaskState.PLANTED:
        return None
    rows = Planting.objects.in_care().filter(task=task).with_care_given().values_list(*_COLUMNS)
    ((_, young),) = _young(rows, last_watering_by_rain(today))
    rule = WATER_RULES[current().water_rule]
    return Care(
        rule,
        rule.litres(young.caliper_cm),
        seasons_of_care(young),
        care_ends(young),
        dues(young, today, today + WEEK, rule),
    )
