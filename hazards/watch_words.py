"""What the watch says of one comparison, in a sentence that a manager can read out."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from hazards.mortality import YOUNG_YEARS, Compared, Count
from hazards.triage import day

YOUNG = f"planted within {YOUNG_YEARS} years"
METHOD = (
    "A species in a park is compared with the same species in the other parks, a species of the city with all other species; "
    "what is looked at is left out of the rate it is compared with. Young plantings are compared with young plantings.",
    "p: how likely as many deaths or more would be by chance: exact binomial test, one-sided; with fewer than 30 deaths in "
    "all or none elsewhere, Fisher's exact test.",
    "q: p corrected for the number of comparisons (Benjamini and Hochberg 1995). The interval is the exact one of Clopper and "
    "Pearson (1934) at 95 %, over the rate elsewhere.",
    "Marked when q is at most 0.05, at least 3 trees died, and at least twice as many as expected.",
)
COUNTED = (
    "Counted as a death, on the day it was found: a standing tree that an inspection found dead, a tree found lying that had "
    "been held for alive, a planting that failed. A tree felled alive is no death.",
    "A first round of inspections finds deaths of earlier years: compare parks that are inspected as often.",
    "Where trees are felled before they die, deaths stay few and this page stays silent.",
)


@dataclass(frozen=True)
class Names:
    """As people call them; the park's is empty for the whole city, the common name where none is known."""

    species: str
    common: str = ""
    park: str = ""


def what(count: Count, names: Names) -> str:
    """``Fraxinus excelsior (common ash) in Alder Bank``."""
    common = f" ({names.common})" if names.common else ""
    return f"{names.species}{common} in {names.park or 'the whole city'}"


def label(count: Count, names: Names) -> str:
    """The same beside a dot of the plot: ``Fraxinus excelsior, Alder Bank (young)``."""
    place = f", {names.park}" if names.park else ""
    return f"{names.species}{place}{' (young)' if count.young else ''}"


def sentence(found: Compared, names: Names, *, start: dt.date, end: dt.date) -> str:
    """``…: 11 of 64 trees died between …, where 1.5 would have at the rate of …: 7.1 times as many (interval 3.7 to 11.9).``"""
    count = found.count
    kind = f"trees {YOUNG}" if count.young else "trees"
    died = f"{count.deaths:,} of {count.trees:,} {kind} died between {day(start)} and {day(end)}"
    return f"{what(count, names)}: {died}, {_against(found)}."


def _against(found: Compared) -> str:
    others = "the same species in the other parks" if found.count.park else "all other species"
    if found.ratio is None:
        return f"and none of the {found.rest.trees:,} of {others}"
    few = f"{found.expected:.1f}" if found.expected >= 0.1 else "fewer than 0.1"
    expected = f"where {few} would have at the rate of {others}"
    return f"{expected}: {found.ratio:.1f} times as many (interval {found.ratio_low:.1f} to {found.ratio_high:.1f})"


def chance(probability: float) -> str:
    return "under 0.001" if probability < 0.001 else f"{probability:.3f}"
