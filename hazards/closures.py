"""Closing an area to people, and opening it again: each by name, with its reason, in the record."""

from __future__ import annotations

import datetime as dt
from uuid import UUID

from django.db import transaction
from django.db.models import Exists, OuterRef, Q
from django.utils import timezone
from uuid_utils.compat import uuid7

from hazards.matrix import Rating
from hazards.models import Closure, Inspection, Standing, StandingQuerySet
from inventory import record
from inventory.access import Permission
from inventory.errors import Refused
from inventory.models import Park, Tree
from inventory.record import Actor
from inventory.steps import moment_told, permit, said, short


def asks_for_closure() -> Q:
    """Of standings: so grave that people are to be kept out at once."""
    return Q(imminent=True) | Q(rating=Rating.EXTREME.value)


def around_is_closed() -> Exists:
    """Of standings: whether an area is closed for the tree."""
    return Exists(Closure.objects.open().filter(tree=OuterRef("tree_id")))


def not_closed() -> StandingQuerySet:
    """The standing trees that are rated extreme or about to fail while no area around them is closed."""
    return Standing.objects.filter(asks_for_closure()).filter(~around_is_closed())


@transaction.atomic
def close_area(
    *,
    by: Actor,
    park: Park,
    area: str,
    barrier: str,
    reason: str,
    tree: Tree | None = None,
    inspection: Inspection | None = None,
    at: dt.datetime | None = None,
    id: UUID | None = None,
) -> Closure:
    """An area of the park is closed: ``area`` and ``barrier`` in words, for the tree and the finding where there are any.

    The same ``id`` again returns what was kept the first time, lifted or not. ``at``: when it was closed, now unless given.
    """
    permit(by, Permission.CLOSE_AREA)
    # One at a time in a park: the same closure sent twice at once is kept once.
    Park.objects.select_for_update().get(pk=park.pk)
    if known := Closure.objects.filter(pk=id).first() if id else None:
        return _the_same(known, park, tree)
    _refuse_elsewhere(park, tree, inspection)
    closure = Closure(
        id=id or uuid7(),
        park=park,
        tree=tree,
        inspection=inspection,
        area=said(area, "Say what is closed, for example: the path from the east gate to the pond.", 200),
        barrier=said(barrier, "Say what keeps people out, for example: fence and two signs.", 200),
        reason=said(reason, "Say why the area is closed.", 300),
        closed_by=by.user,
        closed_at=moment_told(at),
    )
    closure.save(force_insert=True)
    _note(by, closure, "closed an area", f"Closed {closure.area} ({closure.barrier}): {closure.reason}")
    return closure


@transaction.atomic
def lift(*, by: Actor, closure: Closure, reason: str, at: dt.datetime | None = None) -> Closure:
    """The area is open to people again. Of two who open it, the second is told of the first."""
    permit(by, Permission.LIFT_CLOSURE)
    closure = Closure.objects.select_for_update().get(pk=closure.pk)
    if closure.lifted_at:
        when = f"{timezone.localtime(closure.lifted_at):%-d %b %Y, %H:%M}"
        raise Refused(f"{_capital(closure.area)} was opened again on {when} already: {closure.lifted_reason}")
    closure.lifted_reason = said(reason, "Say why the area can be opened again.", 300)
    closure.lifted_at, closure.lifted_by = moment_told(at), by.user
    if closure.lifted_at < closure.closed_at:
        raise Refused("The area cannot be opened before it was closed; mend the time.")
    closure.save()
    _note(by, closure, "opened an area", f"Opened {closure.area} again: {closure.lifted_reason}")
    return closure


def _the_same(known: Closure, park: Park, tree: Tree | None) -> Closure:
    if (known.park_id, known.tree_id) != (park.pk, tree.pk if tree else None):
        raise Refused("This closure was already kept for another place; make a new one for this place.")
    return known


def _refuse_elsewhere(park: Park, tree: Tree | None, inspection: Inspection | None) -> None:
    if tree and tree.park_id != park.pk:
        raise Refused(f"{tree.tag} does not stand in {park}; close an area of the park in which it stands.")
    if inspection and (tree is None or inspection.tree_id != tree.pk):
        raise Refused("The finding is one of another tree; name the tree that it was made on.")


def _note(by: Actor, closure: Closure, verb: str, summary: str) -> None:
    record.write(by=by, verb=verb, subject=closure, tree=closure.tree, summary=short(summary, 300))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
