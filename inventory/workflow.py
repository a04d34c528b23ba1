"""Every change to the ground floor's facts: one function, one transaction, one entry in the record."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Mapping
from typing import Any

from django.contrib.auth.models import Group, User
from django.db import IntegrityError, models, transaction

from inventory import record
from inventory.access import Role
from inventory.errors import Refused
from inventory.models import DatePrecision, Park, RecordEntry, Species, Tree, TreeStatus
from inventory.palette_file import COLUMNS
from inventory.record import COMMAND, Actor

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


_TOGETHER = {
    "lon": "position",
    "lat": "position",
    "planted_on": "date of planting",
    "planted_precision": "date of planting",
}


def _in_words(fields: Iterable[str]) -> str:
    """``dbh_cm``, ``lon``, ``lat`` → diameter at breast height, position."""
    names = {name: str(getattr(Tree._meta.get_field(name), "verbose_name", name)).split(",")[0] for name in fields}
    return ", ".join(sorted({_TOGETHER.get(name, words) for name, words in names.items()}))


@transaction.atomic
def edit_tree(*, by: Actor, tree: Tree, changes: Mapping[str, Any], seen: dt.datetime | None = None) -> Tree:
    """Correct a tree's facts; ``changes`` may name the editable fields and ``lon`` with ``lat``.

    The record keeps each old and new value. ``seen`` is the ``updated_at`` of the tree that the editor looked at: Refused
    when it changed since, or when the tag is another tree's. Raises ValueError for a field that is not edited here: a
    status changes through an inspection or a removal order only.
    """
    tree = Tree.objects.select_for_update().get(pk=tree.pk)
    if seen and seen != tree.updated_at:
        raise Refused("The tree was changed while this page was open; open it again and repeat your correction.")
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
    try:
        with transaction.atomic():
            tree.save()
    except IntegrityError as error:
        if "inventory_tree_tag" not in str(error):
            raise
        raise Refused(f"The tag {tree.tag} belongs to another tree; give one that is free.") from error
    record.write(
        by=by,
        verb="edited",
        subject=tree,
        tree=tree,
        summary=f"Corrected {_in_words(altered)}.",
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


def mark_removed(*, by: Actor, tree: Tree, on: dt.date, why: str, died: bool = False) -> None:
    """The tree is gone. Call inside the transaction that also opens its replacement task: the database insists.

    ``died``: it fell or died of itself, so that a tree held for alive has been dead since that day.
    """
    if died and tree.status == TreeStatus.STANDING:
        tree.dead_since = on
    tree.status, tree.removed_on = TreeStatus.REMOVED, on
    tree.save(update_fields=["status", "removed_on", "dead_since", "updated_at"])
    record.write(by=by, verb="removed", subject=tree, tree=tree, summary=f"Removed: {why}.", on=on.isoformat())


def new_tag(park: Park) -> str:
    """The next free tag of a park, for trees that the program adds itself: ``ALB-N0001``."""
    stem = f"{park.code}-N"
    last = Tree.objects.filter(tag__startswith=stem).order_by("-tag").values_list("tag", flat=True).first()
    number = int(last.removeprefix(stem)) + 1 if last and last.removeprefix(stem).isdigit() else 1
    return f"{stem}{number:04d}"


@transaction.atomic
def add_tree(
    *,
    by: Actor,
    park: Park,
    species: Species | None,
    lon: float,
    lat: float,
    dbh_cm: float | None = None,
    note: str = "",
) -> Tree:
    """Add a tree that stands in a park and was missing from the inventory, under the park's next free tag."""
    park = Park.objects.select_for_update().get(pk=park.pk)
    tree = Tree(tag=new_tag(park), park=park, species=species, dbh_cm=dbh_cm, note=note)
    tree.place(lon, lat)
    tree.save(force_insert=True)
    record.write(by=by, verb="added", subject=tree, tree=tree, summary=f"Added {tree.name}, found standing in {park}.")
    return tree


# What a removed tree's spot keeps for the tree that follows it there.
SPOT = ("growing_space_m", "overhead_lines", "light", "soil_moisture")


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
    park: Park | None = None,
    same_spot: bool = True,
) -> Tree:
    """Add a newly planted tree that stands for a removed one. Call inside the caller's transaction.

    ``park``: another than the removed tree's. ``same_spot``: what is known of the removed tree's spot holds for it too.
    """
    # Two plantings in one park must not draw the same tag.
    park = Park.objects.select_for_update().get(pk=park.pk if park else replaces.park_id)
    tree = Tree(
        tag=new_tag(park),
        park=park,
        species=species,
        cultivar=cultivar,
        planted_on=on,
        planted_precision=DatePrecision.DAY,
        replaces=replaces,
        dbh_cm=dbh_cm,
    )
    if same_spot:
        for fact in SPOT:
            setattr(tree, fact, getattr(replaces, fact))
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
    new: list[Species] = []
    changed: list[Species] = []
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


@transaction.atomic
def correct_reference(*, by: Actor, thing: models.Model, changes: Mapping[str, Any], new: bool) -> None:
    """Keep a clerk's correction of reference data: a park, a taxon, a target; ``changes`` say what, for the record."""
    thing.save()
    kind = thing._meta.verbose_name
    summary = f"Added the {kind} {thing}." if new else f"Corrected {', '.join(sorted(changes))} of the {kind} {thing}."
    record.write(by=by, verb="reference", subject=thing, summary=summary[:300], changes=dict(changes))


def _groups(roles: Iterable[Role]) -> list[Group]:
    return [Group.objects.get_or_create(name=role.value)[0] for role in roles]


def _words(roles: Iterable[Role]) -> str:
    return ", ".join(sorted(role.value for role in roles)) or "without a role"


@transaction.atomic
def give_role(user: User, role: Role, *, by: Actor = COMMAND) -> None:
    """Put a person into a role's group; giving it again changes nothing."""
    if user.groups.filter(name=role.value).exists():
        return
    user.groups.add(*_groups([role]))
    record.write(by=by, verb="role", subject=user, summary=f"Gave {user.username} the role {role.value}.")


@transaction.atomic
def add_person(
    *, by: Actor, username: str, password: str, first_name: str = "", last_name: str = "", roles: Collection[Role]
) -> User:
    """Open an account with a first password, which its owner should change."""
    person = User.objects.create_user(username, password=password, first_name=first_name, last_name=last_name)
    person.groups.set(_groups(roles))
    record.write(by=by, verb="person", subject=person, summary=f"Added {username}, {_words(roles)}.")
    return person


@transaction.atomic
def change_person(*, by: Actor, person: User, roles: Collection[Role], active: bool, password: str = "") -> None:
    """Set a person's roles, open or shut the account and, when given, set a new password.

    Raises Refused for what would lock the last key in: one's own account shut, one's own administration given away, or a
    superuser changed by somebody who is none.
    """
    person = User.objects.select_for_update().get(pk=person.pk)
    before = {role for role in Role if person.groups.filter(name=role.value).exists()}
    if person.is_superuser and not (by.user is None or by.user.is_superuser):
        raise Refused("A superuser's account is changed by a superuser only.")
    if person == by.user and not active:
        raise Refused("You cannot shut your own account; ask another administrator.")
    if person == by.user and Role.ADMINISTRATOR in before - set(roles):
        raise Refused("You cannot give away your own administration; ask another administrator.")
    said = _what_changed(person, before, set(roles), active, password)
    if not said:
        return
    person.is_active = active
    if password:
        person.set_password(password)
    person.save()
    person.groups.set(_groups(roles))
    record.write(by=by, verb="person", subject=person, summary=f"{person.username}: {'; '.join(said)}.")


def _what_changed(person: User, before: set[Role], after: set[Role], active: bool, password: str) -> list[str]:
    said = [f"now {_words(after)}"] if before != after else []
    if person.is_active != active:
        said.append("account opened again" if active else "account shut")
    return [*said, "new password set"] if password else said


@transaction.atomic
def change_own_password(*, by: Actor, password: str) -> None:
    """The signed-in person sets their own password; the old one was asked for before."""
    by.user.set_password(password)
    by.user.save(update_fields=["password"])
    record.write(by=by, verb="password", subject=by.user, summary=f"{by.user.username} changed their password.")


@transaction.atomic
def put_parks(*, by: Actor, parks: Iterable[Mapping[str, Any]]) -> int:
    """Add parks or bring the given fields up to date, each a mapping with ``code``; how many were new or changed."""
    count = 0
    for fields in parks:
        park = Park.objects.select_for_update().filter(code=fields["code"]).first() or Park(code=fields["code"])
        changed = sorted(name for name, value in fields.items() if getattr(park, name) != value)
        if park.pk and not changed:
            continue
        verb, what = ("park changed", f": {', '.join(changed)}") if park.pk else ("park added", "")
        for name, value in fields.items():
            setattr(park, name, value)
        park.save()
        record.write(by=by, verb=verb, subject=park, summary=f"{verb.capitalize()}, {park}{what}.")
        count += 1
    return count
