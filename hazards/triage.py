"""The order in which trees ask for attention: one integer a tree, the smaller the sooner, and the sentence that says why.

From the most to the least significant: imminent failure; rating; failure and impact; consequences; occupancy of the target;
dead standing; brittle (weak-wooded) species; the earlier due date. Due dates stand in for overdue days: on any one day the
order is the same, and a stored key does not age. Equal keys follow the tree's number.
"""

from dataclasses import dataclass
from datetime import date

from hazards.matrix import Consequences, FailureAndImpact, Level, Occupancy, Rating

_DATE_BITS = 22  # ordinals of every date of the calendar
NO_DATE = (1 << _DATE_BITS) - 1
MAX_KEY = (1 << (1 + 2 + 2 + 2 + 2 + 1 + 1 + _DATE_BITS)) - 1


@dataclass(frozen=True)
class Finding:
    """What the order looks at: the governing assessment of one standing tree."""

    rating: Rating
    failure_and_impact: FailureAndImpact
    consequences: Consequences
    occupancy: Occupancy
    imminent: bool
    dead: bool
    weak_wooded: bool
    due: date | None


def _worst_first(level: Level) -> int:
    return len(type(level)) - 1 - level.rank


def triage_key(finding: Finding) -> int:
    """0 <= key <= MAX_KEY; each argument made worse, all else equal, never makes the key larger."""
    key = int(not finding.imminent)
    for level in (finding.rating, finding.failure_and_impact, finding.consequences, finding.occupancy):
        key = (key << 2) | _worst_first(level)
    key = (key << 1) | int(not finding.dead)
    key = (key << 1) | int(not finding.weak_wooded)
    return (key << _DATE_BITS) | (NO_DATE if finding.due is None else finding.due.toordinal())


def reason(finding: Finding, *, failure_mode: str, target: str) -> str:
    """One sentence made from the same inputs as the key."""
    lead = "Imminent failure: " if finding.imminent else ""
    state = "dead and standing; " if finding.dead else ""
    wood = "; weak-wooded species" if finding.weak_wooded else ""
    return (
        f"{lead}{state}{failure_mode} is {finding.failure_and_impact.value} to fail and hit {target} "
        f"({finding.occupancy.value} use) with {finding.consequences.value} consequences{wood}."
    )
