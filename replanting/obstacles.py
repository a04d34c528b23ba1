"""What stands in the way of planting: put down by name, cleared by name, and left behind with the spot that it belonged to."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from django.db import transaction
from django.utils import timezone

from inventory.access import Permission
from inventory.errors import Refused
from inventory.models import Tree
from inventory.record import Actor
from inventory.steps import day_words, past, permit, said
from replanting.models import Obstacle, ObstacleKind, ReplacementTask
from replanting.taking import locked, write


@transaction.atomic
def put_obstacle(*, by: Actor, task: ReplacementTask, kind: str, note: str = "", on: dt.date | None = None) -> Obstacle:
    """Say that something stands in the way of a replacement that waits."""
    permit(by, Permission.REPLANT)
    task = locked(task)
    if not task.is_waiting:
        raise Refused(
            f"This replacement is “{task.state}”: nothing stands in the way of what does not wait for planting."
        )
    if kind not in ObstacleKind.values:
        raise Refused(f"“{kind}” is nothing that stands in the way; use {', '.join(ObstacleKind.values)}.")
    if kind == ObstacleKind.OTHER or note.strip():
        note = said(note, "Say what stands in the way.")
    if known := task.obstacles.filter(kind=kind, cleared_on__isnull=True).first():
        raise Refused(f"“{kind}” stands in the way since {day_words(known.put_on)} already, by {known.put_by}.")
    return put(by, task, kind, note, past(on or timezone.localdate()))


@transaction.atomic
def clear_obstacle(*, by: Actor, obstacle: Obstacle, note: str = "", on: dt.date | None = None) -> Obstacle:
    """It stands in the way no more."""
    permit(by, Permission.REPLANT)
    task = locked(obstacle.task)
    obstacle = task.obstacles.get(pk=obstacle.pk)
    if obstacle.cleared_on:
        raise Refused(f"“{obstacle.kind}” was cleared on {day_words(obstacle.cleared_on)} already.")
    on = past(on or timezone.localdate())
    if on < obstacle.put_on:
        raise Refused(f"It stands in the way since {day_words(obstacle.put_on)}; it cannot be cleared before that.")
    clear(by, task, [obstacle], on, said(note, "", 300) if note.strip() else "")
    return obstacle


def stump_is_out(*, by: Actor, tree: Tree, on: dt.date) -> None:
    """The stump of a removed tree was ground or dug out. Call inside the transaction that says so."""
    for task in _on_the_spot(tree):
        clear(
            by, task, task.obstacles.filter(kind=ObstacleKind.STUMP, cleared_on__isnull=True), on, "ground or dug out"
        )


def stump_is_in(*, by: Actor, tree: Tree, on: dt.date, note: str = "") -> None:
    """The stump is there, again or on purpose. Call inside the transaction that says so."""
    for task in _on_the_spot(tree):
        if not task.is_waiting:
            continue
        open_one = task.obstacles.filter(kind=ObstacleKind.STUMP, cleared_on__isnull=True)
        if not open_one.update(note=note):
            put(by, task, ObstacleKind.STUMP, note, on)


def _on_the_spot(tree: Tree) -> list[ReplacementTask]:
    first = ReplacementTask.objects.filter(removed_tree=tree, first=True).first()
    task = locked(first) if first else None
    return [task] if task and task.on_the_old_spot else []


def put(by: Actor, task: ReplacementTask, kind: str, note: str, on: dt.date) -> Obstacle:
    """Within a step that holds the task's row."""
    made = Obstacle.objects.create(task=task, kind=kind, note=note, put_on=on, put_by=by.name)
    write(by, task, "obstacle", f"In the way: {kind}{f', {note}' if note else ''}.", on=on, kind=kind)
    return made


def clear(by: Actor, task: ReplacementTask, obstacles: Iterable[Obstacle], on: dt.date, note: str) -> None:
    """Within a step that holds the task's row."""
    for obstacle in obstacles:
        obstacle.cleared_on, obstacle.cleared_by, obstacle.cleared_note = max(on, obstacle.put_on), by.name, note
        obstacle.save()
        words = f"No longer in the way: {obstacle.kind}{f', {note}' if note else ''}."
        write(by, task, "obstacle cleared", words, on=on, kind=obstacle.kind)


def open_obstacles(task: ReplacementTask) -> list[Obstacle]:
    return list(task.obstacles.filter(cleared_on__isnull=True))


def copy_obstacles(source: ReplacementTask, target: ReplacementTask) -> None:
    """What stands in the way of both parts after a split, by whoever said so, since then."""
    Obstacle.objects.bulk_create(
        Obstacle(task=target, kind=each.kind, note=each.note, put_on=each.put_on, put_by=each.put_by)
        for each in open_obstacles(source)
    )
