"""The list for a nursery: what the tasks with a chosen species ask for, with spares."""

from __future__ import annotations

from dataclasses import dataclass

# Of every hundred trees, so many more are ordered for what is rejected or lost before planting; our own default.
SPARES_PCT = 5


def spares(count: int, pct: int = SPARES_PCT) -> int:
    """``pct`` % of the count to the nearest whole tree, half a tree up."""
    return (count * pct + 50) // 100


@dataclass(frozen=True)
class Wanted:
    """A line to be ordered: so many for tasks, and spares beside them. ``trees`` that the tasks hold; None: one each."""

    species: int
    cultivar: str
    stock: str
    caliper_cm: float
    tasks: tuple[int, ...]
    spares: int
    trees: int | None = None

    @property
    def ordered(self) -> int:
        return (len(self.tasks) if self.trees is None else self.trees) + self.spares
