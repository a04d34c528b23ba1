"""Every change to the planting plan: a crew's day opened, a replacement put on it or taken off."""

from __future__ import annotations

import datetime as dt

from django.db import transaction
from django.db.models import Sum

from inventory.access import Permission
from inventory.errors import Refused
from inventory.record import Actor
from inventory.steps import day_words, permit, said
from replanting.models import PLANTABLE, PlannedPlanting, PlantingDay, ReplacementTask
from replanting.taking import locked, write

# Trees that a crew plants in a day; our own default, set with each day.
CAPACITY = 12


@transaction.atomic
def plan_planting(
    *, by: Actor, task: ReplacementTask, day: dt.date, crew: str, capacity: int = CAPACITY
) -> PlannedPlanting:
    """Put a replacement on a crew's day; one that stands on another day moves. ``capacity`` holds when the day is new."""
    permit(by, Permission.REPLANT)
    task = locked(task)
    if task.state not in PLANTABLE:
        raise Refused(f"The {task} is “{task.state}”; planned is what has its species chosen and is not yet planted.")
    crew = said(crew, "Name the crew.", limit=120)
    if not 1 <= capacity <= 200:
        raise Refused("A crew plants 1 to 200 trees a day; mend its capacity.")
    PlantingDay.objects.get_or_create(day=day, crew=crew, defaults={"capacity": capacity})
    # The day's row is locked, so that two who fill its last place wait for each other.
    crew_day = PlantingDay.objects.select_for_update().get(day=day, crew=crew)
    others = crew_day.planned.waiting().exclude(task=task).aggregate(trees=Sum("task__units", default=0))["trees"]
    if others + task.units > crew_day.capacity:
        raise Refused(
            f"{crew} plants {crew_day.capacity} trees on {day_words(day)}, and {others} stand there already; "
            "take another day or crew."
        )
    made, _ = PlannedPlanting.objects.update_or_create(task=task, defaults={"planting_day": crew_day})
    write(by, task, "planting planned", f"To be planted on {day_words(day)} by {crew}.", day=day.isoformat())
    return made


@transaction.atomic
def unplan(*, by: Actor, task: ReplacementTask) -> None:
    permit(by, Permission.REPLANT)
    task = locked(task)
    planned = PlannedPlanting.objects.select_related("planting_day").filter(task=task).first()
    if planned is None:
        raise Refused(f"The {task} stands on no day of the plan.")
    planned.delete()
    was = planned.planting_day
    write(by, task, "planting unplanned", f"Taken off {day_words(was.day)}, {was.crew}.")
