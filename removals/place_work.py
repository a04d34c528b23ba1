"""Every change to the place of an order: things added and removed, things accepted in the swath and taken back."""

from __future__ import annotations

from collections.abc import Sequence

from django.db import transaction
from django.utils import timezone

from inventory import record
from inventory.access import Permission
from inventory.errors import Refused
from inventory.record import Actor
from removals.models import AcceptedThing, RemovalOrder, SiteThing
from removals.order_place import ADDED_KINDS, OrderPlace, falling_tree, place_of
from removals.readiness import latest_plan
from removals.steps import permit, said, short
from removals.things import NEVER_ACCEPTED, FeatureKind

FARTHEST_M = 200.0
RUNNING = frozenset({FeatureKind.WIRE, FeatureKind.PATH})
"""What runs from one point to another: one point alone would hide how far it reaches."""

PlacePoint = tuple[float, float]


@transaction.atomic
def add_thing(*, by: Actor, order: RemovalOrder, kind: str, name: str, points: Sequence[PlacePoint]) -> SiteThing:
    """Something near the tree; ``points`` as (bearing in degrees, distance in metres) from the stump."""
    order = open_order(order, by, Permission.PLAN_FELLING)
    if kind not in {each.value for each in ADDED_KINDS}:
        raise Refused(f"“{kind}” is nothing that can be added; use {', '.join(each.value for each in ADDED_KINDS)}.")
    name = " ".join(said(name, "Give it the name by which the crew knows it.", 80).split())
    _refuse_points(FeatureKind(kind), points)
    if name in {thing.name for thing in place_here(order).things}:
        raise Refused(f"There is a “{name}” at this place already; give another name.")
    added = SiteThing.objects.create(order=order, kind=kind, name=name, points=[list(point) for point in points])
    first_deg, first_m = points[0]
    _write(by, order, "place changed", f"Added to the place: {name} ({kind}), from {first_deg:.0f}°, {first_m:.1f} m.")
    return added


@transaction.atomic
def remove_thing(*, by: Actor, order: RemovalOrder, name: str) -> None:
    """Take away what was added, and with it the acceptance under its name."""
    order = open_order(order, by, Permission.PLAN_FELLING)
    removed, _ = order.site_things.filter(name=name).delete()
    if not removed:
        raise Refused(f"Nothing called “{name}” was added to this place.")
    order.accepted_things.filter(name=name).delete()
    _write(by, order, "place changed", f"Removed from the place: {name}.")


@transaction.atomic
def accept_thing(*, by: Actor, order: RemovalOrder, name: str, reason: str) -> AcceptedThing:
    """Let the tree fall where this thing is; never on a wire, never on people."""
    order = open_order(order, by, Permission.APPROVE_REMOVAL)
    thing = place_here(order).named(name)
    if thing is None:
        raise Refused(f"Nothing called “{name}” stands around this tree.")
    if thing.kind in NEVER_ACCEPTED:
        raise Refused(
            f"{name} is a {thing.kind}: it is never accepted in a swath. Turn the lay, or have it moved first."
        )
    if order.accepted_things.filter(name=name).exists():
        raise Refused(f"{name} is accepted already.")
    reason = said(reason, "Say why the tree may fall on it.", 300)
    made = AcceptedThing.objects.create(
        order=order, name=name, reason=reason, accepted_by=by.name, accepted_on=timezone.localdate()
    )
    _write(by, order, "accepted in the swath", f"{name} is accepted in the swath: {reason}")
    return made


@transaction.atomic
def take_back(*, by: Actor, order: RemovalOrder, name: str) -> None:
    """What was accepted blocks the lay again."""
    order = open_order(order, by, Permission.APPROVE_REMOVAL)
    taken, _ = order.accepted_things.filter(name=name).delete()
    if not taken:
        raise Refused(f"“{name}” was not accepted.")
    _write(by, order, "acceptance taken back", f"{name} is no longer accepted in the swath.")


def place_here(order: RemovalOrder) -> OrderPlace:
    """The place as it can be known now; a tree without a height has only what was added around it."""
    tree = falling_tree(order.tree, latest_plan(order))
    return place_of(order, tree.height_m if tree else 0.0)


def open_order(order: RemovalOrder, by: Actor, permission: Permission) -> RemovalOrder:
    """The order's locked row while its tree is still to come down."""
    permit(by, permission)
    order = RemovalOrder.objects.select_for_update(of=("self",)).select_related("tree").get(pk=order.pk)
    if not order.before_felling:
        raise Refused(f"Order {order.number} is {order.state}; how a tree comes down is settled before it is down.")
    return order


def _refuse_points(kind: FeatureKind, points: Sequence[PlacePoint]) -> None:
    least = 2 if kind in RUNNING else 1
    if len(points) < least:
        raise Refused(
            f"A {kind} needs {least} points or more, each a bearing and a distance."
            if least > 1
            else "Give at least one point: its bearing and its distance."
        )
    for bearing_deg, distance_m in points:
        if not 0 <= bearing_deg <= 360 or not 0 < distance_m <= FARTHEST_M:
            raise Refused(
                f"A point has a bearing of 0 to 360° and a distance of more than 0 and up to {FARTHEST_M:g} m."
            )


def _write(by: Actor, order: RemovalOrder, verb: str, summary: str) -> None:
    record.write(by=by, verb=verb, subject=order, tree=order.tree, summary=short(summary, 300))
