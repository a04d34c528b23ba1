"""How mixed a stand of trees is, and what one more tree does to it.

Shares are those of a species, genus or family among all living trees and the plantings already promised. Beside them stand
10, 20 and 30 %, a guide against losing a city's canopy to one pest (Santamour 1990); inventories everywhere lie above it
for their commonest species (Kendal, Dobbs and Lohr 2014), so a share is shown, never refused. Families follow APG IV.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

GUIDE_PCT = {"species": 10, "genus": 20, "family": 30}


@dataclass(frozen=True)
class Taxon:
    """A name at each rank; an empty one is not known and not counted at that rank."""

    species: str
    genus: str
    family: str


Stand = Mapping[Taxon, int]


@dataclass(frozen=True)
class Share:
    """One name's part of a stand at one rank, before and after one more tree of it."""

    rank: str
    name: str
    before: int
    total_before: int

    @property
    def before_pct(self) -> float:
        return 100 * self.before / self.total_before if self.total_before else 0.0

    @property
    def after_pct(self) -> float:
        return 100 * (self.before + 1) / (self.total_before + 1)

    @property
    def guide_pct(self) -> int:
        return GUIDE_PCT[self.rank]

    @property
    def above_guide(self) -> bool:
        return self.after_pct > self.guide_pct


@dataclass(frozen=True)
class Mix:
    """Counts of a stand by rank and name, made once and asked for many candidates."""

    total: int
    counts: Mapping[str, Mapping[str, int]]

    def effect(self, candidate: Taxon) -> tuple[Share, ...]:
        """What planting one more of ``candidate`` does at each rank where its name is known."""
        names = ((rank, getattr(candidate, rank)) for rank in GUIDE_PCT)
        return tuple(Share(rank, name, self.counts[rank].get(name, 0), self.total) for rank, name in names if name)


def mix(stand: Stand) -> Mix:
    counts: dict[str, dict[str, int]] = {rank: {} for rank in GUIDE_PCT}
    for taxon, number in stand.items():
        for rank, tally in counts.items():
            name = getattr(taxon, rank)
            tally[name] = tally.get(name, 0) + number
    return Mix(sum(stand.values()), counts)


@dataclass(frozen=True)
class Diversity:
    """Indices of a stand, none with a unit.

    ``shannon`` H = −Σ p ln p; ``effective`` e^H, as many equally common species; ``evenness`` H / ln S;
    ``simpson`` 1 − D with D = Σ p²; ``inverse_simpson`` 1 / D.
    """

    shannon: float
    effective: float
    evenness: float
    simpson: float
    inverse_simpson: float


def diversity(counts: Sequence[int]) -> Diversity:
    """Indices from the number of trees of each species; ValueError when there is not one tree."""
    present = [count for count in counts if count > 0]
    if not present:
        raise ValueError("A stand without trees has no diversity; give at least one count above 0.")
    total = sum(present)
    parts = [count / total for count in present]
    shannon = -sum(p * math.log(p) for p in parts)
    dominance = sum(p * p for p in parts)
    # One species alone is as even as it can be.
    evenness = shannon / math.log(len(parts)) if len(parts) > 1 else 1.0
    return Diversity(shannon, math.exp(shannon), evenness, 1 - dominance, 1 / dominance)
