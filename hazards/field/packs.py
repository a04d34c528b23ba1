"""A park as a tablet takes it along, and what of it has changed since it was taken.

What changed is read from the rows' own transaction numbers (``xmin``), so that it costs no writing and needs nobody's
discipline. A token is the oldest transaction still under way when a pack was begun: whatever was not yet visible then was
written by that one or a later one, also when it commits late, so the next refresh finds it. A row may come twice; none is
missed. Numbers are compared on the circle of 32 bits that PostgreSQL keeps in a row; a token that is half a circle old
gives the whole pack again.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import connection, models
from django.db.models import Q, QuerySet
from django.db.models.expressions import RawSQL

from hazards.advice import LONG_DEAD_DAYS, long_dead
from hazards.field.receiving import SCHEMA
from hazards.models import AskedLook, Concern, FieldGone, MitigationOrder, Standing, Target
from hazards.observation import scatters_when_it_falls
from inventory.access import Permission
from inventory.models import Park, Species, Tree, TreeStatus
from inventory.sent import digest

HALF_CIRCLE = 2**31
# A row read after the token was taken has a number ahead of it: that counts as changed, not as half a circle old.
AHEAD = 2**24
POSITION_DIGITS = 7


@dataclass(frozen=True)
class Since:
    """What an earlier pack knew: transactions before ``transaction``; ``age``: how many there were since, and some ahead."""

    transaction: int
    on: dt.date
    horizon: int

    @property
    def age(self) -> int:
        return self.horizon - self.transaction

    def changed(self, *tables: type[models.Model]) -> Q:
        """Whether the row of any of these tables, joined by the query, was written since; a missing row was not."""
        tests = [
            f'COALESCE(((%s - "{table._meta.db_table}".xmin::text::bigint) & 4294967295) <= %s, false)'
            for table in tables
        ]
        given = [self.horizon, self.age] * len(tables)
        return Q(RawSQL(f"({' OR '.join(tests)})", given, output_field=models.BooleanField()))  # noqa: S611 - our own names


@dataclass(frozen=True)
class Asked:
    """A pack that is being made: of which park, for whom, on which day, since when (None: the whole)."""

    park: Park
    granted: frozenset[Permission]
    on: dt.date
    since: Since | None = None

    def now(self, rows: QuerySet[Any], *tables: type[models.Model]) -> QuerySet[Any]:
        """Those that changed, when something is known already."""
        return rows.filter(self.since.changed(*tables)) if self.since else rows


@dataclass(frozen=True)
class Table:
    """Columns and rows of a part, and the ids that a tablet may hold and should not hold any more."""

    columns: Sequence[str]
    rows: Iterable[Sequence[Any]]
    gone: Iterable[Any] = ()


@dataclass(frozen=True)
class Part:
    """One part of a pack. ``read`` gives a Table, or a value that is sent whole every time."""

    name: str
    read: Callable[[Asked], Any]
    permission: Permission = Permission.READ


# ---- Token -----------------------------------------------------------------------------------------------------------


def _snapshot() -> tuple[int, int]:
    """The oldest transaction under way, and the next one."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_snapshot_xmin(s)::text::bigint, pg_snapshot_xmax(s)::text::bigint FROM pg_current_snapshot() s"
        )
        oldest, following = cursor.fetchone()
    return oldest, following


def _shape(parts: Sequence[Part], park: Park) -> str:
    """What else a pack depends on: other parts, another program or another park ask for the whole again."""
    return digest(SCHEMA, park.pk, connection.settings_dict["NAME"], [part.name for part in parts])[:8]


def _known(token: str, shape: str, following: int) -> Since | None:
    try:
        told, transaction, day = token.split(".")
        since = Since(int(transaction), dt.date.fromisoformat(day), following + AHEAD)
    except ValueError:
        return None
    fits = told == shape and 0 < since.transaction <= following and since.age < HALF_CIRCLE
    return since if fits else None


def pack(
    park: Park, parts: Iterable[Part], *, granted: frozenset[Permission], on: dt.date, token: str = ""
) -> dict[str, Any]:
    """The whole park, or what changed since the pack that came with ``token``."""
    allowed = [part for part in parts if part.permission in granted]
    shape = _shape(allowed, park)
    # Before the first row is read: what is written meanwhile comes again rather than not at all.
    oldest, following = _snapshot()
    asked = Asked(park, granted, on, _known(token, shape, following))
    read = {part.name: part.read(asked) for part in allowed}
    tables = {name: each for name, each in read.items() if isinstance(each, Table)}
    return {
        "schema": SCHEMA,
        "park": {"code": park.code, "name": park.name},
        "token": f"{shape}.{oldest}.{on.isoformat()}",
        "full": asked.since is None,
        "parts": {name: _sent(each) for name, each in read.items()},
        "gone": {name: list(each.gone) for name, each in tables.items()} if asked.since else {},
    }


def _sent(part: Any) -> Any:
    return {"columns": list(part.columns), "rows": list(part.rows)} if isinstance(part, Table) else part


# ---- Parts -----------------------------------------------------------------------------------------------------------

TREE_COLUMNS = (
    "id",
    "tag",
    "species",
    "cultivar",
    "lon",
    "lat",
    "status",
    "condition",
    "dbh_cm",
    "height_m",
    "crown_spread_m",
    "rating",
    "imminent",
    "reason",
    "failure",
    "impact",
    "failure_and_impact",
    "consequences",
    "inspected_on",
    "inspect_due",
    "work_due",
    "last_inspection",
    "scatters",
    "long_dead",
)
_TREE = ("pk", "tag", "species_id", "cultivar")
_SIZE = ("status", "condition", "dbh_cm", "height_m", "crown_spread_m")
_STANDING = tuple(f"standing__{name}" for name in ("rating", "imminent", "reason"))
_PICKS = tuple(f"standing__assessment__{name}" for name in ("failure", "impact", "failure_and_impact", "consequences"))
_DATES = tuple(f"standing__{name}" for name in ("inspected_on", "inspect_due", "work_due", "inspection_id"))


def trees(asked: Asked) -> Table:
    of_park = Tree.objects.filter(park=asked.park).order_by("pk")
    rows = of_park.standing()
    if asked.since:
        changed = asked.since.changed(Tree, Standing, Species)
        rows = rows.filter(changed | Q(_long_dead_since(asked.since, asked.on)))
    fields = (*_TREE, "lon", "lat", *_SIZE, *_STANDING, *_PICKS, *_DATES, "dead_since", "species__flag")
    found = rows.select_related("standing", "species").values_list(*fields)
    return Table(TREE_COLUMNS, [_tree_row(row, asked.on) for row in found.iterator(2000)], _trees_gone(asked, of_park))


def _tree_row(row: Sequence[Any], on: dt.date) -> list[Any]:
    *told, dead_since, flag = row
    status = told[6]
    tree = Tree(status=status, species=Species(flag=flag) if flag else None)
    told[4], told[5] = (None if each is None else round(each, POSITION_DIGITS) for each in told[4:6])
    told[12] = bool(told[12])
    return [*told, scatters_when_it_falls(tree), long_dead(dead=tree.is_dead, dead_since=dead_since, on=on)]


def _long_dead_since(since: Since, on: dt.date) -> Q:
    """Nobody wrote these rows: the days alone made them long dead."""
    over = dt.timedelta(days=LONG_DEAD_DAYS)
    return Q(status=TreeStatus.DEAD_STANDING, dead_since__gte=since.on - over, dead_since__lt=on - over)


def _trees_gone(asked: Asked, of_park: Any) -> list[int]:
    if not asked.since:
        return []
    return [*_left(asked, "trees"), *of_park.removed().filter(asked.since.changed(Tree)).values_list("pk", flat=True)]


def _left(asked: Asked, part: str) -> list[int]:
    if not asked.since:
        return []
    left = FieldGone.objects.filter(park=asked.park, part=part, transaction__gte=asked.since.transaction)
    return list(left.values_list("row", flat=True).distinct())


TARGET_COLUMNS = ("id", "name", "kind", "occupancy", "movable", "lon", "lat")


def targets(asked: Asked) -> Table:
    rows = asked.now(Target.objects.filter(park=asked.park).order_by("pk"), Target)
    found = rows.values_list("pk", *TARGET_COLUMNS[1:])
    return Table(TARGET_COLUMNS, found, _left(asked, "targets"))


def concerns(asked: Asked) -> Table:
    """Open ones at a tree; never how to reach whoever told it."""
    rows = Concern.objects.filter(park=asked.park, tree__isnull=False).order_by("pk")
    found = [
        [each.pk, each.tree_id, each.received_at.date(), _in_words(each)] for each in asked.now(rows.open(), Concern)
    ]
    return Table(("id", "tree", "reported_on", "text"), found, closed(asked, Concern, rows.open()))


def _in_words(concern: Concern) -> str:
    return ": ".join(each for each in (concern.get_seen_display(), concern.description) if each)


def closed(asked: Asked, model: type[models.Model], still: QuerySet[Any]) -> list[Any]:
    """Written since, and not among those that the part holds: whatever they were before, a tablet forgets them."""
    if not asked.since:
        return []
    written = model._default_manager.filter(asked.since.changed(model))
    return list(written.exclude(pk__in=still.values("pk")).values_list("pk", flat=True))


def looks(asked: Asked) -> Table:
    """Asked for beyond the rounds, and not yet met."""
    rows = AskedLook.objects.open().filter(tree__park=asked.park).order_by("pk")
    found = asked.now(rows, AskedLook).values_list("pk", "tree_id", "due_on", "why", "level")
    return Table(("id", "tree", "due_on", "why", "level"), found, closed(asked, AskedLook, rows))


def work(asked: Asked) -> Table:
    """Open work other than removal."""
    rows = MitigationOrder.objects.open().filter(park=asked.park).order_by("pk")
    found = asked.now(rows, MitigationOrder).values_list("pk", "tree_id", "kind", "reason", "due_on")
    shown = [[pk, tree, f"{kind}: {reason}", due_on] for pk, tree, kind, reason, due_on in found]
    return Table(("id", "tree", "what", "due_on"), shown, closed(asked, MitigationOrder, rows))


def the_park(asked: Asked) -> Mapping[str, Any]:
    return {"boundary": asked.park.boundary}


PARTS = (
    Part("trees", trees),
    Part("targets", targets),
    Part("concerns", concerns),
    Part("looks", looks),
    Part("work", work),
    Part("park", the_park),
)
