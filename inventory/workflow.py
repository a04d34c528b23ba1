"""Every change to the ground floor's facts: one function, one transaction, one entry in the record."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any

from django.contrib.auth.models import Group
from django.db import transaction

from inventory import record
from inventory.access import Role
from inventory.models import DatePrecision, Park, RecordEntry, Species, Tree, TreeStatus
from inventory.palette_file import COLUMNS
from inventory.record import Actor

EDITABLE = (
    "tag",
    "park",
    "species",
    "cultivar",
    "condition",
    "dbh_cm",
    "dbh_estimated",
    "stems_cm",
    "height_m",
    "crown_spread_m",
    "planted_on",
    "planted_precision",
    "growing_space_m",
    "overhead_lines",
    "light",
    "soil_moisture",
    "note",
)


def give_role(user: Any, role: Role) -> None:
    """Put a person into a role's group."""
    group, _ = Group.objects.get_or_create(name=role.value)
    user.groups.add(group)


@transaction.atomic
def edit_tree(*, by: Actor, tree: Tree, changes: Mapping[str, Any]) -> Tree:
    """Correct a tree's facts; ``changes`` may name the editable fields and ``lon`` with ``lat``.

    The record keeps each old and new value. Raises ValueError for a field that is not edited here: a status changes
    through an inspection or a removal order only.
    """
    tree = Tree.objects.select_for_update().get(pk=tree.pk)
    unknown = set(changes) - {*EDITABLE, "lon", "lat"}
    if unknown:
        raise ValueError(f"{', '.join(sorted(unknown))} cannot be edited on the tree")
    before = {name: getattr(tree, name) for name in changes}
    for name in changes.keys() & set(EDITABLE):
        setattr(tree, name, changes[name])
    if "lon" in changes or "lat" in changes:
        tree.place(changes.get("lon", tree.lon), changes.get("lat", tree.lat))
    altered = {
        name: [str(before[name]), str(getattr(tree, name))] for name in changes if before[name] != getattr(tree, name)
    }
    if not altered:
        return tree
    tree.save()
    record.write(
        by=by,
        verb="edited",
        subject=tree,
        tree=tree,
        summary=f"Corrected {', '.join(sorted(altered))}.",
        changes=altered,
    )
    return tree


def mark_dead(*, by: Actor, tree: Tree, since: dt.date | None) -> None:
    """A standing tree was found dead. Call inside the transaction of the inspection that found it."""
    if tree.status != TreeStatus.STANDING:
        return
    tree.status, tree.dead_since = TreeStatus.DEAD_STANDING, since
    tree.save(update_fields=["status", "dead_since", "updated_at"])
    record.write(by=by, verb="found dead", subject=tree, tree=tree, summary="Found dead, still standing.")


def mark_alive(*, by: Actor, tree: Tree) -> None:
    """A tree held for dead is alive. Call inside the transaction of the inspection that found it so."""
    if tree.status != TreeStatus.DEAD_STANDING:
        return
    tree.status, tree.dead_since = TreeStatus.STANDING, None
    tree.save(update_fields=["status", "dead_since", "updated_at"])
    record.write(by=by, verb="found alive", subject=tree, tree=tree, summary="Found alive after all.")


def mark_removed(*, by: Actor, tree: Tree, on: dt.date, why: str) -> None:
    """The tree is gone. Call inside the transaction that also opens its replacement task: the database insists."""
    tree.status, tree.removed_on = TreeStatus.REMOVED, on
    tree.save(update_fields=["status", "removed_on", "updated_at"])
    record.write(by=by, verb="removed", subject=tree, tree=tree, summary=f"Removed: {why}.", on=on.isoformat())


def new_tag(park: Park) -> str:
    """The next free tag of a park, for trees that the program adds itself: ``ALB-N0001``."""
    stem = f"{park.code}-N"
    last = Tree.objects.filter(tag__startswith=stem).order_by("-tag").values_list("tag", flat=True).first()
    number = int(last.removeprefix(stem)) + 1 if last and last.removeprefix(stem).isdigit() else 1
    return f"{stem}{number:04d}"


def plant_tree(
    *,
    by: Actor,
    replaces: Tree,
    species: Species,
    cultivar: str = "",
    on: dt.date,
    lon: float | None,
    lat: float | None,
    dbh_cm: float | None = None,
) -> Tree:
    """Add a newly planted tree that stands for a removed one. Call inside the caller's transaction."""
    # Two plantings in one park must not draw the same tag.
    park = Park.objects.select_for_update().get(pk=replaces.park_id)
    tree = Tree(
        tag=new_tag(park),
        park=park,
        species=species,
        cultivar=cultivar,
        planted_on=on,
        planted_precision=DatePrecision.DAY,
        replaces=replaces,
        dbh_cm=dbh_cm,
        growing_space_m=replaces.growing_space_m,
        overhead_lines=replaces.overhead_lines,
        light=replaces.light,
        soil_moisture=replaces.soil_moisture,
    )
    tree.place(lon, lat)
    tree.save(force_insert=True)
    record.write(
        by=by, verb="planted", subject=tree, tree=tree, summary=f"Planted {tree.name} in place of {replaces.tag}."
    )
    return tree


@transaction.atomic
def load_palette(*, by: Actor, taxa: Iterable[Mapping[str, Any]]) -> int:
    """Add or bring up to date the palette's species, each a mapping of its fields; how many were new or changed.

    A name met in an import before becomes a palette taxon; nothing is taken out.
    """
    known = {species.botanical: species for species in Species.objects.select_for_update()}
    new, changed = [], []
    for taxon in taxa:
        species = known.get(taxon["botanical"]) or Species()
        if species.palette and all(getattr(species, name) == value for name, value in taxon.items()):
            continue
        species.palette = True
        for name, value in taxon.items():
            setattr(species, name, value)
        (changed if species.pk else new).append(species)
    Species.objects.bulk_create(new)
    Species.objects.bulk_update(changed, ["palette", *COLUMNS])
    RecordEntry.objects.bulk_create(
        record.entry(by=by, verb="palette", subject=species, summary=f"{species} stands in the palette as in the file.")
        for species in new + changed
    )
    return len(new) + len(changed)
