"""Which of a tree's inspections speak for it today.

The latest look all around the tree (level 2 or 3) governs. A limited visual look (level 1) made after it may add to what it
found, and so raise the rating, but never lowers it. A superseded inspection, and one of a tree that was already gone, has no
voice. Inspections that rated nothing leave the rating as it was. Work that was done changes no rating: only a look does.
"""

import datetime as dt
from collections.abc import Sequence
from typing import Protocol, TypeVar

ALL_AROUND = 2


class Look(Protocol):
    """An inspection as far as these rules care."""

    level: int
    observed_at: dt.datetime


class Wanted(Protocol):
    """A look that was asked for: at least that level, observed no earlier than ``since``."""

    level: int
    since: dt.datetime


AnyLook = TypeVar("AnyLook", bound=Look)


def in_force(rated: Sequence[AnyLook]) -> list[AnyLook]:
    """Of the rated looks of one tree, latest first, those whose assessments count."""
    chosen: list[AnyLook] = []
    for look in rated:
        chosen.append(look)
        if look.level >= ALL_AROUND:
            return chosen
    return chosen


def round_starts(looks: Sequence[AnyLook]) -> AnyLook:
    """Of all looks of one tree, latest first and at least one, the one from which the next round is counted."""
    return next((look for look in looks if look.level >= ALL_AROUND), looks[0])


def met_by(wanted: Wanted, looks: Sequence[AnyLook]) -> AnyLook | None:
    """Of all looks of one tree, latest first, the first that was close and late enough for what was asked; None: none yet."""
    enough = (look for look in reversed(looks) if look.level >= wanted.level and look.observed_at >= wanted.since)
    return next(enough, None)
