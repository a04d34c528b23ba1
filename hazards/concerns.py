"""Concerns: taking in what somebody saw, finding the tree, deciding what becomes of it, forgetting who told it.

Nothing personal goes into the record, which is never erased: neither the contact nor the words that somebody wrote.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import partial
from typing import IO
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone
from uuid_utils.compat import uuid7

from hazards.asked import ask_look
from hazards.concern_desk import desk
from hazards.models import OPEN_CONCERNS, AskedLook, Concern, ConcernSource, ConcernState, Seen
from hazards.nearest import nearest_trees
from inventory import record
from inventory.access import Permission
from inventory.errors import Refused
from inventory.models import Park, Photo, Tree
from inventory.photos import add_photo
from inventory.record import COMMAND, Actor
from inventory.steps import permit, said, short

MATCH_WITHIN_M = 30.0
DESCRIPTION_MAX, PLACE_MAX, CONTACT_MAX, ANSWER_MAX = 2000, 200, 200, 2000
# Whoever opens a page with concerns forgets a bounded number that are past their day.
FORGET_AT_ONCE = 200

# What a decision may follow on.
BEFORE = {
    ConcernState.ANSWERED: OPEN_CONCERNS,
    ConcernState.INSPECTION: (ConcernState.NEW, ConcernState.ANSWERED),
    ConcernState.URGENT: (ConcernState.NEW, ConcernState.ANSWERED, ConcernState.INSPECTION),
    ConcernState.SPAM: (ConcernState.NEW,),
}
STATE_WORDS = {
    ConcernState.NEW: "nobody has decided on it yet",
    ConcernState.ANSWERED: "it is answered",
    ConcernState.INSPECTION: "an inspection is asked for",
    ConcernState.URGENT: "it is urgent",
    ConcernState.SPAM: "it was dropped as spam",
}


@dataclass(frozen=True)
class Told:
    """What somebody told. Longitude and latitude in degrees, both or neither."""

    seen: Seen
    description: str = ""
    place: str = ""
    lon: float | None = None
    lat: float | None = None
    park: Park | None = None
    tree: Tree | None = None
    contact: str = ""
    photo: IO[bytes] | None = None


@transaction.atomic
def receive(*, by: Actor, told: Told, source: ConcernSource, id: UUID | None = None) -> Concern:
    """Keep what was told, with the nearest tree as a suggestion; the same ``id`` again gives back the one there is.

    Refused without any place, for what is too long, and for a photo that is none.
    """
    if source == ConcernSource.STAFF:
        permit(by, Permission.RECORD_CONCERN)
    if known := Concern.objects.filter(pk=id).first() if id else None:
        return known
    _refuse(told)
    now = timezone.now()
    contact = told.contact.strip()
    concern = Concern(
        id=id or uuid7(),
        source=source,
        seen=told.seen,
        description=told.description.strip(),
        place=told.place.strip(),
        lon=told.lon,
        lat=told.lat,
        park=told.park,
        tree=told.tree or _suggested(told),
        tree_is_sure=told.tree is not None,
        contact=contact,
        forget_at=now + dt.timedelta(days=desk().contact_days),
        received_at=now,
        received_by=by.user,
        changed_at=now,
    )
    concern.save(force_insert=True)
    # The database gives it the park of its tree.
    concern.refresh_from_db(fields=["park"])
    _note(by, concern, "received a concern", f"Received a concern by {source.label}: {concern.get_seen_display()}.")
    if told.photo:
        add_photo(by=by, tree=None, file=told.photo, about=concern.pk, taken_at=now)
    return concern


def _refuse(told: Told) -> None:
    if not (told.place.strip() or told.tree or told.lon is not None):
        raise Refused("Say where the tree stands: in words, or as a position.")
    for what, text, most in (
        ("place", told.place, PLACE_MAX),
        ("description", told.description, DESCRIPTION_MAX),
        ("contact", told.contact, CONTACT_MAX),
    ):
        if len(text.strip()) > most:
            raise Refused(f"The {what} has {len(text.strip())} characters; up to {most} are taken.")


def _suggested(told: Told) -> Tree | None:
    if told.lon is None or told.lat is None:
        return None
    near = nearest_trees(told.lon, told.lat, within_m=MATCH_WITHIN_M, most=1)
    return near[0].tree if near else None


@transaction.atomic
def match(*, by: Actor, concern: Concern, tree: Tree | None) -> Concern:
    """A person says which tree it is, or that it is none of those known."""
    concern = _locked(by, concern)
    concern.tree, concern.tree_is_sure = tree, True
    concern.save(update_fields=["tree", "tree_is_sure"])
    concern.refresh_from_db(fields=["park"])
    _note(by, concern, "matched a concern", f"The concern is about {tree.tag if tree else 'no tree that is known'}.")
    return concern


@transaction.atomic
def answer(*, by: Actor, concern: Concern, seen: str, text: str) -> Concern:
    """Answered in words that whoever reported it can read; nothing more is asked of anybody."""
    concern = _decide(by, concern, seen, ConcernState.ANSWERED)
    concern.answer = said(text, "Write the answer, or pick a plain one.", ANSWER_MAX)
    return _decided(by, concern, "Answered")


@transaction.atomic
def send_inspector(
    *, by: Actor, concern: Concern, seen: str, due_on: dt.date, note: str = "", level: int = 1
) -> Concern:
    """A look at the tree falls due by ``due_on``. Refused while nobody knows which tree it is."""
    concern = _decide(by, concern, seen, ConcernState.INSPECTION)
    if concern.tree is None:
        raise Refused("Say first which tree it is: a look is asked for at a tree of the inventory.")
    if due_on < timezone.localdate():
        raise Refused("The day of the look has passed; give today or a later day.")
    concern.asked = _ask(by, concern, concern.tree, due_on, note, level)
    return _decided(by, concern, "Sent to an inspection")


@transaction.atomic
def make_urgent(*, by: Actor, concern: Concern, seen: str, note: str = "") -> Concern:
    """To be seen to today; a look at the tree is due today where the tree is known and stands."""
    concern = _decide(by, concern, seen, ConcernState.URGENT)
    if concern.tree and concern.tree.stands:
        concern.asked = _ask(by, concern, concern.tree, timezone.localdate(), note, 1)
    return _decided(by, concern, "Made urgent")


def _ask(by: Actor, concern: Concern, tree: Tree, due_on: dt.date, note: str, level: int) -> AskedLook:
    why = f"Concern {concern.reference}, {concern.get_seen_display()}. {note.strip()}"
    return ask_look(by=by, tree=tree, due_on=due_on, why=short(why, 300), level=level, since=concern.received_at)


@transaction.atomic
def drop_spam(*, by: Actor, concern: Concern, seen: str) -> Concern:
    """Spam: all that was written and sent is erased at once; that something came is kept."""
    concern = _decide(by, concern, seen, ConcernState.SPAM)
    concern.description = concern.place = ""
    concern.lon = concern.lat = concern.tree = None
    _erase(concern)
    return _decided(by, concern, "Dropped as spam")


@transaction.atomic
def keep_photo_with_tree(*, by: Actor, concern: Concern, photo: Photo) -> None:
    """A person has looked at the photo and finds that it shows the tree: from now on it is one of the tree's photos."""
    concern = _locked(by, concern)
    if concern.tree is None:
        raise Refused("Say first which tree it is: a photo is kept with a tree of the inventory.")
    photo = Photo.objects.select_for_update().get(pk=photo.pk)
    if photo.about != concern.pk:
        raise Refused("This photo came with another report; open that one.")
    if Photo.objects.filter(tree=concern.tree, sha256=photo.sha256).exists():
        raise Refused(f"{concern.tree.tag} has this photo already.")
    photo.tree = concern.tree
    photo.save(update_fields=["tree"])
    record.write(by=by, verb="photo", subject=photo, tree=concern.tree, summary="Kept a reported photo with the tree.")


@transaction.atomic
def forget(*, by: Actor = COMMAND, at_most: int | None = None) -> int:
    """Of concerns past their day erase the contact and the photos that nobody kept with a tree; how many concerns."""
    due = past_their_day().select_for_update(skip_locked=True)[:at_most]
    count = 0
    for concern in due:
        _erase(concern)
        concern.save(update_fields=["contact", "forgotten_at"])
        _note(by, concern, "forgot a contact", "The contact and unused photos were erased: their time was over.")
        count += 1
    return count


def past_their_day() -> QuerySet[Concern]:
    return Concern.objects.filter(forgotten_at=None, forget_at__lte=timezone.now()).order_by("forget_at")


def _erase(concern: Concern) -> None:
    """What could tell who it was. A file goes when its row is gone for good."""
    concern.contact, concern.forgotten_at = "", timezone.now()
    for photo in Photo.objects.filter(about=concern.pk, tree=None):
        image = photo.image
        photo.delete()
        transaction.on_commit(partial(image.storage.delete, str(image.name)))


def _locked(by: Actor, concern: Concern) -> Concern:
    permit(by, Permission.DECIDE_CONCERN)
    return Concern.objects.select_for_update(of=("self",)).select_related("tree").get(pk=concern.pk)


def _decide(by: Actor, concern: Concern, seen: str, then: ConcernState) -> Concern:
    """Locked and free for this decision. ``seen``: the state that the person looked at; of two the second is told."""
    concern = _locked(by, concern)
    state = ConcernState(concern.state)
    if state != seen:
        who = (
            concern.decided_by.get_full_name() or concern.decided_by.get_username()
            if concern.decided_by
            else "Somebody"
        )
        raise Refused(f"{who} has decided on this concern meanwhile: {STATE_WORDS[state]}. Open it again.")
    if state not in BEFORE[then]:
        raise Refused(f"This does not follow any more: {STATE_WORDS[state]}.")
    concern.state = then
    return concern


def _decided(by: Actor, concern: Concern, summary: str) -> Concern:
    concern.changed_at, concern.decided_by = timezone.now(), by.user
    concern.save()
    _note(by, concern, f"concern: {concern.state}", f"{summary}.")
    return concern


def _note(by: Actor, concern: Concern, verb: str, summary: str) -> None:
    about = f"{summary.rstrip('.')} (concern {concern.reference})."
    record.write(by=by, verb=verb, subject=concern, tree=concern.tree, summary=short(about, 300))
