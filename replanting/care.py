"""What a young tree asks for until it stands on its own: water by a named rule, checks, stakes off, the day to decide.

Water: published rules differ fourfold in what they give a week, so the rule's name stands on every schedule.
Established: 12 months per inch of caliper in zones 2–6, 6 in zones 7–8, 3 in zones 9–11 (University of Florida), and at least
two growing seasons. Checks at planting, after a month and at each season's end; stakes off after 6 months where it is warm
and 12 where it is cool (University of Florida). The months of the growing season by zone are common practice. A ball that is
saturated is not watered, an inch of rain within a week counts as watered, and missed days are not made up.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache

from inventory.units import CM_PER_IN, L_PER_GAL
from replanting.policy import months_after

WEEKLY = (7, 7)


class Kind(Enum):
    WATER = "water"
    CHECK = "check"
    STAKES = "stakes off"
    PRUNE = "formative pruning"
    DECIDE = "decide"


@dataclass(frozen=True)
class WaterRule:
    """``gal_per_inch``: US gallons per inch of caliper each time, from and to. ``stages``: up to a day after planting (None:
    to the end), the fewest and the most days between two waterings. ``caliper_most_in``: stock that the rule speaks of."""

    key: str
    name: str
    words: str
    gal_per_inch: tuple[float, float]
    stages: tuple[tuple[int | None, tuple[int, int]], ...]
    drought: tuple[int, int] | None = None
    caliper_most_in: float | None = None

    def litres(self, caliper_cm: float | None) -> tuple[float, float] | None:
        """Each time, from and to; None when the caliper is not known."""
        if caliper_cm is None:
            return None
        low, high = (gallons * L_PER_GAL * caliper_cm / CM_PER_IN for gallons in self.gal_per_inch)
        return low, high

    def every_days(self, age_days: int, drought: bool) -> tuple[int, int]:
        every = next(every for until, every in self.stages if until is None or age_days < until)
        return min(every, self.drought) if drought and self.drought else every

    def speaks_of(self, caliper_cm: float | None) -> bool:
        if self.caliper_most_in is None:
            return True
        return caliper_cm is not None and caliper_cm <= self.caliper_most_in * CM_PER_IN


A_GEORGIA = WaterRule(
    "georgia",
    "A, Georgia",
    "5 to 7.5 US gal (19 to 28 l) per inch of caliper weekly through the season, twice a week in drought, for 2 to 3 years",
    (5, 7.5),
    ((None, WEEKLY),),
    drought=(3, 4),
)
B_MINNESOTA = WaterRule(
    "minnesota",
    "B, Minnesota",
    "1 to 1.5 US gal (4 to 6 l) per inch of caliper: daily for 2 weeks, every 2 to 3 days to week 12, then weekly",
    (1, 1.5),
    ((14, (1, 1)), (84, (2, 3)), (None, WEEKLY)),
)
C_FLORIDA = WaterRule(
    "florida",
    "C, Florida",
    "2 to 3 US gal (8 to 11 l) per inch of caliper, stock to 2 in: daily for 2 weeks, every other day for 2 months, then weekly",
    (2, 3),
    ((14, (1, 1)), (75, (2, 2)), (None, WEEKLY)),
    caliper_most_in=2,
)
WATER_RULES = {rule.key: rule for rule in (A_GEORGIA, B_MINNESOTA, C_FLORIDA)}


@dataclass(frozen=True)
class Young:
    """A young tree as it is known: ``zone`` the number of the hardiness zone, ``last_seen`` the day of the last visit."""

    planted_on: dt.date
    zone: int | None = None
    caliper_cm: float | None = None
    last_watered: dt.date | None = None
    last_seen: dt.date | None = None
    stakes_off: bool = False
    pruned_on: dt.date | None = None


@dataclass(frozen=True)
class Due:
    """Something to do from the day ``on``; it is late when ``last_day`` has passed. ``litres``: from and to."""

    kind: Kind
    on: dt.date
    last_day: dt.date
    words: str
    litres: tuple[float, float] | None = None

    def late(self, today: dt.date) -> bool:
        return today > self.last_day

    @property
    def middle_l(self) -> float | None:
        """What one tap records: the middle of the range."""
        return sum(self.litres) / 2 if self.litres else None


def dues(
    young: Young, today: dt.date, until: dt.date, rule: WaterRule = A_GEORGIA, *, drought: bool = False
) -> tuple[Due, ...]:
    """What is due by the day ``until``, the longest due first."""
    found = [
        *_water(young, today, until, rule, drought),
        *_checks(young, until),
        *_stakes(young, until),
        *prunings(young, until),
    ]
    ends = care_ends(young)
    if ends <= until:
        found.append(Due(Kind.DECIDE, ends, ends, "established, or another season of care"))
    return tuple(sorted(found, key=lambda due: due.on))


@lru_cache(maxsize=1024)
def season(year: int, zone: int | None) -> tuple[dt.date, dt.date]:
    """The first and the last day of the growing season; zones 9 and up grow all the year. Common practice."""
    if zone is not None and zone >= 9:
        return dt.date(year, 1, 1), dt.date(year, 12, 31)
    if zone is not None and zone == 8:
        return dt.date(year, 3, 1), dt.date(year, 11, 30)
    if zone is not None and zone <= 4:
        return dt.date(year, 5, 1), dt.date(year, 9, 30)
    return dt.date(year, 4, 1), dt.date(year, 10, 31)


def months_to_establish(zone: int | None, caliper_cm: float | None) -> float | None:
    """None where the caliper is not known or the rule does not speak of the zone."""
    if zone is None or caliper_cm is None or not 2 <= zone <= 11:
        return None
    per_inch = 12 if zone <= 6 else 6 if zone <= 8 else 3
    return per_inch * caliper_cm / CM_PER_IN


def seasons_of_care(young: Young) -> int:
    """Growing seasons: two, or more where the caliper asks for it."""
    months = months_to_establish(young.zone, young.caliper_cm)
    # A caliper of 2.0000001 in is a figure of the tape, not a third season.
    return 2 if months is None else max(2, math.ceil(round(months / 12, 3)))


def care_ends(young: Young) -> dt.date:
    """The last day of the last growing season of care; planted after a season's middle, a tree begins with the next."""
    year = young.planted_on.year
    begins, ends = season(year, young.zone)
    first = year if young.planted_on <= begins + (ends - begins) / 2 else year + 1
    return season(first + seasons_of_care(young) - 1, young.zone)[1]


def _water(young: Young, today: dt.date, until: dt.date, rule: WaterRule, drought: bool) -> Iterator[Due]:
    """Planting day counts as watered."""
    if not rule.speaks_of(young.caliper_cm):
        return
    begins, ends = season(until.year, young.zone)
    ends = min(ends, care_ends(young))
    last = max(young.last_watered or young.planted_on, young.planted_on)
    soonest, latest = rule.every_days((last - young.planted_on).days, drought)
    on = max(last + dt.timedelta(soonest), begins)
    if today <= ends and on <= min(until, ends):
        last_day = on + dt.timedelta(latest - soonest)
        yield Due(Kind.WATER, on, last_day, f"water by rule {rule.name}", rule.litres(young.caliper_cm))


def _checks(young: Young, until: dt.date) -> Iterator[Due]:
    """The latest check that has come and that no visit has answered; earlier ones are answered with it."""
    come = [(on, words) for on, words in _check_days(young) if on <= until]
    if come and (young.last_seen is None or young.last_seen < come[-1][0]):
        on, words = come[-1]
        yield Due(Kind.CHECK, on, on + dt.timedelta(7), words)


def _check_days(young: Young) -> Iterator[tuple[dt.date, str]]:
    yield young.planted_on, "check at planting: depth, root flare, mulch, water"
    month = months_after(young.planted_on, 1)
    yield month, "check after a month"
    last = care_ends(young)
    for year in range(young.planted_on.year, last.year + 1):
        ends = season(year, young.zone)[1]
        if month < ends <= last:
            yield ends, "check at the season's end"


def _stakes(young: Young, until: dt.date) -> Iterator[Due]:
    warm = young.zone is not None and young.zone >= 8
    on = months_after(young.planted_on, 6 if warm else 12)
    if on <= until and not young.stakes_off:
        yield Due(Kind.STAKES, on, months_after(on, 1), "stakes off, if there are any")


# First and last month after planting of each formative pruning: in the third year and about the fifth. Common practice.
PRUNING_MONTHS = ((24, 36), (54, 66))


def prunings(young: Young, until: dt.date) -> Iterator[Due]:
    """The latest formative pruning that has come and is not done; one that was missed is done with the next."""
    spans = [tuple(months_after(young.planted_on, months) for months in span) for span in PRUNING_MONTHS]
    come = [(first, last) for first, last in spans if first <= until]
    if come and (young.pruned_on is None or young.pruned_on < come[-1][0]):
        first, last = come[-1]
        yield Due(Kind.PRUNE, first, last, "formative pruning: one leader, crossing and low limbs out")
