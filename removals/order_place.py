"""The place of an order: what the inventory knows to stand around its tree, what a crew added, and what was accepted."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from inventory.models import Tree
from removals.around import Around, crown_radius_m, things_around
from removals.felling_input import FellingInput
from removals.lay_finder import FallingTree, LayFindings, find_lays
from removals.learning import steering_default
from removals.models import AcceptedThing, FellingPlan, RemovalOrder, SiteThing
from removals.place import point_m
from removals.things import FeatureKind, Thing

ADDED_KINDS = (
    FeatureKind.WIRE,
    FeatureKind.BUILDING,
    FeatureKind.PATH,
    FeatureKind.OBSTACLE,
    FeatureKind.SPOTTER,
)
CORNERS_OF_A_GROUND = 3


@dataclass(frozen=True)
class OrderPlace:
    """``known``: from the inventory; ``added``: on site. ``located``: the tree has a position, so that it is known at all."""

    known: tuple[Thing, ...]
    added: tuple[SiteThing, ...]
    accepted: tuple[AcceptedThing, ...]
    cautions: tuple[str, ...]
    located: bool

    @cached_property
    def things(self) -> tuple[Thing, ...]:
        return (*self.known, *map(as_thing, self.added))

    @property
    def accepted_names(self) -> frozenset[str]:
        return frozenset(each.name for each in self.accepted)

    def named(self, name: str) -> Thing | None:
        return next((thing for thing in self.things if thing.name == name), None)


def as_thing(added: SiteThing) -> Thing:
    """A building of three corners or more encloses its ground."""
    points = tuple(point_m(bearing_deg, distance_m) for bearing_deg, distance_m in added.points)
    kind = FeatureKind(added.kind)
    closed = kind is FeatureKind.BUILDING and len(points) >= CORNERS_OF_A_GROUND
    return Thing(kind=kind, name=added.name, points=(*points, points[0]) if closed else points)


def place_of(order: RemovalOrder, height_m: float) -> OrderPlace:
    """A tree without a position has only what was added, and a sentence says so."""
    around, located = _around(order.tree, height_m)
    return OrderPlace(
        known=around.things,
        added=tuple(order.site_things.all()),
        accepted=tuple(order.accepted_things.all()),
        cautions=around.cautions,
        located=located,
    )


def _around(tree: Tree, height_m: float) -> tuple[Around, bool]:
    if tree.lon is not None and tree.lat is not None:
        return things_around(tree, height_m), True
    return Around((), (no_position(tree),)), False


def no_position(tree: Tree) -> str:
    return (
        f"{tree.tag} has no position: its neighbours and targets are not known here, and only what is entered counts."
    )


def with_place(order: RemovalOrder, inputs: FellingInput) -> tuple[FellingInput, tuple[str, ...]]:
    """A plan's input with the order's place in it, and sentences on what is not known of the place."""
    place = place_of(order, inputs.height_m)
    site = replace(
        inputs.site,
        things=place.things,
        accepted=tuple(sorted(place.accepted_names)),
        wires_noted=bool(order.tree.overhead_lines),
    )
    return replace(inputs, site=site), () if place.located else (no_position(order.tree),)


def place_gap(plan: FellingPlan) -> str:
    """A sentence when something was added, or an acceptance taken back, since the plan was made; else empty."""
    site = plan.inputs.get("site", {})
    planned = {thing["name"]: thing["points"] for thing in site.get("things", ())}
    for each in plan.order.site_things.all():
        if planned.get(each.name) != [list(point) for point in as_thing(each).points]:
            return f"{each.name} was added to the place after the plan was made: make a new plan."
    held = set(plan.order.accepted_things.values_list("name", flat=True))
    lost = sorted(set(site.get("accepted", ())) - held)
    return f"{lost[0]} is no longer accepted in the swath: make a new plan." if lost else ""


def falling_tree(tree: Tree, earlier: FellingPlan | None) -> FallingTree | None:
    """The tree as the latest plan measured it, else as the inventory knows it; None without a height."""
    entered: Mapping[str, Any] = earlier.inputs.get("entered", {}) if earlier else {}
    height_m = entered.get("height_m") or tree.height_m
    if not height_m:
        return None
    return FallingTree(
        height_m=height_m,
        crown_radius_m=crown_radius_m(height_m, entered.get("crown_spread_m") or tree.crown_spread_m),
        lean_deg=_lean_deg(entered),
        lean_toward_deg=entered.get("lean_toward_deg"),
        slope_pct=entered.get("slope_pct") or 0.0,
        downhill_deg=entered.get("downhill_deg"),
        wires_noted=bool(tree.overhead_lines),
        steering_error_deg=steering_default(),
    )


def _lean_deg(entered: Mapping[str, Any]) -> float:
    if entered.get("lean_deg") is not None:
        return float(entered["lean_deg"])
    offset_m, height_m = entered.get("plumb_offset_m"), entered.get("plumb_height_m")
    if not offset_m or not height_m:
        return 0.0
    return math.degrees(math.atan2(offset_m, height_m - (entered.get("cut_height_m") or 0.0)))


def standing_things(place: OrderPlace) -> list[Thing]:
    """What lays are judged by. Spotters are no part of it: they move with the lay."""
    return [thing for thing in place.things if thing.kind is not FeatureKind.SPOTTER]


def lays_in(place: OrderPlace, tree: FallingTree) -> LayFindings:
    return find_lays(tree, standing_things(place), place.accepted_names)
