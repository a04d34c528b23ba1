"""What the changes to a replacement share: the locked row, who may, what was said, the entry in the record."""

from __future__ import annotations

import datetime as dt
import textwrap
from typing import Any

from django.utils import timezone

from inventory import record
from inventory.access import Permission, allowed
from inventory.errors import Refused
from inventory.models import Tree
from inventory.record import Actor
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


def permit(by: Actor, permission: Permission) -> None:
    if by.user is None and by.via == record.COMMAND.via:
        return
    if by.user is None or not allowed(by.user, permission):
        raise Refused(f"{by.name} may not {permission.value}; ask somebody whose role includes it.")


def passed(on: dt.date) -> dt.date:
    if on > timezone.localdate():
        raise Refused(f"{day_words(on)} has not come yet; give the day on which it happened.")
    return on


def said(text: str, ask: str, limit: int = 300) -> str:
    text = text.strip()
    if not text:
        raise Refused(ask)
    if len(text) > limit:
        raise Refused(f"Up to {limit} characters, please; this has {len(text)}.")
    return text


def day_words(day: dt.date) -> str:
    return f"{day:%-d %b %Y}"


def short(text: str, limit: int) -> str:
    return textwrap.shorten(text, limit, placeholder="…")


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
