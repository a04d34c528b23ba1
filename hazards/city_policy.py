"""The policy that holds in the city: read while a row is worked out, changed by one person at a time.

A change dates and orders the whole city anew in one statement. Whoever works out a single row meanwhile holds the policy still
until the end of the transaction, so that no row is left with dates or a place of the old policy.
"""

from __future__ import annotations

from typing import Any

from django.db import connection, transaction
from django.utils import timezone

from hazards.matrix import Consequences, FailureAndImpact, Level, Occupancy, Rating
from hazards.models import CityPolicy
from hazards.policy import DEFAULT, Policy, faults
from hazards.triage import (
    DATE_BITS,
    IMMINENT_WEIGHT,
    NO_DATE,
    NO_WORK_DUE,
    RATING_WEIGHT,
    WORK_DUE_BY,
    Criterion,
    weights,
)
from inventory import record
from inventory.errors import Refused
from inventory.record import Actor

WEIGHT_NAMES = {criterion: criterion.name.lower() for criterion in Criterion}
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
        look_days={rating: getattr(row, f"{rating.value}_look_days") for rating in Rating},
        order=tuple(Criterion(each) for each in row.order),
        rerating_days=row.rerating_days,
    )


Value = int | list[str] | None


def fields_of(policy: Policy) -> dict[str, Value]:
    """As the columns of ``CityPolicy`` hold it."""
    return {
        "imminent_days": policy.imminent_work_days,
        **{f"{rating.value}_days": policy.work_days[rating] for rating in reversed(Rating)},
        **{f"{use.value}_months": policy.round_months[use] for use in reversed(Occupancy)},
        "dead_days": policy.dead_inspection_days,
        **{f"{rating.value}_look_days": policy.look_days[rating] for rating in reversed(Rating)},
        "order": [criterion.value for criterion in policy.order],
        "rerating_days": policy.rerating_days,
    }


@transaction.atomic
def change_policy(*, by: Actor, policy: Policy, seen: int) -> int:
    """Set the city's policy; date and order every inspected standing tree anew; how many rows changed.

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
    count = rework_the_city(policy)
    record.write(by=by, verb="set the policy", subject=row, summary=_summary(changes), changes=changes)
    return count


def in_words(name: str) -> str:
    """``high_days`` → high, days."""
    return ", ".join(name.split("_"))


def _summary(changes: dict[str, list[Value]]) -> str:
    said = "; ".join(f"{in_words(name)}: {_shown(old)} → {_shown(new)}" for name, (old, new) in changes.items())
    return f"Set the policy: {said}."[:300]


def _shown(value: Value) -> str:
    if isinstance(value, list):
        return ", ".join(value) or "nothing"
    return "next round" if value is None else str(value)


# The rules of `governing` (which looks count), `policy` (days added to their day) and `triage` (digits and their weights)
# once more, for a million trees in one statement. A test works every row out again one by one and finds nothing to change.
_REWORK_THE_CITY = """
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
            s.inspected_on + LEAST(CASE WHEN t.status = 'dead standing' THEN %(dead_days)s END, look_again.days)
        ) AS inspect_due
    FROM hazards_standing s
    JOIN inventory_tree t ON t.id = s.tree_id
    JOIN rounds ON rounds.tree_id = s.tree_id
    LEFT JOIN found ON found.tree_id = s.tree_id
    LEFT JOIN unnest(%(ratings)s::text[], %(look_days)s::int[]) AS look_again (rating, days)
        ON look_again.rating = CASE WHEN s.imminent THEN %(extreme)s ELSE s.rating END
    LEFT JOIN asked ON asked.tree_id = s.tree_id
    CROSS JOIN LATERAL (SELECT COALESCE(found.most_used[2], %(shortest)s) AS days) AS stay
), ordered AS (
    SELECT dated.*,
        CASE WHEN s.imminent THEN 0 ELSE %(imminent_weight)s::bigint END
        + (array_position(%(ratings)s::text[], s.rating::text) - 1) * %(rating_weight)s::bigint
        + (array_position(%(likelihoods)s::text[], a.failure_and_impact::text) - 1) * %(failure_and_impact)s::bigint
        + (array_position(%(consequences_words)s::text[], a.consequences::text) - 1) * %(consequences)s::bigint
        + (array_position(%(uses)s::text[], a.occupancy::text) - 1) * %(occupancy)s::bigint
        + %(decline)s::bigint * CASE
            WHEN t.status = 'dead standing' THEN COALESCE(t.dead_since - DATE '0001-01-01' + 1, 0)
            WHEN t.condition = 'dying' THEN %(a_decline)s + COALESCE(s.declining_since - DATE '0001-01-01' + 1, 0)
            ELSE 2 * %(a_decline)s + %(no_date)s
        END
        + CASE WHEN species.flag LIKE %(weak_wood_flag)s THEN 0 ELSE %(weak_wood)s::bigint END
        + COALESCE(dated.work_due - DATE '0001-01-01' + 1, %(no_date)s) * %(due)s::bigint AS triage_key
    FROM dated
    JOIN hazards_standing s ON s.tree_id = dated.tree_id
    JOIN inventory_tree t ON t.id = dated.tree_id
    LEFT JOIN inventory_species species ON species.id = t.species_id
    LEFT JOIN hazards_assessment a ON a.id = s.assessment_id
)
UPDATE hazards_standing s SET
    work_due = ordered.work_due,
    inspect_due = ordered.inspect_due,
    triage_key = ordered.triage_key,
    reason = regexp_replace(
        s.reason, %(due_pattern)s,
        COALESCE(%(due_by)s || to_char(ordered.work_due, 'FMDD Mon YYYY'), %(none_due)s) || '.'
    )
FROM ordered
WHERE ordered.tree_id = s.tree_id
    AND (s.work_due, s.inspect_due, s.triage_key)
        IS DISTINCT FROM (ordered.work_due, ordered.inspect_due, ordered.triage_key)
"""


def rework_the_city(policy: Policy) -> int:
    """Dates and keys of every inspected standing tree by ``policy``, in one statement; how many rows changed."""
    with connection.cursor() as cursor:
        cursor.execute(_REWORK_THE_CITY, {**_dates(policy), **_order(policy)})
        return int(cursor.rowcount)


def _worst_first(levels: type[Level]) -> list[str]:
    return [level.value for level in reversed(list(levels))]


def _order(policy: Policy) -> dict[str, Any]:
    """Words with the worst first, so that a word's place is its digit, and what each digit weighs."""
    return {
        "likelihoods": _worst_first(FailureAndImpact),
        "consequences_words": _worst_first(Consequences),
        "imminent_weight": IMMINENT_WEIGHT,
        "rating_weight": RATING_WEIGHT,
        "a_decline": 1 << DATE_BITS,
        "no_date": NO_DATE,
        "weak_wood_flag": "%weak wood%",
        **{name: weights(policy.order)[criterion] for criterion, name in WEIGHT_NAMES.items()},
    }


def _dates(policy: Policy) -> dict[str, Any]:
    return {
        "zone": timezone.get_current_timezone_name(),
        "imminent": policy.imminent_work_days,
        "ratings": _worst_first(Rating),
        "extreme": Rating.EXTREME.value,
        "work_days": [policy.work_days[rating] for rating in reversed(Rating)],
        "look_days": [policy.look_days[rating] for rating in reversed(Rating)],
        "uses": _worst_first(Occupancy),
        "use_ranks": [use.rank for use in reversed(Occupancy)],
        "use_days": [policy.round_days(use) for use in reversed(Occupancy)],
        "shortest": policy.round_days(Occupancy.CONSTANT),
        "dead_days": policy.dead_inspection_days,
        "due_pattern": rf"({WORK_DUE_BY} [0-9]{{1,2}} [A-Z][a-z]{{2}} [0-9]{{4}}|{NO_WORK_DUE})\.$",
        "due_by": f"{WORK_DUE_BY} ",
        "none_due": NO_WORK_DUE,
    }
