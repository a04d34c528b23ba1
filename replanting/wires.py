"""How high a tree may grow near overhead lines: published cut-offs as named rules, for they differ and a city picks its own.

Each gives the greatest height at maturity from the distance on the ground between trunk and line. The local utility's own
rule comes before any of them, and whoever works near a line keeps the utility's clearances.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from inventory.units import M_PER_FT


@dataclass(frozen=True)
class WireRule:
    """``limit_ft`` takes a distance in feet to the greatest height in feet, infinity where any tree may stand."""

    key: str
    name: str
    words: str
    source: str
    limit_ft: Callable[[float], float]

    def limit_m(self, distance_m: float) -> float:
        # The cut-offs are whole feet: 20 ft told in metres must come back as 20, not as 19.9999.
        return self.limit_ft(round(distance_m / M_PER_FT, 3)) * M_PER_FT


def _three_sizes(distance_ft: float) -> float:
    return 25 if distance_ft < 20 else 40 if distance_ft <= 40 else math.inf


def _forestry(distance_ft: float) -> float:
    return 25 if distance_ft < 20 else 45 if distance_ft <= 40 else math.inf


def _utility(distance_ft: float) -> float:
    return 20 if distance_ft <= 15 else 40 if distance_ft < 65 else math.inf


def _height_within_distance(distance_ft: float) -> float:
    return distance_ft


THREE_SIZES = WireRule(
    "25-40",
    "25, then 40 ft",
    "small trees to 25 ft (7.6 m) nearer than 20 ft (6.1 m), medium ones to 40 ft (12.2 m) up to 40 ft from the line, any beyond",
    "common practice; the distances after Vermont community forestry",
    _three_sizes,
)
FORESTRY = WireRule(
    "25-45",
    "25, then 45 ft",
    "to 25 ft (7.6 m) nearer than 20 ft (6.1 m), to 45 ft (13.7 m) at 20 to 40 ft, any beyond 40 ft (12.2 m)",
    "Vermont community forestry",
    _forestry,
)
UTILITY = WireRule(
    "20-40",
    "20, then 40 ft",
    "to 20 ft (6.1 m) within 15 ft (4.6 m), to 40 ft (12.2 m) beyond, any from 65 ft (19.8 m)",
    "a published utility guide",
    _utility,
)
HEIGHT_WITHIN_DISTANCE = WireRule(
    "height", "As high as far", "no higher than the line is away", "a published utility guide", _height_within_distance
)
WIRE_RULES = {rule.key: rule for rule in (THREE_SIZES, FORESTRY, UTILITY, HEIGHT_WITHIN_DISTANCE)}
