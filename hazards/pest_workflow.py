"""Every change to the watch for pests: one function, one transaction, one entry in the record."""

from __future__ import annotations

import datetime as dt

from django.db import IntegrityError, transaction
from django.utils import timezone

from hazards.models import PestWatch, PruningLimit
from hazards.pests import PESTS
from hazards.triage import day
from inventory import record
from inventory.errors import Refused
from inventory.record import Actor


@transaction.atomic
def watch_pest(*, by: Actor, pest: str, since: dt.date, note: str = "") -> PestWatch:
    """Watch for a pest of the catalogue. Refused for a day to come, and while it is watched already."""
    if since > timezone.localdate():
        raise Refused(f"{day(since)} lies in the future; give the day from which the pest is watched.")
    try:
        with transaction.atomic():
            watch = PestWatch.objects.create(pest=pest, since=since, note=note.strip())
    except IntegrityError as error:
        if "pest_watched_once" not in str(error):
            raise
        raise Refused(f"The {PESTS[pest].name} is watched already; end that watch first.") from error
    record.write(
        by=by,
        verb="watched a pest",
        subject=watch,
        summary=f"Watching for {watch} since {day(since)}.",
        note=watch.note,
    )
    return watch


@transaction.atomic
def end_pest_watch(*, by: Actor, watch: PestWatch, on: dt.date) -> PestWatch:
    """The pest is no longer watched; its page and its entries stay."""
    watch = PestWatch.objects.select_for_update().get(pk=watch.pk)
    if watch.ended_on:
        raise Refused(f"The watch for {watch} ended on {day(watch.ended_on)} already.")
    if not watch.since <= on <= timezone.localdate():
        raise Refused(f"The watch began on {day(watch.since)}; it ends on that day or later, and not in the future.")
    watch.ended_on = on
    watch.save()
    record.write(by=by, verb="ended a pest watch", subject=watch, summary=f"No longer watching for {watch}.")
    return watch


@transaction.atomic
def add_limit(*, by: Actor, limit: PruningLimit) -> PruningLimit:
    """Keep a local limit on pruning; ``limit`` is not yet saved."""
    for name, text in (("first", limit.first), ("last", limit.last)):
        if not is_day_of_year(text):
            raise Refused(f"“{text}” is not the {name} day of a season; write month and day, for example 04-15.")
    if limit.genus not in limit.watch.kind.genera:
        raise Refused(f"{limit.genus} is no host of {limit.watch}; choose {', '.join(limit.watch.kind.genera)}.")
    limit.save(force_insert=True)
    record.write(by=by, verb="added a pruning limit", subject=limit.watch, summary=f"Added a limit, {limit}."[:300])
    return limit


@transaction.atomic
def drop_limit(*, by: Actor, limit: PruningLimit) -> None:
    """The limit no longer holds; the record keeps what it said."""
    summary = f"Took out a limit, {limit}."[:300]
    record.write(by=by, verb="dropped a pruning limit", subject=limit.watch, summary=summary)
    limit.delete()


def is_day_of_year(text: str) -> bool:
    """``02-29`` is a day of some years."""
    try:
        dt.datetime.strptime(f"2024-{text}", "%Y-%m-%d")
    except ValueError:
        return False
    return len(text) == 5
