"""How many young trees are lost, and how sure the figure is.

Wilson's interval (Wilson 1927, J. Am. Stat. Assoc. 22) keeps within 0 and 1 and holds for few trees, where the simple one
fails. For comparison: the quartiles of yearly mortality in 56 studies of planted cohorts (Hilbert et al. 2019).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

# Below so many trees a rate is not told, only its count and interval; our own.
FEW = 20
Z_95 = 1.959963984540054
YEARLY_LOSS_QUARTILES_PCT = ((2.8, 3.8), (4.4, 6.5), (7.1, 9.3))


@dataclass(frozen=True)
class Interval:
    low: float
    high: float


def wilson(hits: int, of: int, z: float = Z_95) -> Interval:
    """The interval of a share; ValueError unless 0 ≤ ``hits`` ≤ ``of`` and ``of`` ≥ 1."""
    if not 0 <= hits <= of or of < 1:
        raise ValueError(f"{hits} of {of} is no share; give 0 to {of} of at least 1.")
    share, z2 = hits / of, z * z
    middle = (share + z2 / (2 * of)) / (1 + z2 / of)
    half = z / (1 + z2 / of) * math.sqrt(share * (1 - share) / of + z2 / (4 * of * of))
    # At none and at all the bounds are 0 and 1; the square root leaves a trace beside them.
    return Interval(0.0 if hits == 0 else middle - half, 1.0 if hits == of else middle + half)


@dataclass(frozen=True)
class Losses:
    """Plantings of one kind. ``seasoned`` were planted a year ago or earlier; ``lost_first_year`` of them within a year."""

    name: str
    planted: int
    lost: int
    seasoned: int
    lost_first_year: int

    @property
    def pct(self) -> float | None:
        return 100 * self.lost_first_year / self.seasoned if self.seasoned else None

    @property
    def few(self) -> bool:
        return self.seasoned < FEW

    @property
    def interval_pct(self) -> tuple[float, float] | None:
        if not self.seasoned:
            return None
        found = wilson(self.lost_first_year, self.seasoned)
        return 100 * found.low, 100 * found.high


def together(kinds: Iterable[Losses], name: str) -> Losses:
    """Kinds that share no planting, as one."""
    parts = list(kinds)
    return Losses(
        name,
        sum(part.planted for part in parts),
        sum(part.lost for part in parts),
        sum(part.seasoned for part in parts),
        sum(part.lost_first_year for part in parts),
    )
