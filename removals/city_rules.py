"""The city's own figures for removals, read in one place and set by a manager."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import asdict, fields
from typing import Any

from django.db import transaction

from inventory import record
from inventory.access import Permission
from inventory.errors import Refused
from inventory.record import Actor
from removals.estimates import Effort, fault
from removals.methods import Rates
from removals.models import CityRules
from removals.steps import permit

RATES = tuple(each.name for each in fields(Rates))
EFFORT = tuple(each.name for each in fields(Effort))
A_LEAP_YEAR = 2000


def city_rules() -> CityRules:
    """The row as it was set, or the defaults, not yet saved."""
    return CityRules.objects.filter(pk=1).first() or CityRules(pk=1)


def rates_of(rules: CityRules) -> Rates:
    return Rates(**{name: float(value) for name, value in rules.rates.items() if name in RATES})


def effort_of(rules: CityRules) -> Effort:
    return Effort(**{name: value for name, value in rules.effort.items() if name in EFFORT})


@transaction.atomic
def set_rules(
    *, by: Actor, rates: Mapping[str, float], effort: Mapping[str, float] | None = None, **values: Any
) -> CityRules:
    """Set rates, hours and the other rules (named as in `CityRules`); what is not given stays as it is."""
    permit(by, Permission.APPROVE_REMOVAL)
    rules = CityRules.objects.select_for_update().filter(pk=1).first() or CityRules(pk=1)
    _refuse_rates(rates)
    rules.rates = {**asdict(rates_of(rules)), **rates}
    if effort:
        rules.effort = _sound(Effort(**{**asdict(effort_of(rules)), **effort}))
    for name, value in values.items():
        setattr(rules, name, value)
    for day in (rules.nesting_from, rules.nesting_to):
        _refuse_day(day)
    rules.save()
    record.write(
        by=by,
        verb="rules set",
        subject=rules,
        summary="The city's rules for removals were set.",
        rates=rules.rates,
        effort=rules.effort,
    )
    return rules


def _refuse_rates(rates: Mapping[str, float]) -> None:
    for name, value in rates.items():
        if name not in RATES:
            raise Refused(f"“{name}” is no rate; use {', '.join(RATES)}.")
        if value < 0:
            raise Refused("A rate is 0 or more.")


def _sound(effort: Effort) -> dict[str, float]:
    if wrong := fault(effort):
        raise Refused(wrong)
    return asdict(effort)


def _refuse_day(text: str) -> None:
    """MM-DD, of any year."""
    try:
        dt.date.fromisoformat(f"{A_LEAP_YEAR}-{text}")
    except ValueError:
        raise Refused(f"“{text}” is no day of the year; write month and day, for example 03-01.") from None
