"""What stands around the stump: each thing has a kind, the name it is accepted by, and its place in metres."""

from dataclasses import dataclass
from enum import StrEnum

Point = tuple[float, float]


class FeatureKind(StrEnum):
    TREE = "tree"
    TARGET = "target"
    BUILDING = "building"
    WIRE = "wire"
    PATH = "path"
    SPOTTER = "spotter"
    OBSTACLE = "obstacle"


BARS_THE_WAY = frozenset({FeatureKind.TREE, FeatureKind.BUILDING, FeatureKind.WIRE, FeatureKind.OBSTACLE})
"""What nobody walks through on the way out."""

NEVER_ACCEPTED = frozenset({FeatureKind.WIRE, FeatureKind.SPOTTER})
"""What no manager may let a tree fall on: wires and people."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """A point or a line, metres east and north of the stump; a line that ends where it began encloses ground.

    `radius_m` is how far it reaches around its points (a tree's crown), `foot_radius_m` the same on the ground (its trunk).
    """

    kind: FeatureKind
    name: str
    points: tuple[Point, ...]
    radius_m: float = 0.0
    foot_radius_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Seen:
    """A thing as seen from the stump, by the nearest of its points."""

    kind: FeatureKind
    name: str
    bearing_deg: float
    distance_m: float
