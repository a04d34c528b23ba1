"""Storms: opening an event, writing down what it did, closing areas, dealing with finds, ending it with looks that are due."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass
from typing import IO
from uuid import UUID

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone
from uuid_utils.compat import uuid7

from hazards.asked import ask_looks
from hazards.closures import close_area
from hazards.matrix import Occupancy, Rating
from hazards.models import StormEvent, StormFind
from hazards.models.storms import GUST_MAX_MS
from hazards.storm import Find, FindKind, danger_key, why
from inventory import record
from inventory.access import Permission
from inventory.errors import Refused
from inventory.models import Park, Photo, Tree, TreeStatus
from inventory.photos import add_photo
from inventory.record import Actor
from inventory.steps import moment_told, name_of, permit, said, short

# After a storm, for the trees of its parks at which nothing was found; the number is this program's own.
LOOK_AGAIN_DAYS = 14
LOOK_AGAIN_DAYS_MAX = 365
WORTH_A_LOOK = [rating.value for rating in Rating if rating.rank >= Rating.MODERATE.rank]


@transaction.atomic
def open_event(
    *, by: Actor, name: str, parks: Collection[Park], began_at: dt.datetime | None = None, gust_ms: float | None = None
) -> StormEvent:
    """A storm over some parks; finds are recorded under it until it is ended."""
    permit(by, Permission.RUN_STORM)
    if not parks:
        raise Refused("Choose at least one park that the storm has passed over.")
    if gust_ms is not None and not 0 <= gust_ms <= GUST_MAX_MS:
        raise Refused(f"A gust of {gust_ms:.0f} m/s is out of bounds; it is 0 to {GUST_MAX_MS} m/s.")
    event = StormEvent(
        name=said(name, "Give the storm a name, for example: gale of 3 March.", 80),
        began_at=moment_told(began_at),
        gust_ms=gust_ms,
        opened_by=by.user,
    )
    event.save(force_insert=True)
    event.parks.set(parks)
    where = ", ".join(sorted(park.name for park in parks))
    record.write(by=by, verb="opened a storm", subject=event, summary=short(f"Opened {event} for {where}.", 300))
    return event


@dataclass(frozen=True)
class FindReport:
    """What was found: diameters in cm, position in degrees. ``photos``: files as they came."""

    kind: FindKind
    occupancy: Occupancy
    tree: Tree | None = None
    park: Park | None = None
    place: str = ""
    lon: float | None = None
    lat: float | None = None
    wires: bool = False
    emergency_way: bool = False
    size_cm: float | None = None
    dbh_cm: float | None = None
    stump_cm: float | None = None
    crown_lost_pct: int | None = None
    lean_deg: int | None = None
    public_property: bool | None = None
    note: str = ""
    seen_at: dt.datetime | None = None
    photos: tuple[IO[bytes], ...] = ()

    @property
    def found(self) -> Find:
        return Find(self.kind, self.occupancy, self.wires, self.emergency_way, self.size_cm)


# Columns of the same name.
_AS_REPORTED = (
    "wires",
    "emergency_way",
    "size_cm",
    "dbh_cm",
    "stump_cm",
    "crown_lost_pct",
    "lean_deg",
    "public_property",
)


@transaction.atomic
def record_find(*, by: Actor, event: StormEvent, report: FindReport, id: UUID | None = None) -> StormFind:
    """Keep one find in its place in the order of danger; the same ``id`` again gives back the one there is."""
    permit(by, Permission.RECORD_STORM)
    # One after the other in an event: a find sent twice at once is kept once, and none slips into an event being ended.
    event = StormEvent.objects.select_for_update().get(pk=event.pk)
    if known := StormFind.objects.filter(pk=id).first() if id else None:
        return _the_same(known, event, report)
    if not event.is_open:
        raise Refused(
            f"{event} was ended on {timezone.localtime(event.ended_at):%-d %b %Y}; open a new storm for this find."
        )
    find = _stored(by, event, report, id)
    _note(by, find, "found after a storm", f"Found after {event}: {find.reason}")
    for file in report.photos:
        add_photo(by=by, tree=find.tree, file=file, about=find.pk, taken_at=find.seen_at)
    return find


def _the_same(known: StormFind, event: StormEvent, report: FindReport) -> StormFind:
    if (known.event_id, known.tree_id) != (event.pk, report.tree.pk if report.tree else None):
        raise Refused("This find was already kept for another place; make a new one for this place.")
    return known


def _stored(by: Actor, event: StormEvent, report: FindReport, id: UUID | None) -> StormFind:
    try:
        found = report.found
    except ValueError as error:
        raise Refused(f"{str(error).capitalize()}.") from error
    tree, place = report.tree, report.place.strip()
    find = StormFind(
        id=id or uuid7(),
        event=event,
        park=_park(event, report),
        tree=tree,
        place=place if tree else said(place, "Say where it is: the tree's tag, or the place in words.", 200),
        lon=report.lon if tree is None or report.lon is not None else tree.lon,
        lat=report.lat if tree is None or report.lat is not None else tree.lat,
        kind=found.kind.value,
        occupancy=found.occupancy.value,
        note=report.note.strip(),
        danger=danger_key(found),
        reason=why(found),
        seen_at=moment_told(report.seen_at),
        seen_by=by.user,
        **{name: getattr(report, name) for name in _AS_REPORTED},
    )
    find.save(force_insert=True)
    return find


def _park(event: StormEvent, report: FindReport) -> Park:
    park = report.tree.park if report.tree else report.park
    if park is None:
        raise Refused("Say in which park it is.")
    if not event.parks.filter(pk=park.pk).exists():
        raise Refused(f"{park} is not one of the parks of {event}; open a storm for it as well.")
    return park


@transaction.atomic
def close_off(*, by: Actor, find: StormFind, area: str, barrier: str, id: UUID | None = None) -> StormFind:
    """The area around a find is closed to people; the reason is the find's own."""
    permit(by, Permission.CLOSE_AREA)
    find = _locked(find)
    if find.closure:
        raise Refused(f"The area around this find is closed already: {find.closure.area}.")
    reason = f"{find.event}: {find.reason}"
    find.closure = close_area(
        by=by, park=find.park, tree=find.tree, area=area, barrier=barrier, reason=short(reason, 300), id=id
    )
    find.save(update_fields=["closure"])
    return find


@transaction.atomic
def deal_with(*, by: Actor, find: StormFind, how: str, at: dt.datetime | None = None) -> StormFind:
    """Made safe, and how. Of two who say so the second is told of the first; a closed area stays closed until lifted."""
    permit(by, Permission.RECORD_STORM)
    find = _locked(find)
    if find.dealt_at:
        who = name_of(find.dealt_by) if find.dealt_by else "Somebody"
        raise Refused(
            f"{who} has dealt with this find on {timezone.localtime(find.dealt_at):%-d %b, %H:%M}: {find.dealt_how}"
        )
    find.dealt_how = said(how, "Say what was done, for example: limb cut and cleared, way open.", 300)
    find.dealt_at, find.dealt_by = moment_told(at), by.user
    if find.dealt_at < find.seen_at:
        raise Refused("A find cannot be dealt with before it was seen; mend the time.")
    find.save(update_fields=["dealt_how", "dealt_at", "dealt_by"])
    _note(by, find, "dealt with a find", f"Dealt with after {find.event}: {find.dealt_how}")
    return find


def trees_with_finds(event: StormEvent) -> QuerySet[Tree]:
    return Tree.objects.standing().filter(pk__in=event.finds.exclude(tree=None).values("tree_id"))


def trees_to_look_at_again(event: StormEvent) -> QuerySet[Tree]:
    """Of the event's parks: rated moderate or more, or standing dead; without those at which something was found."""
    worth = Q(standing__rating__in=WORTH_A_LOOK) | Q(status=TreeStatus.DEAD_STANDING)
    trees = Tree.objects.standing().filter(worth, park__in=event.parks.values("pk"))
    return trees.exclude(pk__in=event.finds.exclude(tree=None).values("tree_id"))


@dataclass(frozen=True)
class Ended:
    """How many trees are to be looked at: at once, and within days."""

    at_once: int
    within_days: int


@transaction.atomic
def end_event(*, by: Actor, event: StormEvent, days: int = LOOK_AGAIN_DAYS) -> Ended:
    """End the event: trees at which something was found are due for a look today, others worth it within ``days``.

    Refused while a find is not dealt with.
    """
    permit(by, Permission.RUN_STORM)
    event = StormEvent.objects.select_for_update().get(pk=event.pk)
    if not event.is_open:
        raise Refused(f"{event} was ended on {timezone.localtime(event.ended_at):%-d %b %Y} already.")
    if left := event.finds.open().count():
        what = "1 find is" if left == 1 else f"{left} finds are"
        raise Refused(f"{what} not dealt with; deal with all that {event} left before you end it.")
    if not 1 <= days <= LOOK_AGAIN_DAYS_MAX:
        raise Refused(f"{days} days is out of bounds; it is 1 to {LOOK_AGAIN_DAYS_MAX} days.")
    event.ended_at, event.ended_by = timezone.now(), by.user
    event.save(update_fields=["ended_at", "ended_by"])
    today = timezone.localdate()
    found = ask_looks(
        by=by, trees=trees_with_finds(event), due_on=today, why=f"After {event}: something was found at it."
    )
    others = ask_looks(
        by=by,
        trees=trees_to_look_at_again(event),
        due_on=today + dt.timedelta(days=days),
        why=f"After {event}: a storm has passed over it.",
        level=1,
    )
    words = f"Ended {event}; looks are due at {found} trees today and at {others} more within {days} days."
    record.write(by=by, verb="ended a storm", subject=event, summary=words)
    return Ended(found, others)


def photos_of(find: StormFind) -> QuerySet[Photo]:
    return Photo.objects.filter(about=find.pk)


def _locked(find: StormFind) -> StormFind:
    found = StormFind.objects.select_for_update(of=("self",))
    return found.select_related("event", "park", "tree", "closure", "dealt_by").get(pk=find.pk)


def _note(by: Actor, find: StormFind, verb: str, summary: str) -> None:
    record.write(by=by, verb=verb, subject=find, tree=find.tree, summary=short(summary, 300))
