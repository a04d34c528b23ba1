"""A planting as it is recorded where it happens: with its photo, and the season looked at."""

from __future__ import annotations

import datetime as dt
from typing import IO, Any
from uuid import UUID

from django.db import transaction

from inventory.errors import Refused
from inventory.models import Species
from inventory.photos import add_photo
from inventory.record import Actor
from replanting import workflow
from replanting.models import Planting, ReplacementTask
from replanting.season import Kind, warning
from replanting.site import zone_number


def season_warning(task: ReplacementTask, stock: str, on: dt.date) -> str:
    """Why the day is outside the window of the task's stock in its park; empty when it lies within, or nothing is chosen."""
    if task.species is None or not stock:
        return ""
    return warning(stock, zone_number(task.site_park.hardiness_zone), on, kind_of(task.species))


def kind_of(species: Species) -> Kind:
    return Kind(species.genus, species.leaf == "evergreen")


@transaction.atomic
def plant_in_season(
    *,
    by: Actor,
    task: ReplacementTask,
    on: dt.date,
    season_reason: str = "",
    photo: IO[bytes] | None = None,
    id: UUID | None = None,
    **facts: Any,
) -> Planting:
    """Outside the window of a known zone it asks for a reason, and then plants all the same."""
    if id and (known := Planting.objects.filter(sent_id=id, task__removed_tree=task.removed_tree_id).first()):
        return known
    outside = season_warning(task, facts.get("stock") or task.stock, on)
    if outside and not season_reason.strip() and task.site_park.hardiness_zone:
        raise Refused(f"{outside} To record it all the same, say why it was planted then.")
    planting = workflow.plant(by=by, task=task, on=on, season_reason=season_reason.strip(), id=id, **facts)
    if photo:
        add_photo(by=by, tree=planting.tree, file=photo, caption="At planting")
    return planting
