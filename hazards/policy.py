"""How soon a rating asks for work and for the next look: a city's policy, with this program's defaults.

Published policies differ widely (response to the worst rating from 1 h to 1 week); the defaults here: extreme within a day
with the area closed at once, high 4 weeks, moderate 12 months, low at the next round; rounds of 15, 36 and 60 months by use;
standing dead trees every 90 days and failure at least probable once dead over 12 months (common practice); the look that
rates a tree anew within 28 days of work on it (this program's own).
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import pairwise

from hazards.matrix import Occupancy, Rating

DAYS_A_MONTH = 365.25 / 12
WORK_DAYS_MAX, ROUND_MONTHS_MAX, DEAD_DAYS_MAX = 3650, 240, 730
RERATING_DAYS_MAX = 365


@dataclass(frozen=True)
class Policy:
    """Days to work by rating (None: next round) and days to the next inspection by occupancy."""

    work_days: dict[Rating, int | None] = field(
        default_factory=lambda: {Rating.EXTREME: 1, Rating.HIGH: 28, Rating.MODERATE: 365, Rating.LOW: None}
    )
    imminent_work_days: int = 1
    round_months: dict[Occupancy, int] = field(
        default_factory=lambda: {
            Occupancy.CONSTANT: 15,
            Occupancy.FREQUENT: 15,
            Occupancy.OCCASIONAL: 36,
            Occupancy.RARE: 60,
        }
    )
    dead_inspection_days: int = 90
    rerating_days: int = 28

    def round_days(self, occupancy: Occupancy) -> int:
        return round(self.round_months[occupancy] * DAYS_A_MONTH)


DEFAULT = Policy()


def work_due(rating: Rating, *, imminent: bool, observed_on: date, policy: Policy = DEFAULT) -> date | None:
    """The day by which the work is promised, from the day of the observation; None: no work due before the next round."""
    days = policy.work_days[rating]
    if imminent:
        days = min(policy.imminent_work_days, days) if days is not None else policy.imminent_work_days
    return None if days is None else observed_on + timedelta(days=days)


def inspection_due(occupancy: Occupancy, *, dead: bool, observed_on: date, policy: Policy = DEFAULT) -> date:
    """The day of the next inspection, from the day of the observation."""
    days = policy.round_days(occupancy)
    return observed_on + timedelta(days=min(days, policy.dead_inspection_days) if dead else days)


def faults(policy: Policy) -> list[str]:
    """Everything that keeps a city from taking the policy, a sentence each: what is graver may not wait longer."""
    return [*_faults_of_work(policy), *_faults_of_rounds(policy)]


def _faults_of_work(policy: Policy) -> Iterator[str]:
    waits: list[tuple[str, int | None]] = [("imminent", policy.imminent_work_days)]
    waits += [(rating.value, policy.work_days[rating]) for rating in reversed(Rating)]
    for name, days in waits:
        if days is not None and not 0 <= days <= WORK_DAYS_MAX:
            yield f"{days} days to the work of {name} is out of bounds; it is 0 to {WORK_DAYS_MAX} days."
    for (graver, sooner), (milder, later) in pairwise(waits):
        if later is not None and (sooner is None or sooner > later):
            yield f"What is {graver} waits longer than what is {milder}; give it {later} days or fewer."


def _faults_of_rounds(policy: Policy) -> Iterator[str]:
    for use, months in policy.round_months.items():
        if not 1 <= months <= ROUND_MONTHS_MAX:
            yield f"A round of {months} months for {use.value} use is out of bounds; it is 1 to {ROUND_MONTHS_MAX} months."
    for more, less in pairwise(reversed(Occupancy)):
        if policy.round_months[more] > policy.round_months[less]:
            yield (
                f"Places in {more.value} use are inspected less often than those in {less.value} use; "
                f"give them {policy.round_months[less]} months or fewer."
            )
    if not 1 <= policy.dead_inspection_days <= DEAD_DAYS_MAX:
        yield f"Dead trees every {policy.dead_inspection_days} days is out of bounds; it is 1 to {DEAD_DAYS_MAX} days."
    if not 1 <= policy.rerating_days <= RERATING_DAYS_MAX:
        yield f"A new rating {policy.rerating_days} days after the work is out of bounds; it is 1 to {RERATING_DAYS_MAX} days."
