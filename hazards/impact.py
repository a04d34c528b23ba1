"""How likely a failed part hits its target: the published suggestion, and what distance and direction of the fall take from it.

The published table (``matrix.SUGGESTED_IMPACT``: use against exposure) is the most that is ever suggested. What lowers it is
this program's own: a target beyond the reach of the fall is suggested very low; a fall across the target takes one step, a
fall away from it two, but no more than one where the wood scatters. The reach on level ground is the height of the tree, one
and a half times for a dead or brittle one, whose debris scatters (secondary text of the practice). The inspector may
override any suggestion with a reason; the published one is taken without.
"""

from dataclasses import dataclass

from hazards.matrix import Exposure, Impact, Level, Occupancy, suggest_impact

SCATTER_FACTOR = 1.5


class Direction(Level):
    """Where the part would most likely fall, seen from the target."""

    AWAY = "away"
    ACROSS = "across"
    TOWARDS = "towards"


MEANING: dict[Direction, str] = {
    Direction.TOWARDS: "lean, weight or wind bring it down on the target",
    Direction.ACROSS: "it would most likely fall past the target",
    Direction.AWAY: "it would most likely fall to the other side",
}
_STEPS_DOWN = {Direction.TOWARDS: 0, Direction.ACROSS: 1, Direction.AWAY: 2}


@dataclass(frozen=True)
class Fall:
    """One failure seen from one target; what is not known is None. ``scatters``: the tree is dead or its wood brittle."""

    occupancy: Occupancy
    exposure: Exposure
    distance_m: float | None = None
    height_m: float | None = None
    scatters: bool = False
    direction: Direction | None = None


@dataclass(frozen=True)
class Suggestion:
    """``published``: by the table alone; ``zone_m``: how far the fall reaches, None where the height is not known."""

    impact: Impact
    published: Impact
    zone_m: float | None
    because: tuple[str, ...]

    def explains(self, picked: Impact) -> bool:
        """Whether that pick needs no reason of its own: it is the suggestion, or what the published table says."""
        return picked in {self.impact, self.published}


def target_zone_m(height_m: float, *, scatters: bool) -> float:
    """How far from the stem the falling tree reaches on level ground, m."""
    return height_m * (SCATTER_FACTOR if scatters else 1.0)


def suggest(fall: Fall) -> Suggestion:
    """Never above the published table; further away or more aside never raises it."""
    published = suggest_impact(fall.occupancy, fall.exposure)
    zone_m = None if fall.height_m is None else target_zone_m(fall.height_m, scatters=fall.scatters)
    because = [f"{fall.occupancy.value} use, {fall.exposure.value}: {published.value} (published table)"]
    if zone_m is not None and fall.distance_m is not None and fall.distance_m > zone_m:
        because.append(f"beyond the reach of the fall: {Impact.VERY_LOW.value} (this program's own)")
        return Suggestion(Impact.VERY_LOW, published, zone_m, tuple(because))
    steps = _steps_down(fall)
    impact = list(Impact)[max(published.rank - steps, 0)]
    if fall.direction and steps:
        because.append(
            f"falls {fall.direction.value}, {'one step' if steps == 1 else 'two steps'} less (this program's own)"
        )
    return Suggestion(impact, published, zone_m, tuple(because))


def _steps_down(fall: Fall) -> int:
    steps = _STEPS_DOWN[fall.direction] if fall.direction else 0
    return min(steps, 1) if fall.scatters else steps
