"""The policy that holds in the city: read while a row is worked out, changed by one person at a time.

A change dates the whole city anew in one statement. Whoever works out a single row meanwhile holds the policy still until the
end of the transaction, so that no row is left with dates of the old policy.
"""

from __future__ import annotations

from typing import Any

from django.db import connection, transaction
from django.utils import timezone

from hazards.matrix import Occupancy, Rating
from hazards.models import CityPolicy
from hazards.policy import DEFAULT, Policy, faults
from hazards.triage import DUE_BITS, NO_WORK_DUE, WORK_DUE_BY
from inventory import record
from inventory.errors import Refused
from inventory.record import Actor

_LOCK = 0x706F6C696379  # any number that no other lock of the program uses


def current() -> Policy:
    """What holds today, the program's defaults while the city has set none."""
    row = CityPolicy.objects.first()
    return policy_of(row) if row else DEFAULT


def held_still() -> Policy:
    """The same, and it stays so until the end of the transaction; many may hold it at once."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock_shared(%s)", [_LOCK])
    return current()


def policy_of(row: CityPolicy) -> Policy:
    return Policy(
        work_days={rating: getattr(row, f"{rating.value}_days") for rating in Rating},
        imminent_work_days=row.imminent_days,
        round_months={use: getattr(row, f"{use.value}_months") for use in Occupancy},
        dead_inspection_days=row.dead_days,
        rerating_days=row.rerating_days,
    )


def fields_of(policy: Policy) -> dict[str, int | None]:
    """As the columns of ``CityPolicy`` hold it."""
    return {
        "imminent_days": policy.imminent_work_days,
        **{f"{rating.value}_days": policy.work_days[rating] for rating in reversed(Rating)},
        **{f"{use.value}_months": policy.round_months[use] for use in reversed(Occupancy)},
        "dead_days": policy.dead_inspection_days,
        "rerating_days": policy.rerating_days,
    }


@transaction.atomic
def change_policy(*, by: Actor, policy: Policy, seen: int) -> int:
    """Set the city's policy and date every inspected standing tree anew; how many rows changed.

    ``seen`` is the version that the person looked at, 0 for the defaults: Refused when somebody changed it since. Refused
    also with what is wrong in the policy itself.
    """
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [_LOCK])
    row = CityPolicy.objects.first() or CityPolicy()
    if row.version != seen:
        raise Refused("The policy was changed while this page was open; look at it again and repeat your change.")
    if wrong := faults(policy):
        raise Refused(wrong[0])
    before, after = fields_of(policy_of(row) if row.version else DEFAULT), fields_of(policy)
    changes = {name: [before[name], after[name]] for name in after if before[name] != after[name]}
    if not changes:
        return 0
    for name, value in after.items():
        setattr(row, name, value)
    row.version += 1
    row.save()
    count = _date_the_city(policy)
    record.write(by=by, verb="set the policy", subject=row, summary=_summary(changes), changes=changes)
    return count


def in_words(name: str) -> str:
    """``high_days`` → high, days."""
    return ", ".join(name.split("_"))


def _summary(changes: dict[str, list[int | None]]) -> str:
    said = "; ".join(f"{in_words(name)}: {_shown(old)} → {_shown(new)}" for name, (old, new) in changes.items())
    return f"Set the policy: {said}."[:300]


def _shown(value: int | None) -> str:
    return "next round" if value is None else str(value)


# The rules of `governing` (which looks count) and `policy` (days added to their day) once more, for a million trees in one
# statement. A test works every row out again one by one and finds nothing to change.
_DATE_THE_CITY = """
WITH looks AS (
    SELECT i.id, i.tree_id, i.level, i.observed_at, (i.observed_at AT TIME ZONE %(zone)s)::date AS day
    FROM hazards_inspection i
    WHERE NOT i.tree_was_removed
        AND NOT EXISTS (SELECT FROM hazards_inspection c WHERE c.supersedes_id = i.id)
), rated AS (
    SELECT * FROM looks l WHERE EXISTS (SELECT FROM hazards_assessment a WHERE a.inspection_id = l.id)
), governing AS (
    SELECT DISTINCT ON (tree_id) tree_id, observed_at, id FROM rated WHERE level >= 2
    ORDER BY tree_id, observed_at DESC, id DESC
), found AS (
    SELECT r.tree_id,
        min(r.day + LEAST(work.days, CASE WHEN a.failure = 'imminent' THEN %(imminent)s END)) AS work_due,
        max(ARRAY[uses.rank, uses.days]) AS most_used
    FROM rated r
    LEFT JOIN governing g ON g.tree_id = r.tree_id
    JOIN hazards_assessment a ON a.inspection_id = r.id
    JOIN unnest(%(ratings)s::text[], %(work_days)s::int[]) AS work (rating, days) ON work.rating = a.rating
    JOIN unnest(%(uses)s::text[], %(use_ranks)s::int[], %(use_days)s::int[]) AS uses (occupancy, rank, days)
        ON uses.occupancy = a.occupancy
    WHERE g.id IS NULL OR (r.observed_at, r.id) >= (g.observed_at, g.id)
    GROUP BY r.tree_id
), rounds AS (
    SELECT DISTINCT ON (tree_id) tree_id, day FROM looks
    ORDER BY tree_id, level >= 2 DESC, observed_at DESC, id DESC
), asked AS (
    SELECT tree_id, min(due_on) AS due_on FROM hazards_askedlook WHERE met_by_id IS NULL GROUP BY tree_id
), dated AS (
    SELECT s.tree_id, found.work_due,
        LEAST(
            asked.due_on,
            rounds.day + stay.days,
            CASE WHEN t.status = 'dead standing' THEN s.inspected_on + LEAST(stay.days, %(dead_days)s) END
        ) AS inspect_due
    FROM hazards_standing s
    JOIN inventory_tree t ON t.id = s.tree_id
    JOIN rounds ON rounds.tree_id = s.tree_id
    LEFT JOIN found ON found.tree_id = s.tree_id
    LEFT JOIN asked ON asked.tree_id = s.tree_id
    CROSS JOIN LATERAL (SELECT COALESCE(found.most_used[2], %(shortest)s) AS days) AS stay
)
UPDATE hazards_standing s SET
    work_due = dated.work_due,
    inspect_due = dated.inspect_due,
    triage_key = (s.triage_key & ~%(due_bits)s::bigint) | COALESCE(dated.work_due - DATE '0001-01-01' + 1, %(due_bits)s),
    reason = regexp_replace(
        s.reason, %(due_pattern)s,
        COALESCE(%(due_by)s || to_char(dated.work_due, 'FMDD Mon YYYY'), %(none_due)s) || '.'
    )
FROM dated
WHERE dated.tree_id = s.tree_id
    AND (s.work_due IS DISTINCT FROM dated.work_due OR s.inspect_due IS DISTINCT FROM dated.inspect_due)
"""


def _date_the_city(policy: Policy) -> int:
    with connection.cursor() as cursor:
        cursor.execute(_DATE_THE_CITY, _parameters(policy))
        return int(cursor.rowcount)


def _parameters(policy: Policy) -> dict[str, Any]:
    return {
        "zone": timezone.get_current_timezone_name(),
        "imminent": policy.imminent_work_days,
        "ratings": [rating.value for rating in Rating],
        "work_days": [policy.work_days[rating] for rating in Rating],
        "uses": [use.value for use in Occupancy],
        "use_ranks": [use.rank for use in Occupancy],
        "use_days": [policy.round_days(use) for use in Occupancy],
        "shortest": policy.round_days(Occupancy.CONSTANT),
        "dead_days": policy.dead_inspection_days,
        "due_bits": DUE_BITS,
        "due_pattern": rf"({WORK_DUE_BY} [0-9]{{1,2}} [A-Z][a-z]{{2}} [0-9]{{4}}|{NO_WORK_DUE})\.$",
        "due_by": f"{WORK_DUE_BY} ",
        "none_due": NO_WORK_DUE,
    }
