"""Alderquay's workers, and what its crews see to before and after a felling."""

import datetime as dt
from collections.abc import Mapping

from config.demo.files import Calendar, Row, table
from inventory.record import Actor
from removals import crew_work, kept_places, site_work
from removals.crew_work import TicketFacts
from removals.models import CrewRole, KeptKind, RemovalOrder, TicketKind, Worker, WorkKind
from removals.work_items import Stage, items_of

PULLER, SPOTTER = "Ansel Brookwright", "Ida Fallowmere"
NOTES = {
    WorkKind.WIRES: "None within one and a half tree heights",
    WorkKind.NESTING: "Nothing lives in it",
    WorkKind.CLOSURES: "The ways beneath it, from seven to noon, by the crew",
    WorkKind.NEIGHBOURS: "The houses along the park",
    WorkKind.NOTICES: "On the tree and at both gates, ten days before",
    WorkKind.QUARANTINE: "None holds for this species",
    WorkKind.STUMP: "Ground to 30 cm below the soil",
    WorkKind.READING: "Kept with the slice in the yard",
}


def load_workers(by: Mapping[str, Actor], calendar: Calendar) -> int:
    """Those that are not there yet; how many there are."""
    rows = table("workers.csv")
    known = set(Worker.objects.values_list("name", flat=True))
    for row in rows:
        if row["name"] not in known:
            _add(row, by, calendar)
    return len(rows)


def _add(row: Row, by: Mapping[str, Actor], calendar: Calendar) -> None:
    ends = {kind: row[f"{kind}_days"] for kind in TicketKind.values}
    crew_work.save_worker(
        by=by["selma"],
        name=row["name"],
        user=by[row["login"]].user if row["login"] else None,
        first_aid_until=calendar.on(row["first_aid_days"]) if row["first_aid_days"] else None,
        tickets={kind: TicketFacts(calendar.on(days)) for kind, days in ends.items() if days},
    )


def prepare(by: Actor, order: RemovalOrder, on: dt.date) -> None:
    """Everything before the work seen to by the lead, who fells; the crew named."""
    for item in items_of(Stage.BEFORE):
        _settle(by, order, item.kind, on)
    named = Worker.objects.in_bulk([by.name, PULLER, SPOTTER], field_name="name")
    roles = ((by.name, CrewRole.FELLER), (PULLER, CrewRole.PULLER), (SPOTTER, CrewRole.SPOTTER))
    crew_work.name_crew(by=by, order=order, crew=[(named[name], role) for name, role in roles])


def look_again(by: Actor, order: RemovalOrder, on: dt.date) -> None:
    """For nests, on the morning of the work: in the season an older look is worth nothing."""
    _settle(by, order, WorkKind.NESTING, on)


def clean_up(by: Actor, order: RemovalOrder, on: dt.date, kept: str = "") -> None:
    """Everything after the felling; ``kept``: a snag or the stump stays instead of being ground."""
    for item in items_of(Stage.AFTER):
        if item.kind == WorkKind.STUMP and kept:
            _keep(by, order, on, kept)
        else:
            _settle(by, order, item.kind, on)


def _settle(by: Actor, order: RemovalOrder, kind: WorkKind, on: dt.date) -> None:
    reference = {WorkKind.LOCATES: f"AQ-{order.pk:05d}", WorkKind.NESTING: SPOTTER}.get(kind, "")
    checks = next(item.checks for stage in Stage for item in items_of(stage) if item.kind == kind)
    site_work.settle(by=by, order=order, kind=kind, on=on, reference=reference, note=NOTES.get(kind, ""), checks=checks)


def _keep(by: Actor, order: RemovalOrder, on: dt.date, kept: str) -> None:
    reason, height_left_m = {
        KeptKind.SNAG: ("Woodpecker holes; nothing is within its reach", 4.0),
        KeptKind.STUMP: ("Holds the bank above the path", 0.4),
    }[KeptKind(kept)]
    kept_places.keep_place(by=by, order=order, kind=kept, height_left_m=height_left_m, reason=reason, on=on)
