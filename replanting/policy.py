"""How soon a removed tree is promised back: a city's policy, with this program's defaults.

One for one within a year of the removal; a planting that failed is replaced within eight months, never earlier than the
first promise (forms of both stand in printed municipal codes; the numbers are a city's to set). Young trees are looked at
every two weeks unless the city says otherwise (common practice), and watered by the rule of `care` that it names.
"""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Policy:
    plant_within_months: int = 12
    replant_within_months: int = 8
    visit_every_days: int = 14
    water_rule: str = "georgia"


DEFAULT = Policy()


def months_after(day: date, months: int) -> date:
    """The same day of the month ``months`` later, or the month's last when it is shorter."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def due(removed_on: date, policy: Policy = DEFAULT) -> date:
    """The day by which the replacement is promised to be in the ground."""
    return months_after(removed_on, policy.plant_within_months)


def due_again(failed_on: date, promised: date, policy: Policy = DEFAULT) -> date:
    """The new promise after a planting failed."""
    return max(promised, months_after(failed_on, policy.replant_within_months))
