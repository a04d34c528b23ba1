"""What has to be done before a felling and after it: one table, and what of it is still open.

Items before the work block its scheduling, items after it block the closing. Which of them nobody may waive stands with
the stored items. The nesting season is the city's; the sources of the other items stand in the table.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from removals.models import NEVER_WAIVED, WorkKind, WorkState

NEST_LOOK_DAYS = 7
"""In the nesting season a look for nests is good for so many days: a default of this program, not from a source."""


class Stage(StrEnum):
    BEFORE = "before the work"
    AFTER = "after the felling"


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to do. ``reference`` and ``note``: what must be recorded (empty: may be left out); ``checks``: to be ticked."""

    kind: WorkKind
    stage: Stage
    title: str
    words: str
    source: str
    reference: str = ""
    note: str = ""
    checks: tuple[str, ...] = ()

    @property
    def may_be_waived(self) -> bool:
        return self.kind not in NEVER_WAIVED

    @property
    def slug(self) -> str:
        return self.kind.name.lower().replace("_", "-")


_COMMON = "common practice"

ITEMS: tuple[Item, ...] = (
    Item(
        WorkKind.LOCATES,
        Stage.BEFORE,
        "Buried utilities located",
        "Ask for a locate of pipes and cables, wait for every owner’s answer, and see the marks on the ground. The stump is "
        "not ground before. A locate runs out: ask again when its time is over or the marks have faded.",
        "common practice (call before you dig: 811 in the US)",
        reference="Number of the locate request",
    ),
    Item(
        WorkKind.WIRES,
        Stage.BEFORE,
        "Wires checked",
        "Look for conductors, service drops and cables within one and a half tree heights of the stump. If there is one, the "
        "work stops until its owner has isolated it.",
        "29 CFR 1910.333(c)(3) for approach distances; 1.5 heights is this program’s bound",
        note="What was found, and who isolates it",
    ),
    Item(
        WorkKind.NESTING,
        Stage.BEFORE,
        "Nests, roosts and cavities looked for",
        "Compare the day of the work with the city’s nesting season and look the tree over. An occupied nest, roost or "
        "cavity puts the work off; what protects it is local law.",
        _COMMON,
        note="What was found",
        checks=("nests", "roosts", "cavities"),
    ),
    Item(
        WorkKind.CLOSURES,
        Stage.BEFORE,
        "Paths and streets closed",
        "Arrange the closure of every path, place and street within two tree heights, with who closes and who opens again.",
        "29 CFR 1910.266(d)(6) for two tree lengths; closures are common practice",
        note="What is closed, from when to when, by whom",
    ),
    Item(
        WorkKind.NEIGHBOURS,
        Stage.BEFORE,
        "Neighbours told",
        "Tell whoever lives or works beside the tree what happens, when, and whom to ask.",
        _COMMON,
        note="Who was told",
    ),
    Item(
        WorkKind.NOTICES,
        Stage.BEFORE,
        "Notices posted",
        "Post the notice on the tree and at the entrances for as long as the city’s rules ask.",
        _COMMON,
        note="Where they hang, and since when",
    ),
    Item(
        WorkKind.QUARANTINE,
        Stage.BEFORE,
        "Regulated wood looked up",
        "Look up whether a quarantine holds for this species or for a pest found on it, and where wood, chips and stump may go.",
        _COMMON,
        note="Which quarantine holds and where the wood goes, or that none holds",
    ),
    Item(
        WorkKind.STUMP,
        Stage.AFTER,
        "Stump ground or dug out",
        "Grind it or dig it out once the buried utilities are located. A stump that stays is kept by name instead.",
        "common practice (call before you dig: 811 in the US)",
        note="How, and how deep",
    ),
    Item(
        WorkKind.CLEAN_UP,
        Stage.AFTER,
        "Place cleaned up",
        "Wood, chips and notices gone, the hole filled, paths swept and opened again.",
        _COMMON,
    ),
    Item(
        WorkKind.READING,
        Stage.AFTER,
        "Stump read",
        "Read the cut face for age, growth and decay before it is ground.",
        _COMMON,
        note="What it showed, or where the reading is kept",
    ),
)
ITEM = {item.kind: item for item in ITEMS}
BY_SLUG = {item.slug: item for item in ITEMS}


def items_of(stage: Stage) -> tuple[Item, ...]:
    return tuple(item for item in ITEMS if item.stage is stage)


@dataclass(frozen=True, slots=True)
class Entry:
    """How one item of an order stands."""

    kind: str
    state: str
    reference: str = ""
    settled_on: dt.date | None = None


def open_items(entries: Iterable[Entry], stage: Stage) -> tuple[Item, ...]:
    """The items of a stage that are neither done nor waived; one that nobody has entered yet is open."""
    settled = {entry.kind for entry in entries if entry.state != WorkState.OPEN}
    return tuple(item for item in items_of(stage) if item.kind not in settled)


def open_words(entries: Iterable[Entry], stage: Stage) -> str:
    """One sentence that names what is open; empty: nothing is."""
    items = open_items(entries, stage)
    if not items:
        return ""
    names = [item.kind.value for item in items]
    listed = " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
    fixed = [item.kind.value for item in items if not item.may_be_waived]
    never = f" ({', '.join(fixed)} cannot be waived)" if fixed else ""
    return f"Still open {stage}: {listed}; do them or waive them by name{never}."


# ---- The nesting season ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Season:
    """From one day of the year to another, both as MM-DD and both within it; it may run over the turn of the year."""

    begins: str
    ends: str

    def covers(self, day: dt.date) -> bool:
        mark = f"{day:%m-%d}"
        if self.begins <= self.ends:
            return self.begins <= mark <= self.ends
        return mark >= self.begins or mark <= self.ends

    def __str__(self) -> str:
        return f"{_of_the_year(self.begins)} to {_of_the_year(self.ends)}"


def _of_the_year(mark: str) -> str:
    month, day = mark.split("-")
    return f"{dt.date(2000, int(month), int(day)):%-d %b}"


def nesting_gaps(entries: Sequence[Entry], day: dt.date, season: Season, *, at_work: bool) -> Iterator[str]:
    """What a look for nests lacks for a ``day`` within the season: the name of who looked and, ``at_work``, a recent look."""
    look = next((entry for entry in entries if entry.kind == WorkKind.NESTING), None)
    if look is None or look.state != WorkState.DONE or not season.covers(day):
        return
    within = f"{day:%-d %b %Y} falls in the nesting season ({season})"
    if not look.reference:
        yield f"{within}: name who looked for nests, roosts and cavities and is competent to."
    if at_work and look.settled_on and (day - look.settled_on).days > NEST_LOOK_DAYS:
        yield (
            f"{within}, and the look for nests of {look.settled_on:%-d %b %Y} is more than {NEST_LOOK_DAYS} days old: "
            "look again."
        )
