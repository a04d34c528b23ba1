"""Filters of the ranking, kept under a name and taken out again."""

from __future__ import annotations

from django.db import IntegrityError, transaction

from hazards.models import SavedView
from inventory import record
from inventory.errors import Refused
from inventory.record import Actor


@transaction.atomic
def save_view(*, by: Actor, name: str, query: str, shared: bool = False) -> SavedView:
    """Keep the filters for their owner, or for everybody. Refused without a filter, and for a name that one uses already."""
    name = " ".join(name.split())
    if not query:
        raise Refused("Set a filter first; a view of all trees needs no name.")
    try:
        with transaction.atomic():
            view = SavedView.objects.create(owner=by.user, name=name, query=query, shared=shared)
    except IntegrityError as error:
        if "saved_view_name" not in str(error):
            raise
        raise Refused(f"You have a view named “{name}” already; give this one another name.") from error
    whose = " for everybody" if shared else ""
    record.write(by=by, verb="kept a view", subject=view, summary=f"Kept the view “{name}” of the ranking{whose}.")
    return view


@transaction.atomic
def drop_saved_view(*, by: Actor, view: SavedView) -> None:
    record.write(by=by, verb="dropped a view", subject=view, summary=f"Took out the view “{view.name}” of the ranking.")
    SavedView.objects.filter(pk=view.pk).delete()
