"""Asking for a look at a tree beyond the policy's rounds: after work on it, a storm, a concern.

Nobody needs a permission of their own here: who may close an order, a storm or a concern decides, and the pages ask for it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from django.db import transaction
from django.db.models import QuerySet
from django.db.models.functions import Least
from django.utils import timezone

from hazards.city_policy import held_still
from hazards.models import AskedLook, InspectionLevel, Standing
from hazards.workflow import restand
from inventory import record
from inventory.errors import Refused
from inventory.models import RecordEntry, Tree
from inventory.record import Actor
from inventory.steps import day_words, said, short

FIRST, LAST = dt.date(1950, 1, 1), dt.date(2200, 1, 1)
_AT_ONCE = 2_000


@transaction.atomic
def ask_look(
    *, by: Actor, tree: Tree, due_on: dt.date, why: str, level: int = 2, since: dt.datetime | None = None
) -> AskedLook:
    """A look is due at the tree by ``due_on``, met by an inspection of at least ``level`` observed at or after ``since``.

    ``since``: now unless given; an inspection that is there already may meet it. Refused for a tree that is gone.
    """
    tree = Tree.objects.select_for_update(of=("self",)).select_related("species").get(pk=tree.pk)
    if not tree.stands:
        raise Refused(f"{tree.tag} was removed on {day_words(tree.removed_on)}; ask for a look at a standing tree.")
    asked = _asked(by, tree.pk, due_on, why, level, since)
    asked.save(force_insert=True)
    restand(tree)
    _entry(by, asked, tree).save(force_insert=True)
    asked.refresh_from_db(fields=["met_by"])
    return asked


@transaction.atomic
def ask_looks(*, by: Actor, trees: QuerySet[Tree], due_on: dt.date, why: str, level: int = 2) -> int:
    """The same for many standing trees in a few statements, from now on; how many there are. Each gets its entry."""
    standing = trees.standing().order_by("pk")  # type: ignore[attr-defined]
    locked = list(standing.select_for_update(of=("self",)))
    # After the trees, as whoever works out a single row does: a policy that is being changed dates these looks too.
    held_still()
    for first in range(0, len(locked), _AT_ONCE):
        _ask_all(by, locked[first : first + _AT_ONCE], due_on, why, level)
    return len(locked)


def _ask_all(by: Actor, trees: Sequence[Tree], due_on: dt.date, why: str, level: int) -> None:
    pairs = [(_asked(by, tree.pk, due_on, why, level, None), tree) for tree in trees]
    AskedLook.objects.bulk_create(asked for asked, _ in pairs)
    # An empty day is passed over by LEAST, so that a tree nobody has inspected is dated too.
    Standing.objects.filter(pk__in=[tree.pk for tree in trees]).update(inspect_due=Least("inspect_due", due_on))
    RecordEntry.objects.bulk_create(_entry(by, asked, tree) for asked, tree in pairs)


def _asked(by: Actor, tree: int, due_on: dt.date, why: str, level: int, since: dt.datetime | None) -> AskedLook:
    if level not in InspectionLevel.values:
        raise Refused(f"There is no inspection level {level}; it is 1, 2 or 3.")
    if not FIRST <= due_on <= LAST:
        raise Refused(f"A look by {day_words(due_on)} cannot be meant; mend the year.")
    why = said(why, "Say why the tree is to be looked at.", 300)
    return AskedLook(tree_id=tree, due_on=due_on, why=why, level=level, since=since or timezone.now(), asked_by=by.user)


def _entry(by: Actor, asked: AskedLook, tree: Tree) -> RecordEntry:
    summary = f"A look of level {asked.level} or more is due by {day_words(asked.due_on)}: {asked.why}"
    return record.entry(by=by, verb="asked for a look", subject=asked, tree=tree, summary=short(summary, 300))
