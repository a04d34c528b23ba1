"""What an inspector should think of while picking. Advice only: the inspector rates.

How far a fall reaches is said in ``impact``. A tree dead for over a year, or for nobody knows how long, is at least
probable to fail (common practice).
"""

from dataclasses import dataclass
from datetime import date

from hazards.impact import target_zone_m
from hazards.matrix import Failure, Impact

LONG_DEAD_DAYS = 365


@dataclass(frozen=True)
class Situation:
    """The tree as it stands, one target and the picks so far; what is not known is None."""

    dead: bool
    dead_since: date | None
    on: date
    height_m: float | None = None
    distance_m: float | None = None
    failure: Failure | None = None
    impact: Impact | None = None
    brittle: bool = False


def long_dead(*, dead: bool, dead_since: date | None, on: date) -> bool:
    """Dead for over a year; a date that nobody knows counts as past."""
    return dead and (dead_since is None or (on - dead_since).days > LONG_DEAD_DAYS)


def out_of_reach(situation: Situation) -> bool:
    if situation.distance_m is None or situation.height_m is None:
        return False
    return situation.distance_m > target_zone_m(situation.height_m, scatters=situation.dead or situation.brittle)


def advice(situation: Situation) -> list[str]:
    """A sentence for each thing to think of."""
    said = []
    if situation.failure is Failure.IMMINENT:
        said.append("An imminent failure needs action at once: keep people out before anything else.")
    if long_dead(dead=situation.dead, dead_since=situation.dead_since, on=situation.on) and (
        situation.failure in {Failure.IMPROBABLE, Failure.POSSIBLE}
    ):
        said.append("Dead for over a year, or since nobody knows when: failure is at least probable (common practice).")
    if out_of_reach(situation) and situation.impact not in {None, Impact.VERY_LOW}:
        said.append(
            "The target stands beyond the reach of the falling tree on level ground; "
            "think of slope, rolling and flying debris before rating it higher than very low."
        )
    return said
