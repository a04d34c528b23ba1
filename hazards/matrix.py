"""The two tables that turn an inspector's picks into a rating.

ANSI A300 Part 9 practice; Smiley, Matheny & Lilly, best management practices for tree risk assessment, 2nd ed. 2017.
The sixteen cells of the first table as reprinted in a council's tree risk plan; the placement of the second from memory of
the practice, its counts (8 low, 4 moderate, 3 high, 1 extreme) as read. The words are the trade's.
"""

from dataclasses import dataclass
from enum import Enum


class Level(Enum):
    """A word with a rank; a higher rank is worse. The value is the trade's word."""

    @property
    def rank(self) -> int:
        return list(type(self)).index(self)


class Failure(Level):
    """Likelihood that the part fails within the time frame."""

    IMPROBABLE = "improbable"
    POSSIBLE = "possible"
    PROBABLE = "probable"
    IMMINENT = "imminent"


class Impact(Level):
    """Likelihood that the failed part hits the target."""

    VERY_LOW = "very low"
    LOW = "low"
    MEDIUM = "medium"
    HIGH = "high"


class FailureAndImpact(Level):
    UNLIKELY = "unlikely"
    SOMEWHAT_LIKELY = "somewhat likely"
    LIKELY = "likely"
    VERY_LIKELY = "very likely"


class Consequences(Level):
    NEGLIGIBLE = "negligible"
    MINOR = "minor"
    SIGNIFICANT = "significant"
    SEVERE = "severe"


class Rating(Level):
    LOW = "low"
    MODERATE = "moderate"
    HIGH = "high"
    EXTREME = "extreme"


class Occupancy(Level):
    """How often people or property are there."""

    RARE = "rare"
    OCCASIONAL = "occasional"
    FREQUENT = "frequent"
    CONSTANT = "constant"


class Exposure(Level):
    """How far other trees or structures shield the target."""

    WELL_PROTECTED = "well protected"
    PARTLY_PROTECTED = "partly protected"
    FULLY_EXPOSED = "fully exposed"


_UNLIKELY, _SOMEWHAT, _LIKELY, _VERY = FailureAndImpact
# Columns: impact very low, low, medium, high.
LIKELIHOOD: dict[Failure, tuple[FailureAndImpact, ...]] = {
    Failure.IMMINENT: (_UNLIKELY, _SOMEWHAT, _LIKELY, _VERY),
    Failure.PROBABLE: (_UNLIKELY, _UNLIKELY, _SOMEWHAT, _LIKELY),
    Failure.POSSIBLE: (_UNLIKELY, _UNLIKELY, _UNLIKELY, _SOMEWHAT),
    Failure.IMPROBABLE: (_UNLIKELY, _UNLIKELY, _UNLIKELY, _UNLIKELY),
}

_LOW, _MODERATE, _HIGH, _EXTREME = Rating
# Columns: consequences negligible, minor, significant, severe.
RATING: dict[FailureAndImpact, tuple[Rating, ...]] = {
    FailureAndImpact.VERY_LIKELY: (_LOW, _MODERATE, _HIGH, _EXTREME),
    FailureAndImpact.LIKELY: (_LOW, _MODERATE, _HIGH, _HIGH),
    FailureAndImpact.SOMEWHAT_LIKELY: (_LOW, _LOW, _MODERATE, _MODERATE),
    FailureAndImpact.UNLIKELY: (_LOW, _LOW, _LOW, _LOW),
}

_H, _M, _L, _VL = Impact.HIGH, Impact.MEDIUM, Impact.LOW, Impact.VERY_LOW
# Columns: well protected, partly protected, fully exposed. From memory of the practice: constant use exposed and partly
# protected, frequent use exposed. This program's own filling: frequent and occasional use well protected, rare use partly
# and well protected. The rest from a secondary text.
SUGGESTED_IMPACT: dict[Occupancy, tuple[Impact, ...]] = {
    Occupancy.CONSTANT: (_L, _M, _H),
    Occupancy.FREQUENT: (_VL, _L, _M),
    Occupancy.OCCASIONAL: (_VL, _VL, _L),
    Occupancy.RARE: (_VL, _VL, _VL),
}

# What the practice means by its words; what it means by exposure is this program's wording.
MEANING: dict[Level, str] = {
    Failure.IMPROBABLE: "not expected in normal weather, perhaps not in severe",
    Failure.POSSIBLE: "could in extreme weather, not expected in normal",
    Failure.PROBABLE: "expected in normal weather",
    Failure.IMMINENT: "has begun, or is about to without any load",
    Consequences.NEGLIGIBLE: "no injury, cheap repair",
    Consequences.MINOR: "very slight injury, low to moderate damage, a brief outage",
    Consequences.SIGNIFICANT: "injury that heals, moderate to high damage",
    Consequences.SEVERE: "serious injury or death, high-value damage",
    Occupancy.RARE: "not commonly used",
    Occupancy.OCCASIONAL: "infrequent or irregular use",
    Occupancy.FREQUENT: "a large part of the day",
    Occupancy.CONSTANT: "nearly all day on most days, and every fixed object",
    Exposure.WELL_PROTECTED: "trees or structures would stop most of it",
    Exposure.PARTLY_PROTECTED: "trees or structures would catch some of it",
    Exposure.FULLY_EXPOSED: "nothing stands in between",
}


@dataclass(frozen=True)
class Rated:
    """What follows from the three picks."""

    failure_and_impact: FailureAndImpact
    rating: Rating


def failure_and_impact(failure: Failure, impact: Impact) -> FailureAndImpact:
    return LIKELIHOOD[failure][impact.rank]


def rate(failure: Failure, impact: Impact, consequences: Consequences) -> Rated:
    """Walk both tables with the three picks."""
    likelihood = failure_and_impact(failure, impact)
    return Rated(likelihood, RATING[likelihood][consequences.rank])


def suggest_impact(occupancy: Occupancy, exposure: Exposure) -> Impact:
    """A suggestion only: the inspector may override it with a reason."""
    return SUGGESTED_IMPACT[occupancy][exposure.rank]
