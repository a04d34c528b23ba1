"""The number owed for a removed tree: fixed once, when its removal order closes, and left alone by every later policy.

Until then one is owed: the task that opened with the felling. A tree found down is counted like any other when its order
closes; a young tree that failed owes nothing of its own, for the task that it was planted for reopens.
"""

from __future__ import annotations

import datetime as dt

from django.db import transaction
from django.utils import timezone

from inventory.access import Permission
from inventory.errors import Refused
from inventory.models import Condition, RecordEntry, Tree
from inventory.record import Actor
from inventory.steps import permit, said, short
from replanting import policy
from replanting.city_policy import current
from replanting.models import ObstacleKind, Owed, ReplacementTask
from replanting.obstacles import clear, put
from replanting.owed import AMOUNT_MOST, Count, Removed, Rule, Silent, count
from replanting.taking import locked, write

UNFIXED = "the number owed is to be fixed"
BY_HAND, ASKED = "by hand", "number owed open"
TREES_MOST = int(4 * AMOUNT_MOST)


def was_dead(tree: Tree) -> bool:
    """Dead before the day on which it came down, as far as is stored."""
    since = tree.dead_since is not None and (tree.removed_on is None or tree.dead_since < tree.removed_on)
    return since or tree.condition == Condition.DEAD


def fix_owed(*, by: Actor, tree: Tree, on: dt.date, dead: bool | None = None, diseased: bool = False) -> Owed | None:
    """Count what is owed for a removed tree by the policy of today. Call inside the transaction that closes its order.

    ``dead``: None takes what is stored. None comes back when the tree has no task of its own, or when the city's table does
    not speak of it: then a person fixes the number, and the queue says so.
    """
    first = ReplacementTask.objects.filter(removed_tree=tree, first=True).first()
    if first is None:
        return None
    task = locked(first)
    if known := Owed.objects.filter(removed_tree=tree).first():
        return known
    removed = Removed(tree.dbh_cm, was_dead(tree) if dead is None else dead, diseased)
    rule = current().rule
    try:
        counted = count(rule, removed)
    except Silent as silence:
        _ask(by, task, on, str(silence))
        return None
    return _fix(by, task, counted, rule.form, on)


def number_is_asked(task: ReplacementTask) -> bool:
    """The city's table did not speak of its tree, and nobody has fixed the number yet."""
    if not task.first or hasattr(task.removed_tree, "owed"):
        return False
    about = RecordEntry.objects.filter(subject_type=task._meta.label_lower, subject_id=str(task.pk))
    return about.filter(verb=ASKED).exists()


@transaction.atomic
def fix_by_hand(*, by: Actor, task: ReplacementTask, trees: int, reason: str, on: dt.date | None = None) -> Owed:
    """Fix the number for a tree of which the city's table does not speak."""
    permit(by, Permission.REPLANT)
    task = locked(ReplacementTask.objects.get(removed_tree=task.removed_tree_id, first=True))
    tree, rule = task.removed_tree, current().rule
    if known := Owed.objects.filter(removed_tree=tree).first():
        raise Refused(f"The number owed for {tree} is fixed already: {known.trees} ({known.rule}).")
    _refuse_counted(tree, rule)
    if not 1 <= trees <= TREES_MOST:
        raise Refused(f"{trees} trees are out of bounds; it is 1 to {TREES_MOST}.")
    words = said(reason, "Say why so many are owed.")
    counted = Count(trees, trees * rule.stock_cm, rule.section, words)
    return _fix(by, task, counted, BY_HAND, on or timezone.localdate())


def _refuse_counted(tree: Tree, rule: Rule) -> None:
    """By hand is for what the rule cannot say."""
    try:
        count(rule, Removed(tree.dbh_cm, was_dead(tree)))
    except Silent:
        return
    raise Refused(f"The city’s rule counts {tree} when its removal order closes; nothing is to be fixed by hand.")


def _fix(by: Actor, task: ReplacementTask, counted: Count, rule: str, on: dt.date) -> Owed:
    owed = Owed.objects.create(
        removed_tree=task.removed_tree,
        trees=counted.trees,
        cm=counted.cm,
        rule=rule,
        section=counted.section,
        words=short(counted.words, 300),
        fixed_on=on,
        fixed_by=by.name,
    )
    summary = f"Owed for {task.removed_tree}: {owed.trees}; rule: {rule}{f', {owed.section}' if owed.section else ''}."
    write(by, task, "number owed fixed", summary, on=on, trees=owed.trees, cm=round(owed.cm, 3), words=owed.words)
    asked = task.obstacles.filter(kind=ObstacleKind.OTHER, cleared_on__isnull=True, note__startswith=UNFIXED)
    clear(by, task, asked, on, "fixed")
    if owed.trees > 1:
        _open_further(by, task, owed.trees - 1, on)
    return owed


def _open_further(by: Actor, first: ReplacementTask, trees: int, on: dt.date) -> None:
    """The old spot takes one; the others wait together until somebody says where they go."""
    due_on = policy.due(first.opened_on, current()) if first.failures else first.due_on
    further = ReplacementTask.objects.create(
        removed_tree=first.removed_tree,
        first=False,
        units=trees,
        park_id=first.park_id,
        opened_on=first.opened_on,
        due_on=due_on,
    )
    summary = f"{trees} more owed for {first.removed_tree}, due with the first."
    write(by, further, "replacement opened", summary, on=on, trees=trees)
    put(by, further, ObstacleKind.DESIGN, "where they are to stand is not decided", on)


def _ask(by: Actor, task: ReplacementTask, on: dt.date, why: str) -> None:
    write(by, task, ASKED, f"The number owed is to be fixed by hand: {why}", on=on)
    if task.is_waiting and not task.obstacles.filter(kind=ObstacleKind.OTHER, cleared_on__isnull=True).exists():
        put(by, task, ObstacleKind.OTHER, short(f"{UNFIXED}: {why}", 300), on)
