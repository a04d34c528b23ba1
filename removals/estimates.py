"""How long open work takes a crew and what it costs, for planning ahead: what the chosen method said, else by size.

Until a method is chosen a removal takes as long as the slowest way, a climber's, in `methods`; these hours, the crew and its
week are this program's own placeholders until the city sets its own. Hours are a crew's, taking down and cutting up, without
travel.
"""

from __future__ import annotations

from dataclasses import dataclass

from removals.methods import CREWS, HOURS, Method, Rates, size_class

SLOWEST = Method.CLIMBED
SIZES = ("small", "medium", "large", "very large")
UNKNOWN_SIZE = SIZES.index("large")
HOURS_LEAST, HOURS_MOST = 0.25, 1_000.0
WEEK_HOURS_MOST = 10_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """Hours of a removal by size class, the people of a crew, and the crew hours of a week. Placeholders."""

    small_hours: float = HOURS[SLOWEST][0]
    medium_hours: float = HOURS[SLOWEST][1]
    large_hours: float = HOURS[SLOWEST][2]
    very_large_hours: float = HOURS[SLOWEST][3]
    crew_people: int = CREWS[SLOWEST]
    week_hours: float = 36.0

    @property
    def by_size(self) -> tuple[float, ...]:
        return self.small_hours, self.medium_hours, self.large_hours, self.very_large_hours


@dataclass(frozen=True, slots=True)
class Estimate:
    """A crew's hours, the cost in the city's money, and where both are from."""

    hours: float
    cost: float
    source: str


def by_size(dbh_cm: float | None, height_m: float | None, effort: Effort, rates: Rates) -> Estimate:
    """A removal without a method: by the city's table. A tree that was not measured counts as large."""
    known = dbh_cm is not None or height_m is not None
    size = size_class(dbh_cm or 0.0, height_m or 0.0) if known else UNKNOWN_SIZE
    source = f"a {SIZES[size]} tree" if known else "not measured, taken as large"
    return of_hours(effort.by_size[size], source, effort, rates)


def of_hours(hours: float, source: str, effort: Effort, rates: Rates) -> Estimate:
    """Work whose hours are known, at the rate of a crew without hired plant."""
    return Estimate(hours, hours * effort.crew_people * rates.person_hour, source)


def fault(effort: Effort) -> str:
    """What keeps a city from taking the table, a sentence; '' when nothing does."""
    for size, hours in zip(SIZES, effort.by_size, strict=True):
        if not HOURS_LEAST <= hours <= HOURS_MOST:
            return f"{hours:g} hours for a {size} tree is out of bounds; it is {HOURS_LEAST:g} to {HOURS_MOST:g} hours."
    if list(effort.by_size) != sorted(effort.by_size):
        return "A larger tree takes no fewer hours than a smaller one; put the hours in the order of the sizes."
    if not 1 <= effort.crew_people <= 20:
        return f"A crew of {effort.crew_people} is out of bounds; it has 1 to 20 people."
    if not 0 <= effort.week_hours <= WEEK_HOURS_MOST:
        return f"{effort.week_hours:g} crew hours a week is out of bounds; it is 0 to {WEEK_HOURS_MOST:g}."
    return ""
