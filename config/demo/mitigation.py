"""Work other than removal in every state, and areas closed around the gravest trees but one."""

from collections.abc import Mapping

from django.db import transaction
from django.db.models import Exists, OuterRef, QuerySet

from config.demo.files import Calendar
from hazards import mitigation
from hazards.closures import close_area, lift, not_closed
from hazards.models import Closure, MitigationKind, MitigationOrder, Standing
from inventory.record import Actor
from removals.models import RemovalOrder

ORDERS = 12
WORDS = {
    MitigationKind.PRUNE: "Take off what could fall, back to the collar; no more than a fifth of the live crown.",
    MitigationKind.CABLE_OR_BRACE: "A dynamic cable in the upper third, checked every year.",
    MitigationKind.MOVE_TARGET: "Move the bench out of the reach of the limb.",
    MitigationKind.ADVANCED: "Resistance drilling at the base, four directions.",
}
HOURS = {
    MitigationKind.PRUNE: 3.0,
    MitigationKind.CABLE_OR_BRACE: 4.0,
    MitigationKind.MOVE_TARGET: 1.5,
    MitigationKind.ADVANCED: 2.0,
}


@transaction.atomic
def load_mitigation(by: Mapping[str, Actor], calendar: Calendar) -> int:
    """All of it or, when any of it is there already, none; how many orders were made."""
    if MitigationOrder.objects.exists():
        return 0
    found = list(_waiting()[:ORDERS])
    for number, standing in enumerate(found):
        _order(number, standing, by, calendar)
    _close(by)
    return len(found)


def _waiting() -> QuerySet[Standing]:
    """The first of the ranking whose advised work is not removal, and whose removal nobody ordered."""
    ordered = RemovalOrder.objects.open().filter(tree=OuterRef("tree"))
    advised = Standing.objects.ranked().filter(~Exists(ordered), assessment__mitigation__in=MitigationKind.values)
    return advised.select_related("tree", "assessment")


def _order(number: int, standing: Standing, by: Mapping[str, Actor], calendar: Calendar) -> None:
    assessment = standing.assessment
    assert assessment is not None  # noqa: S101 - for the type checker
    kind = MitigationKind(assessment.mitigation)
    order = mitigation.propose(
        by=by["wren"],
        tree=standing.tree,
        kind=kind,
        reason=WORDS[kind],
        assessment=assessment,
        estimated_hours=HOURS[kind],
        on=calendar.on("12"),
    )
    turn = number % 4
    if turn == 3:
        mitigation.withdraw(
            by=by["selma"], order=order, reason="The bench beneath it was given up", on=calendar.on("6")
        )
    elif turn:
        lead, day = by["dagny"], calendar.on("5" if turn == 1 else "-9")
        mitigation.schedule(by=by["selma"], order=order, scheduled_for=day, assigned_to=lead.user, on=calendar.on("10"))
        if turn == 1:
            hours = HOURS[kind] + 0.5
            mitigation.report_done(by=lead, order=order, on=day, outcome="As ordered.", actual_hours=hours)


def _close(by: Mapping[str, Actor]) -> None:
    """Around each grave tree but the last; one closure was opened again."""
    grave = list(not_closed().select_related("tree__park", "inspection").order_by("triage_key"))
    closed = [_closure(standing, by["wren"]) for standing in grave[:-1]]
    if len(closed) > 1:
        lift(by=by["selma"], closure=closed[-1], reason="The torn limb is down; the tree is looked at anew this week.")


def _closure(standing: Standing, by: Actor) -> Closure:
    return close_area(
        by=by,
        park=standing.tree.park,
        tree=standing.tree,
        inspection=standing.inspection,
        area=f"The way and the lawn within reach of {standing.tree.tag}",
        barrier="Fence on three sides, tape, two signs",
        reason=standing.reason[:300],
    )
