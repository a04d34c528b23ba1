"""The policy of replacement that holds in the city: read where a promise is made, changed by one person at a time.

A change counts from then on: a number that was fixed and a day that was promised stay as they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db import connection, transaction

from inventory import record
from inventory.access import Permission
from inventory.errors import Refused
from inventory.record import Actor
from inventory.steps import permit, short
from replanting.care import WATER_RULES
from replanting.models import PolicyRow, ReplantingPolicy
from replanting.owed import Row, Rule
from replanting.policy import DEFAULT, Policy, faults

_LOCK = 0x7265706C616E74  # any number that no other lock of the program uses
TIMES = ("plant_within_months", "replant_within_months", "guarantee_months", "visit_every_days", "water_rule")
RULE = ("form", "section", "counted_cm", "stock_cm", "dead_counted", "diseased_counted")


def current() -> Policy:
    """What holds today, the program's defaults while the city has set none."""
    row = ReplantingPolicy.objects.first()
    return policy_of(row) if row else DEFAULT


def policy_of(row: ReplantingPolicy) -> Policy:
    rows = tuple(Row(each.from_cm, each.amount, each.section) for each in row.rows.all())
    rule = Rule(rows=rows, **{name: getattr(row, name) for name in RULE})
    return Policy(rule=rule, **{name: getattr(row, name) for name in TIMES})


@transaction.atomic
def change_policy(*, by: Actor, policy: Policy, seen: int) -> Policy:
    """Set the city's policy. ``seen`` is the version that the person looked at, 0 for the defaults.

    Refused when somebody changed it since, and with what is wrong in the policy itself.
    """
    permit(by, Permission.SET_POLICY)
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [_LOCK])
    row = ReplantingPolicy.objects.first() or ReplantingPolicy()
    if row.version != seen:
        raise Refused("The policy was changed while this page was open; look at it again and repeat your change.")
    if wrong := faults(policy, frozenset(WATER_RULES)):
        raise Refused(wrong[0])
    before, after = _facts(policy_of(row) if row.version else DEFAULT), _facts(policy)
    changes = {name: [before[name], after[name]] for name in after if before[name] != after[name]}
    if not changes:
        return policy
    _save(row, policy)
    record.write(by=by, verb="set the policy", subject=row, summary=_summary(changes), changes=changes)
    return policy


def _save(row: ReplantingPolicy, policy: Policy) -> None:
    for name in RULE:
        setattr(row, name, getattr(policy.rule, name))
    for name in TIMES:
        setattr(row, name, getattr(policy, name))
    row.version += 1
    row.save()
    row.rows.all().delete()
    PolicyRow.objects.bulk_create(
        PolicyRow(policy=row, from_cm=each.from_cm, amount=each.amount, section=each.section)
        for each in policy.rule.rows
    )


def _facts(policy: Policy) -> dict[str, Any]:
    """As the record keeps them."""
    rule = {name: getattr(policy.rule, name) for name in RULE}
    times = {name: getattr(policy, name) for name in TIMES}
    return {**rule, **times, "rows": _rows(policy.rule.rows)}


def _rows(rows: Sequence[Row]) -> list[list[Any]]:
    return [[round(row.from_cm, 3), row.amount, row.section] for row in rows]


def _summary(changes: dict[str, list[Any]]) -> str:
    said = "; ".join(f"{_in_words(name)}: {_shown(old)} → {_shown(new)}" for name, (old, new) in changes.items())
    return short(f"Set the policy of replacement: {said}.", 300)


def _in_words(name: str) -> str:
    return name.replace("_cm", "").replace("_", " ")


def _shown(value: Any) -> str:
    if isinstance(value, list):
        return f"{len(value)} rows"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.2f} cm" if isinstance(value, float) else str(value) or "none"
