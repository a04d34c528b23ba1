"""What a city promises for a removed tree: how many, how soon, and how the young trees are looked after.

The program's defaults: one for one within a year of the removal; a planting that failed is replaced within eight months,
never earlier than the first promise; a year of guarantee (forms of all of them stand in printed municipal codes; the numbers
are a city's to set). Young trees are looked at every two weeks unless the city says otherwise (common practice), and watered
by the rule of `care` that it names. How many are owed: `owed`.
"""

from __future__ import annotations

import calendar
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from replanting import owed

MONTHS_MOST, DAYS_MOST = 120, 365


ONE_FOR_ONE = owed.Rule()


@dataclass(frozen=True)
class Policy:
    rule: owed.Rule = ONE_FOR_ONE
    plant_within_months: int = 12
    replant_within_months: int = 8
    guarantee_months: int = 12
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


def guaranteed_to(planted_on: date, policy: Policy = DEFAULT) -> date:
    """The last day on which whoever planted it replaces a tree that dies."""
    return months_after(planted_on, policy.guarantee_months)


def faults(policy: Policy, water_rules: frozenset[str]) -> list[str]:
    """Everything that keeps a city from taking the policy, a sentence each; ``water_rules``: the keys that are known."""
    return [*_faults_of_times(policy), *_fault_of_water(policy, water_rules), *owed.faults(policy.rule)]


def _faults_of_times(policy: Policy) -> Iterator[str]:
    times = (
        ("Months to the planting", policy.plant_within_months, 1, MONTHS_MOST),
        ("Months to the planting after a failure", policy.replant_within_months, 1, MONTHS_MOST),
        ("Months of guarantee", policy.guarantee_months, 0, MONTHS_MOST),
        ("Days between visits", policy.visit_every_days, 1, DAYS_MOST),
    )
    for name, value, low, high in times:
        if not low <= value <= high:
            yield f"{name}: {value} is out of bounds; it is {low} to {high}."


def _fault_of_water(policy: Policy, water_rules: frozenset[str]) -> Iterator[str]:
    if policy.water_rule not in water_rules:
        yield f"“{policy.water_rule}” is no watering rule; use {', '.join(sorted(water_rules))}."
