"""Every change to a replacement: one function, one transaction, one entry in the record.

Each function locks the task's row before it looks at it, so that of two people who act at once the second is told what the
first did. All raise ``Refused`` with the sentence to show.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from inventory import workflow as trees
from inventory.access import Permission
from inventory.errors import Refused
from inventory.models import Species, Tree
from inventory.record import Actor
from inventory.steps import day_words, past, permit, said, short
from replanting import policy
from replanting.city_policy import current
from replanting.models import (
    CareVisit,
    FailureCause,
    ObstacleKind,
    PlannedPlanting,
    Planting,
    Pruning,
    ReplacementTask,
    Stock,
    TaskState,
    WaiverKind,
)
from replanting.obstacles import clear, open_obstacles, put
from replanting.parting import so_many
from replanting.states import Action
from replanting.taking import locked, taken, write

CALIPER_MAX_CM = 30.0
BALL_MAX_CM = 300.0
WATER_MAX_L = 2000.0


def open_task(*, by: Actor, tree: Tree, on: dt.date) -> ReplacementTask:
    """Open the replacement of a tree that was just removed. Call inside the transaction of the removal.

    Its stump stands in the way until somebody says that it is out.

    A young tree that still stood for an earlier removal opens no second promise: its planting failed, and the task that
    it was planted for reopens and is returned.
    """
    tree = Tree.objects.select_for_update().get(pk=tree.pk)
    if tree.stands:
        raise Refused(f"Tree {tree} still stands; a replacement opens when it is removed.")
    if young := _young_planting(tree):
        task = locked(young.task)
        return _reopen(by=by, task=task, planting=young, on=on, reason="removed before it was established")
    if ReplacementTask.objects.filter(removed_tree=tree, first=True).exists():
        raise Refused(f"Tree {tree} has its replacement task already; the first removal stands.")
    task = ReplacementTask.objects.create(
        removed_tree=tree, park_id=tree.park_id, opened_on=on, due_on=policy.due(on, current())
    )
    write(by, task, "replacement opened", f"Replacement of {tree} opened, due {day_words(task.due_on)}.", tree)
    put(by, task, ObstacleKind.STUMP, "", on)
    return task


@transaction.atomic
def choose_species(
    *,
    by: Actor,
    task: ReplacementTask,
    species: Species,
    cultivar: str = "",
    reason: str,
    on: dt.date | None = None,
) -> ReplacementTask:
    task = taken(by, task, Action.CHOOSE_SPECIES)
    on = past(on or timezone.localdate())
    task.species, task.cultivar = species, cultivar
    task.species_reason = said(reason, "Say why this species: the reason stays with the choice.")
    task.save()
    write(by, task, "species chosen", f"Chose {task.choice}: {task.species_reason}", on=on, species=species.botanical)
    return task


@transaction.atomic
def order_stock(*, by: Actor, task: ReplacementTask, stock: str, nursery: str, on: dt.date) -> ReplacementTask:
    task = taken(by, task, Action.ORDER)
    task.stock, task.ordered_on = _known(stock), past(on)
    task.nursery = said(nursery, "Name the nursery.", limit=120)
    task.save()
    write(by, task, "stock ordered", f"Ordered {task.choice}, {task.stock}, from {task.nursery}.", on=on)
    return task


@transaction.atomic
def set_aside(*, by: Actor, task: ReplacementTask, on: dt.date, reason: str) -> ReplacementTask:
    """Drop the choice, and the order if there is one: the nursery cannot deliver, the site was misjudged."""
    task = taken(by, task, Action.SET_ASIDE)
    was, reason = task.species, said(reason, "Say why the choice is set aside.")
    _clear_choice(task)
    task.save()
    write(by, task, "choice set aside", f"Set {was} aside: {reason}", on=past(on), reason=reason)
    return task


@transaction.atomic
def plant(
    *,
    by: Actor,
    task: ReplacementTask,
    on: dt.date,
    stock: str | None = None,
    caliper_cm: float | None = None,
    lon: float | None = None,
    lat: float | None = None,
    ball_cm: float | None = None,
    crew: str = "",
    checks: Mapping[str, Any] | None = None,
    season_reason: str = "",
    id: UUID | None = None,
) -> Planting:
    """Put one young tree in the ground: it joins the inventory and replaces the removed one, by default on its spot.

    Of a task of several, one is split off and planted; the others wait on. ``checks`` are answers to `planting_checks`, by
    key. The tree comes off the order line that was made for its task, and the planted task leaves the planting plan.
    """
    many = locked(task).units > 1
    task = so_many(by, task, Action.PLANT, 1, on)
    removed = task.removed_tree
    if on < task.opened_on:
        raise Refused(f"It was planted before its place fell free on {day_words(task.opened_on)}; mend the date.")
    _refuse_odd_stock(caliper_cm, ball_cm)
    task.stock = _known(stock or task.stock)
    task.save()
    lon, lat = _spot(task, many) if lon is None and lat is None else _position(lon, lat)
    tree = trees.plant_tree(
        by=by,
        replaces=removed,
        species=_species(task),
        cultivar=task.cultivar,
        on=past(on),
        lon=lon,
        lat=lat,
        park=task.site_park,
        same_spot=task.on_the_old_spot,
    )
    clear(by, task, open_obstacles(task), on, "planted")
    planting = Planting.objects.create(
        task=task,
        tree=tree,
        stock=task.stock,
        caliper_cm=caliper_cm,
        nursery=task.nursery,
        planted_on=on,
        line=task.order_line,
        crew=crew.strip(),
        ball_cm=ball_cm,
        checks=dict(checks or {}),
        season_reason=season_reason,
        sent_id=id,
    )
    PlannedPlanting.objects.filter(task=task).delete()
    write(
        by,
        task,
        "replacement planted",
        f"Planted {tree.name} as {tree} on {day_words(on)}, {task.stock}.",
        on=on,
        planted=tree.tag,
    )
    return planting


def _refuse_odd_stock(caliper_cm: float | None, ball_cm: float | None) -> None:
    if caliper_cm is not None and not 0 < caliper_cm <= CALIPER_MAX_CM:
        raise Refused(f"A caliper lies above 0 and up to {CALIPER_MAX_CM:.0f} cm; mend the figure.")
    if ball_cm is not None and not 0 < ball_cm <= BALL_MAX_CM:
        raise Refused(f"A root ball is above 0 and up to {BALL_MAX_CM:.0f} cm across; mend the figure.")


@transaction.atomic
def visit(
    *,
    by: Actor,
    planting: Planting,
    on: dt.date,
    alive: bool = True,
    watered_l: float | None = None,
    stakes_off: bool = False,
    saturated: bool = False,
    note: str = "",
    id: UUID | None = None,
) -> CareVisit:
    """Record a care visit. ``id`` is the number a tablet gave it: sent twice, it is stored once.

    A visit may arrive late; it belongs to the planting when its day lies within the young tree's time in care.
    """
    permit(by, Permission.CARE)
    task = locked(planting.task)
    planting = Planting.objects.select_related("tree").get(pk=planting.pk)
    if id and (known := CareVisit.objects.filter(pk=id).first()):
        return _same_visit(known, planting)
    ended = planting.failed_on or task.established_on
    if on < planting.planted_on or (ended and on > ended):
        until = f" to {day_words(ended)}" if ended else ""
        raise Refused(
            f"{planting.tree} was in care from {day_words(planting.planted_on)}{until}; mend the day of the visit."
        )
    if watered_l is not None and not 0 <= watered_l <= WATER_MAX_L:
        raise Refused(f"Water lies between 0 and {WATER_MAX_L:.0f} litres; mend the figure.")
    if saturated and watered_l:
        raise Refused("A root ball that is saturated is not watered; leave out the water, or that it was saturated.")
    made = CareVisit(planting=planting, visited_on=past(on), alive=alive, watered_l=watered_l, by=by.user)
    made.stakes_off, made.saturated, made.note = stakes_off, saturated, short(note, 300)
    made.pk = id or made.pk
    made.save(force_insert=True)
    write(by, task, "care visit", _visit_summary(made), planting.tree, on=on, visit=str(made.pk), note=note)
    return made


@transaction.atomic
def establish(*, by: Actor, task: ReplacementTask, on: dt.date) -> ReplacementTask:
    """The promise is kept: the young tree stands on its own."""
    task = taken(by, task, Action.ESTABLISH)
    planting = _living_planting(task)
    if on < planting.planted_on:
        raise Refused(f"It was planted on {day_words(planting.planted_on)}; it cannot be established before that.")
    last = planting.visits.first()
    if last and not last.alive:
        raise Refused(
            f"The visit on {day_words(last.visited_on)} found it dead; record the failure, or a visit that found it alive."
        )
    task.established_on = past(on)
    task.save()
    write(by, task, "established", f"{planting.tree} is established on {day_words(on)}.", planting.tree, on=on)
    return task


@transaction.atomic
def fail(
    *, by: Actor, task: ReplacementTask, on: dt.date, reason: str = "", causes: Sequence[str] = ()
) -> ReplacementTask:
    """The young tree is lost: it leaves the inventory, its planting keeps why, the task reopens.

    ``causes`` are of `FailureCause`; words may be left out when a cause is named.
    """
    # The tree before the task, the order in which a removal locks them: two at once then wait instead of deadlocking.
    list(Tree.objects.select_for_update().filter(planting__task=task, planting__failed_on__isnull=True))
    task = taken(by, task, Action.FAIL)
    planting = _living_planting(task)
    if unknown := set(causes) - set(FailureCause.values):
        raise Refused(f"“{', '.join(sorted(unknown))}” is no cause of the list: {', '.join(FailureCause.values)}.")
    planting.failure_causes = list(causes)
    told = ": ".join(part for part in (", ".join(causes), reason.strip()) if part)
    reason = said(told, "Say why it failed: drought, vandals, stock, planting depth.")
    if on < planting.planted_on:
        raise Refused(f"It was planted on {day_words(planting.planted_on)}; it cannot have failed before that.")
    why = short(f"the planting failed: {reason}", 250)
    trees.mark_removed(by=by, tree=planting.tree, on=past(on), why=why, died=True)
    return _reopen(by=by, task=task, planting=planting, on=on, reason=reason)


@transaction.atomic
def prune(*, by: Actor, planting: Planting, on: dt.date, note: str = "") -> Pruning:
    """Record formative pruning of a young tree, in care or established."""
    permit(by, Permission.CARE)
    task = locked(planting.task)
    planting = Planting.objects.select_related("tree").get(pk=planting.pk)
    if planting.failed_on:
        raise Refused(f"{planting.tree} was lost on {day_words(planting.failed_on)}; there is nothing to prune.")
    if on < planting.planted_on:
        raise Refused(f"{planting.tree} was planted on {day_words(planting.planted_on)}; mend the day of the pruning.")
    made = Pruning.objects.create(planting=planting, on=past(on), note=short(note, 300), by=by.user)
    summary = f"Pruned {planting.tree} for its form on {day_words(on)}. {note}".strip()
    write(by, task, "formative pruning", summary, planting.tree, on=on)
    return made


@transaction.atomic
def waive(
    *,
    by: Actor,
    task: ReplacementTask,
    reason: str,
    on: dt.date,
    kind: str = WaiverKind.LET_GO,
    units: int | None = None,
) -> ReplacementTask:
    """The city lets this promise go, or pays into its fund instead, with a name and a reason.

    ``units``: so many of the task's trees, all of them without it; the waived ones are returned.
    """
    if kind not in WaiverKind.values:
        raise Refused(f"“{kind}” is no way to waive; use {' or '.join(WaiverKind.values)}.")
    task = so_many(by, task, Action.WAIVE, units, past(on))
    task.waived_by, task.waived_on, task.waived_kind = by.name, on, kind
    task.waived_reason = said(reason, "Say why the replacement is waived.")
    task.save()
    clear(by, task, open_obstacles(task), on, "waived")
    fund = ", a fund is paid in lieu" if kind == WaiverKind.FUND else ""
    write(by, task, "waived", f"Waived by {by.name}{fund}: {task.waived_reason}", on=on, kind=kind, units=task.units)
    return task


def _reopen(*, by: Actor, task: ReplacementTask, planting: Planting, on: dt.date, reason: str) -> ReplacementTask:
    planting.failed_on, planting.failure_reason = on, reason
    planting.save()
    task.state, task.failures = TaskState.OPEN, task.failures + 1
    task.due_on = policy.due_again(on, task.due_on, current())
    _clear_choice(task)
    task.save()
    summary = (
        f"{planting.tree} failed on {day_words(on)}: {reason}; the replacement reopened, due {day_words(task.due_on)}."
    )
    write(by, task, "planting failed", summary, planting.tree, on=on, reason=reason)
    return task


def _young_planting(tree: Tree) -> Planting | None:
    young = Planting.objects.filter(tree=tree, failed_on__isnull=True, task__state=TaskState.PLANTED)
    return young.select_related("task", "tree").first()


def _living_planting(task: ReplacementTask) -> Planting:
    return task.plantings.select_related("tree").get(failed_on__isnull=True)


def _species(task: ReplacementTask) -> Species:
    if task.species is None:  # the database refuses this state
        raise Refused("No species is chosen.")
    return task.species


def _clear_choice(task: ReplacementTask) -> None:
    task.species, task.ordered_on, task.order_line = None, None, None
    task.cultivar = task.species_reason = task.stock = task.nursery = ""


def _same_visit(known: CareVisit, planting: Planting) -> CareVisit:
    if known.planting_id != planting.pk:
        raise Refused("This visit's number belongs to a visit of another tree; record it anew.")
    return known


def _known(stock: str) -> str:
    if stock not in Stock.values:
        raise Refused(f"Say what stock: {', '.join(Stock.values)}.")
    return stock


def _spot(task: ReplacementTask, many: bool) -> tuple[float | None, float | None]:
    """Where it stands when nobody says so: its planting place, where a lost one stood, or the removed tree's spot for the one
    that follows there."""
    if task.place:
        return task.place.lon, task.place.lat
    if not task.on_the_old_spot and (lost := task.plantings.select_related("tree").last()):
        return lost.tree.lon, lost.tree.lat
    if many or not task.on_the_old_spot:
        raise Refused(
            f"Say where it stands: the spot of {task.removed_tree} is for the one tree that follows it there."
        )
    return task.removed_tree.lon, task.removed_tree.lat


def _position(lon: float | None, lat: float | None) -> tuple[float, float]:
    if lon is None or lat is None or not (-180 <= lon <= 180 and -90 <= lat <= 90):
        raise Refused("A position is a longitude from -180 to 180 and a latitude from -90 to 90; give both or neither.")
    return lon, lat


def _visit_summary(made: CareVisit) -> str:
    found = "alive" if made.alive else "dead"
    water = f", {made.watered_l:.0f} l of water" if made.watered_l else ""
    stakes = ", stakes off" if made.stakes_off else ""
    water = ", root ball saturated" if made.saturated else water
    return f"Visited {made.planting.tree} on {day_words(made.visited_on)}: {found}{water}{stakes}. {made.note}".strip()
