"""The order in which trees ask for attention: one integer a tree, the smaller the sooner, and the sentence that says why.

Safety fixes the first two steps, and no city can move them:

1. imminent failure,
2. rating.

Below them the criteria count in the order that the city has set, or in this one; a city may leave some out:

3. failure and impact,
4. consequences,
5. occupancy of the target,
6. dead, then dying, then the rest; among the dead and among the dying, for longer (unknown counts as longest),
7. a weak-wooded species,
8. the earlier day by which the work is due (none due comes last).

Last, always: the tag, in the order of its signs, so that no two trees share a place and each place stays.

Due days stand in for overdue days: on any one day the order is the same, since whoever was due earlier is overdue for
longer, and a stored key does not age. The order is this program's own; what it orders by is the practice's (see ``matrix``).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import Enum

from hazards.matrix import Consequences, FailureAndImpact, Level, Occupancy, Rating


class Decline(Level):
    """How far gone the tree itself is."""

    NONE = "none"
    DYING = "dying"
    DEAD = "dead"


class Criterion(Enum):
    """What a city may put in its own order."""

    FAILURE_AND_IMPACT = "failure and impact"
    CONSEQUENCES = "consequences"
    OCCUPANCY = "occupancy"
    DECLINE = "decline"
    WEAK_WOOD = "weak wood"
    DUE = "due day"


Order = tuple[Criterion, ...]
ORDER: Order = tuple(Criterion)
"""This program's own."""

DATE_BITS = 22
"""The ordinal of every date of the calendar."""
NO_DATE = (1 << DATE_BITS) - 1
NO_WORK_DUE = "no work due before the next inspection"
WORK_DUE_BY = "work due by"
MAX_KEY = (1 << 56) - 1


@dataclass(frozen=True)
class Finding:
    """What the order looks at: the worst assessment in force of one standing tree, and the state of the tree.

    ``since``: dead since or dying since, by ``decline``.
    """

    rating: Rating
    failure_and_impact: FailureAndImpact
    consequences: Consequences
    occupancy: Occupancy
    imminent: bool = False
    decline: Decline = Decline.NONE
    since: date | None = None
    weak_wooded: bool = False
    due: date | None = None


def _worst_first(level: Level) -> int:
    return len(type(level)) - 1 - level.rank


def _ordinal(day: date | None, unknown: int) -> int:
    return day.toordinal() if day else unknown


def _decline(finding: Finding) -> int:
    since = NO_DATE if finding.decline is Decline.NONE else _ordinal(finding.since, 0)
    return (_worst_first(finding.decline) << DATE_BITS) | since


# Criterion → its bits in the key, and its value there: a smaller one asks sooner.
_DIGITS: dict[Criterion, tuple[int, Callable[[Finding], int]]] = {
    Criterion.FAILURE_AND_IMPACT: (2, lambda finding: _worst_first(finding.failure_and_impact)),
    Criterion.CONSEQUENCES: (2, lambda finding: _worst_first(finding.consequences)),
    Criterion.OCCUPANCY: (2, lambda finding: _worst_first(finding.occupancy)),
    Criterion.DECLINE: (2 + DATE_BITS, _decline),
    Criterion.WEAK_WOOD: (1, lambda finding: int(not finding.weak_wooded)),
    Criterion.DUE: (DATE_BITS, lambda finding: _ordinal(finding.due, NO_DATE)),
}
_BELOW = sum(bits for bits, _ in _DIGITS.values())
RATING_WEIGHT = 1 << _BELOW
IMMINENT_WEIGHT = RATING_WEIGHT << 2


def weights(order: Order = ORDER) -> dict[Criterion, int]:
    """What one step of each criterion weighs in the key: more than all that stand behind it; 0 for one left out."""
    found = dict.fromkeys(Criterion, 0)
    weight = 1
    for criterion in reversed(order):
        found[criterion] = weight
        weight <<= _DIGITS[criterion][0]
    return found


def triage_key(finding: Finding, order: Order = ORDER) -> int:
    """0 <= key <= MAX_KEY; any argument made worse, all else equal, never makes the key larger."""
    fixed = int(not finding.imminent) * IMMINENT_WEIGHT + _worst_first(finding.rating) * RATING_WEIGHT
    return fixed + sum(weight * _DIGITS[criterion][1](finding) for criterion, weight in weights(order).items())


def triage_place(finding: Finding, tag: str, order: Order = ORDER) -> tuple[int, str]:
    """A tree's place in the ranking: its key and, between equal keys, its tag. No two trees share one."""
    return triage_key(finding, order), tag


def order_faults(order: Sequence[Criterion]) -> list[str]:
    """What keeps a city from taking the order, a sentence each."""
    twice = [criterion for criterion in Criterion if list(order).count(criterion) > 1]
    return [f"{criterion.value.capitalize()} stands twice in the order; give each place once." for criterion in twice]


_SUBJECT = {
    "roots": "the roots",
    "root collar": "the root collar",
    "trunk": "the trunk",
    "union": "the union",
    "limb": "a limb",
    "crown": "the crown",
    "whole tree": "the whole tree",
}
_USE_WORDS = {
    Occupancy.RARE: "rarely used",
    Occupancy.OCCASIONAL: "in occasional use",
    Occupancy.FREQUENT: "in frequent use",
    Occupancy.CONSTANT: "in constant use",
}


_LONGEST = 70  # of what people wrote; the whole sentence stays within 400 characters


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1].rstrip() + "…"


def day(on: date) -> str:
    """``12 Dec 2026``: a day as sentences name it."""
    return f"{on.day} {on:%b %Y}"


def _failing(part: str, failure_mode: str) -> str:
    """The part as the subject of the sentence, with how it would fail: ``the union (splitting) is``."""
    verb = "are" if part == "roots" else "is"
    how = "" if failure_mode in {"", part} else f" ({_short(failure_mode)})"
    return f"{_SUBJECT[part]}{how} {verb}"


def _the(target: str) -> str:
    """A name keeps its capital and stands alone; a plain word gets its article."""
    name = _short(target)
    return f"the {name}" if name[:1].islower() and not name.startswith("the ") else name


def _state(finding: Finding) -> str:
    """What of the tree itself moves it up."""
    wood = "of a weak-wooded species" if finding.weak_wooded else ""
    if finding.decline is Decline.NONE:
        return f"; the tree is {wood}" if wood else ""
    since = f" since {day(finding.since)}" if finding.since else ""
    return f"; the tree is {finding.decline.value}{since}{' and ' + wood if wood else ''}"


def _chance(finding: Finding, *, about_to: bool) -> str:
    """How likely it is to fail and hit. What is about to fail anyway leaves only the hitting open."""
    likelihood = finding.failure_and_impact
    if not about_to:
        return f"{likelihood.value} to fail and hit"
    joint = ", though" if likelihood is FailureAndImpact.UNLIKELY else " and"
    return f"about to fail{joint} {likelihood.value} to hit"


def reason(finding: Finding, *, part: str, failure_mode: str, target: str, imminent_part: str = "") -> str:
    """One sentence for a manager, made from the same inputs as the key.

    ``part`` is the trade's word for the part that sets the rating (``union``), ``failure_mode`` how it would fail,
    ``target`` what it would hit; ``imminent_part`` names the part whose failure is imminent when it is not that one.
    """
    rating = finding.rating.value
    if imminent_part:
        lead = f"Imminent failure of {_SUBJECT[imminent_part]}; the tree is rated {rating}"
    else:
        lead = f"Imminent failure, rated {rating}" if finding.imminent else rating.capitalize()
    chance = _chance(finding, about_to=finding.imminent and not imminent_part)
    due = f"; {WORK_DUE_BY} {day(finding.due)}" if finding.due else f"; {NO_WORK_DUE}"
    return (
        f"{lead}: {_failing(part, failure_mode)} {chance} {_the(target)}, {_USE_WORDS[finding.occupancy]}, "
        f"with {finding.consequences.value} consequences{_state(finding)}{due}."
    )
