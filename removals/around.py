"""What the inventory knows to stand around a tree, in metres from its stump."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import cast

from django.db.models import Q

from hazards.models import Target, TargetKind
from inventory.cells import window
from inventory.models import Tree
from removals.place import Point
from removals.surroundings import Box, Position, box_around, local_points_m
from removals.things import FeatureKind, Thing
from removals.tree_plan import SPREAD_SHARE_OF_HEIGHT

AROUND_HEIGHTS = 2.5
UNMEASURED_CROWN_RADIUS_M = 3.0
"""Taken for a neighbour of which neither spread nor height is known; an assumption of this program."""

_KINDS: dict[str, FeatureKind] = {
    TargetKind.PATH: FeatureKind.PATH,
    TargetKind.ROAD: FeatureKind.PATH,
    TargetKind.BUILDING: FeatureKind.BUILDING,
    TargetKind.SHELTER: FeatureKind.BUILDING,
}


@dataclass(frozen=True, slots=True)
class Around:
    """Things nearest first, and sentences on what the picture cannot show."""

    things: tuple[Thing, ...]
    cautions: tuple[str, ...]


def things_around(tree: Tree, height_m: float) -> Around:
    """Standing trees and targets within 2.5 heights of the tree, whatever park they belong to.

    ValueError with a sentence for a tree without a position. Four queries, whatever stands there.
    """
    if tree.lon is None or tree.lat is None:
        raise ValueError(f"{tree.tag} has no position: locate it before its surroundings can be drawn.")
    stump, reach_m = (tree.lon, tree.lat), AROUND_HEIGHTS * height_m
    box = box_around(stump, reach_m)
    targets = _targets(stump, box)
    things = [thing for thing in (*_trees(tree, stump, box), *targets) if math.hypot(*thing.points[0]) <= reach_m]
    things.sort(key=lambda thing: math.hypot(*thing.points[0]))
    return Around(tuple(things), _cautions(tree, {thing.name for thing in things}))


def trees_in(box: Box) -> Q:
    """Trees within a window: the map cells serve the index, the degrees cut their corners off."""
    found = Q()
    for part in box.parts:
        edges = Q(lon__range=(part.west, part.east), lat__range=(part.south, part.north))
        for cells in window(part.west, part.south, part.east, part.north):
            found |= Q(cell__range=cells) & edges
    return found


def _trees(tree: Tree, stump: Position, box: Box) -> list[Thing]:
    fields = ("tag", "lon", "lat", "dbh_cm", "height_m", "crown_spread_m")
    rows = list(Tree.objects.standing().filter(trees_in(box)).exclude(pk=tree.pk).order_by("tag").values_list(*fields))
    points = local_points_m(stump, [(lon, lat) for _, lon, lat, *_ in rows])
    return [_tree_thing(tag, point, *sizes) for (tag, _, _, *sizes), point in zip(rows, points, strict=True)]


def _tree_thing(tag: str, point: Point, dbh_cm: float | None, height_m: float | None, spread_m: float | None) -> Thing:
    return Thing(
        kind=FeatureKind.TREE,
        name=tag,
        points=(point,),
        radius_m=crown_radius_m(height_m, spread_m),
        foot_radius_m=(dbh_cm or 0.0) / 200,
    )


def crown_radius_m(height_m: float | None, spread_m: float | None) -> float:
    """Half of the spread; unmeasured, as a felling plan takes it from the height; else the assumed one."""
    if spread_m is not None:
        return spread_m / 2
    return UNMEASURED_CROWN_RADIUS_M if height_m is None else SPREAD_SHARE_OF_HEIGHT * height_m / 2


def _targets(stump: Position, box: Box) -> list[Thing]:
    """Targets are few, a hundred times fewer than trees: they are looked through by their degrees."""
    edges = Q()
    for part in box.parts:
        edges |= Q(lon__range=(part.west, part.east), lat__range=(part.south, part.north))
    rows = list(Target.objects.filter(edges).order_by("name").values_list("name", "kind", "lon", "lat"))
    points = local_points_m(stump, cast("list[Position]", [row[2:] for row in rows]))
    return [
        Thing(kind=_KINDS.get(kind, FeatureKind.TARGET), name=name, points=(point,))
        for (name, kind, _, _), point in zip(rows, points, strict=True)
    ]


def _cautions(tree: Tree, names: set[str]) -> tuple[str, ...]:
    lost_trees = Tree.objects.unlocated().filter(park=tree.park_id).exclude(pk=tree.pk).count()
    targets = list(Target.objects.filter(park=tree.park_id).values_list("name", "kind", "lon").order_by("name"))
    unplaced = [name for name, _, lon in targets if lon is None]
    utilities = [name for name, kind, _ in targets if kind == TargetKind.UTILITY and name in names]
    said = (
        "A target is one point of a path or a place: look on site how far it reaches.",
        f"Trees of this park without a position, not shown: {lost_trees}." if lost_trees else "",
        f"Not shown, without a position: {', '.join(unplaced)}." if unplaced else "",
        f"Look for the wires and pipes of {', '.join(utilities)}." if utilities else "",
    )
    return tuple(sentence for sentence in said if sentence)
