"""What the changes to a replacement share: the locked row moved on by the table, and the entry in the record."""

from __future__ import annotations

import datetime as dt
from typing import Any

from inventory import record
from inventory.models import Tree
from inventory.record import Actor
from inventory.steps import permit, short
from replanting.models import ReplacementTask
from replanting.states import Action, step

SUMMARY_MOST = 300


def taken(by: Actor, task: ReplacementTask, action: Action) -> ReplacementTask:
    """The task's locked row, moved on by the action; not yet saved."""
    task = locked(task)
    found = step(task.state, action)
    permit(by, found.permission)
    task.state = found.to
    return task


def locked(task: ReplacementTask) -> ReplacementTask:
    rows = ReplacementTask.objects.select_related("removed_tree", "species")
    locked: ReplacementTask = rows.select_for_update(of=("self",)).get(pk=task.pk)
    return locked


def write(
    by: Actor,
    task: ReplacementTask,
    verb: str,
    summary: str,
    tree: Tree | None = None,
    *,
    on: dt.date | None = None,
    **data: Any,
) -> None:
    if on:
        data["on"] = on.isoformat()
    record.write(
        by=by, verb=verb, subject=task, tree=tree or task.removed_tree, summary=short(summary, SUMMARY_MOST), **data
    )
