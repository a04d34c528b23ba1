"""The order in which trees ask for attention: one integer a tree, the smaller the sooner, and the sentence that says why.

From the most to the least significant:

1. imminent failure,
2. rating,
3. failure and impact,
4. consequences,
5. occupancy of the target,
6. dead, then dying, then the rest,
7. among the dead, dead for longer (unknown counts as longest),
8. a weak-wooded species,
9. the earlier day by which the work is due (none due comes last).

Due days stand in for overdue days: on any one day the order is the same, and a stored key does not age. Equal keys follow
the tree's number. The order is this program's own; what it orders by is the practice's (see ``matrix``).
"""

from dataclasses import dataclass
from datetime import date

from hazards.matrix import Consequences, FailureAndImpact, Level, Occupancy, Rating


class Decline(Level):
    """How far gone the tree itself is."""

    NONE = "none"
    DYING = "dying"
    DEAD = "dead"


_DATE_BITS = 22  # the ordinal of every date of the calendar
_NO_DATE = (1 << _DATE_BITS) - 1
DUE_BITS = _NO_DATE  # of the key; all set: no work due
NO_WORK_DUE = "no work due before the next inspection"
WORK_DUE_BY = "work due by"
MAX_KEY = (1 << 56) - 1


@dataclass(frozen=True)
class Finding:
    """What the order looks at: the worst assessment in force of one standing tree, and the state of the tree."""

    rating: Rating
    failure_and_impact: FailureAndImpact
    consequences: Consequences
    occupancy: Occupancy
    imminent: bool = False
    decline: Decline = Decline.NONE
    dead_since: date | None = None
    weak_wooded: bool = False
    due: date | None = None


def _dead_since_ordinal(finding: Finding) -> int:
    if finding.decline is not Decline.DEAD:
        return _NO_DATE
    return finding.dead_since.toordinal() if finding.dead_since else 0


def _digits(finding: Finding) -> list[tuple[int, int]]:
    """Each thing the order looks at as (value, bits), the most significant first; a smaller value asks sooner."""
    worst_first = [
        (len(type(level)) - 1 - level.rank, 2)
        for level in (
            finding.rating,
            finding.failure_and_impact,
            finding.consequences,
            finding.occupancy,
            finding.decline,
        )
    ]
    return [
        (int(not finding.imminent), 1),
        *worst_first,
        (_dead_since_ordinal(finding), _DATE_BITS),
        (int(not finding.weak_wooded), 1),
        (finding.due.toordinal() if finding.due else _NO_DATE, _DATE_BITS),
    ]


def triage_key(finding: Finding) -> int:
    """0 <= key <= MAX_KEY; any argument made worse, all else equal, never makes the key larger."""
    key = 0
    for value, bits in _digits(finding):
        key = (key << bits) | value
    return key


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
    since = f" since {day(finding.dead_since)}" if finding.decline is Decline.DEAD and finding.dead_since else ""
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
