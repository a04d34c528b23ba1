"""Moving, splitting and merging what is owed for a removed tree: the trees that are owed stay as many, and the park that owes.

Each step has a reason and a name. Only what waits for planting is moved, split or merged; a planted tree stands where it is.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.db import transaction
from django.utils import timezone

from inventory.errors import Refused
from inventory.models import Park, PlantingPlace
from inventory.record import Actor
from inventory.steps import past, permit, said
from replanting.models import OF_THE_SPOT, Obstacle, ObstacleKind, ReplacementTask, TaskState
from replanting.obstacles import clear, copy_obstacles
from replanting.states import Action, step
from replanting.taking import locked, taken, write

CHOICE = ("state", "species_id", "cultivar", "species_reason", "stock", "ordered_on", "nursery", "order_line_id")
WHERE = ("moved_to_id", "place_id")


def split_off(by: Actor, task: ReplacementTask, units: int, on: dt.date, reason: str = "") -> ReplacementTask:
    """So many of a locked task of more as a task of their own, with the same choice, promise and obstacles."""
    if not 1 <= units < task.units:
        most = task.units - 1
        raise Refused(
            f"{units} of {task.units} cannot be split off; give 1 to {most}." if most else "One is not split."
        )
    part = ReplacementTask(
        removed_tree_id=task.removed_tree_id,
        first=False,
        units=units,
        park_id=task.park_id,
        moved_to_id=task.moved_to_id,
        opened_on=task.opened_on,
        due_on=task.due_on,
        **{name: getattr(task, name) for name in CHOICE},
    )
    part.save(force_insert=True)
    task.units -= units
    task.save(update_fields=["units"])
    copy_obstacles(task, part)
    why = f": {reason}" if reason else ""
    write(by, task, "split", f"Split off {units}, {task.units} left{why}.", on=on, into=part.pk, units=units)
    write(by, part, "split off", f"{units} split off from {task.units + units}{why}.", on=on, of=task.pk, units=units)
    return part


def so_many(by: Actor, task: ReplacementTask, action: Action, units: int | None, on: dt.date) -> ReplacementTask:
    """The locked row of so many of a task's trees, moved on by the action: all of them, or a part that was split off."""
    task = locked(task)
    permit(by, step(task.state, action).permission)
    if units is not None and units != task.units:
        task = split_off(by, task, units, on)
    return taken(by, task, action)


@transaction.atomic
def split(*, by: Actor, task: ReplacementTask, units: int, reason: str, on: dt.date | None = None) -> ReplacementTask:
    """Some of a task's trees go their own way from here; the new task is returned."""
    task = taken(by, task, Action.SPLIT)
    on = past(on or timezone.localdate())
    return split_off(by, task, units, on, said(reason, "Say why it is split."))


@transaction.atomic
def merge(
    *, by: Actor, task: ReplacementTask, into: ReplacementTask, reason: str, on: dt.date | None = None
) -> ReplacementTask:
    """A task's trees join another task of the same removed tree; the task that took them is returned.

    The earlier of the two promises holds. The merged task stays with its history, and with nothing owed.
    """
    # The lower number first, whichever way they are merged: two people at once then wait instead of deadlocking.
    list(ReplacementTask.objects.select_for_update().filter(pk__in=[task.pk, into.pk]).order_by("pk"))
    task, into = taken(by, task, Action.MERGE), taken(by, into, Action.MERGE)
    on, reason = past(on or timezone.localdate()), said(reason, "Say why they are merged.")
    if refusal := apart(task, into):
        raise Refused(refusal)
    units = task.units
    into.units, into.due_on = into.units + units, min(into.due_on, task.due_on)
    task.units, task.state, task.merged_into = 0, TaskState.MERGED, into
    into.save()
    task.save()
    clear(by, task, task.obstacles.filter(cleared_on__isnull=True), on, "merged")
    write(by, into, "merged", f"Took {units} more, {into.units} together: {reason}.", on=on, of=task.pk, units=units)
    write(by, task, "merged away", f"{units} joined another task of the tree: {reason}.", on=on, into=into.pk)
    return into


def mates(task: ReplacementTask) -> Any:
    """Tasks that a task can be merged into: those of its tree that wait for the same at the same place."""
    if task.first or task.place_id:
        return ReplacementTask.objects.none()
    same = {name: getattr(task, name) for name in (*CHOICE, *WHERE) if name != "species_reason"}
    found = ReplacementTask.objects.waiting().filter(removed_tree_id=task.removed_tree_id, **same)
    return found.exclude(pk=task.pk).select_related("species").order_by("pk")


def apart(task: ReplacementTask, into: ReplacementTask) -> str:
    """Why two tasks cannot be merged, in a sentence; empty when they can."""
    if task.pk == into.pk:
        return "A task is not merged with itself; name another of the same removed tree."
    if task.removed_tree_id != into.removed_tree_id:
        return f"{into.removed_tree} is another tree than {task.removed_tree}; what is owed for each stays its own."
    if task.first:
        return "The first task of a removed tree stays; merge the other one into it."
    if into.place_id or task.place_id:
        return "A planting place takes one tree; move it from there first."
    if any(getattr(task, name) != getattr(into, name) for name in (*CHOICE, *WHERE) if name != "species_reason"):
        return "They differ in place, choice or order; bring both to the same first."
    return ""


@transaction.atomic
def move(
    *,
    by: Actor,
    task: ReplacementTask,
    reason: str,
    park: Park | None = None,
    place: PlantingPlace | None = None,
    on: dt.date | None = None,
) -> ReplacementTask:
    """Plant it elsewhere: on a vacant planting place, or in a park; the park that owes stays, and so does the day.

    The removed tree's own park without a place takes it back. What stood in the way on the old spot stays behind.
    """
    task = taken(by, task, Action.MOVE)
    on, reason = past(on or timezone.localdate()), said(reason, "Say why it is planted elsewhere.")
    if place:
        _refuse_place(task, place)
        park = place.park
    if park is None:
        raise Refused("Say where it goes: a park, or a planting place.")
    moved_to = None if park.pk == task.park_id else park
    if (moved_to and moved_to.pk, place and place.pk) == (task.moved_to_id, task.place_id):
        raise Refused(f"It is to be planted there already, in {park.name}.")
    before = _where(task)
    task.moved_to, task.place = moved_to, place
    task.save()
    clear(by, task, _left_behind(task), on, "moved to another place")
    write(by, task, "moved", f"Moved from {before} to {_where(task)}: {reason}.", on=on, park=park.code)
    return task


def _where(task: ReplacementTask) -> str:
    return f"{task.place.tag} in {task.site_park.name}" if task.place else task.site_park.name


def _refuse_place(task: ReplacementTask, place: PlantingPlace) -> None:
    if task.units > 1:
        raise Refused(f"A planting place takes one tree, and these are {task.units}; split one off first.")
    if place.lon is None or place.lat is None:
        raise Refused(f"Nobody knows where {place.tag} is; choose a place with a position.")
    holder = place.tasks.exclude(state__in=[TaskState.WAIVED, TaskState.MERGED]).exclude(pk=task.pk).first()
    if holder:
        raise Refused(f"{place.tag} is taken, by the replacement of {holder.removed_tree}; choose another place.")


def _left_behind(task: ReplacementTask) -> list[Obstacle]:
    """Obstacles of the spot; with a planting place the design is settled too."""
    kinds = (*OF_THE_SPOT, ObstacleKind.DESIGN) if task.place_id else OF_THE_SPOT
    return list(task.obstacles.filter(kind__in=kinds, cleared_on__isnull=True))
