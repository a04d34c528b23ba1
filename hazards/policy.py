"""How soon a rating asks for work and for the next look: a city's policy, with this program's defaults.

Published policies differ widely (response to the worst rating from 1 h to 1 week); the defaults here: extreme within a day
with the area closed at once, high 4 weeks, moderate 12 months, low at the next round; rounds of 15, 36 and 60 months by use;
standing dead trees every 90 days and failure at least probable once dead over 12 months (common practice); the look that
rates a tree anew within 28 days of work on it (this program's own). While a tree stands rated extreme (or about to fail) it
is looked at again every 7 days, rated high every 90: these two are this program's own too. Which criteria order the ranking
below imminent failure and rating is the city's as well (see ``triage``).
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import pairwise

from hazards.matrix import Occupancy, Rating
from hazards.triage import ORDER, Order, order_faults

DAYS_A_MONTH = 365.25 / 12
WORK_DAYS_MAX, ROUND_MONTHS_MAX, LOOK_DAYS_MAX = 3650, 240, 730
RERATING_DAYS_MAX = 365


@dataclass(frozen=True)
class Policy:
    """Days to work by rating (None: next round), days to the next inspection by occupancy, the order of the ranking.

    ``look_days``: a tree that stands with that rating is looked at again so many days after its last look of any kind;
    None: at the next round.
    """

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
    look_days: dict[Rating, int | None] = field(
        default_factory=lambda: {Rating.EXTREME: 7, Rating.HIGH: 90, Rating.MODERATE: None, Rating.LOW: None}
    )
    order: Order = ORDER
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


def round_due(occupancy: Occupancy, *, observed_on: date, policy: Policy = DEFAULT) -> date:
    """The day of the next look all around, from the day of the last one."""
    return observed_on + timedelta(days=policy.round_days(occupancy))


def look_due(
    rating: Rating | None, *, imminent: bool, dead: bool, observed_on: date, policy: Policy = DEFAULT
) -> date | None:
    """Sooner than the round: a dead or gravely rated tree, from the day of its last look of any kind; None: no sooner.

    What is about to fail is looked at again as what is rated extreme.
    """
    waits = [policy.look_days[Rating.EXTREME if imminent else rating]] if rating else []
    if dead:
        waits.append(policy.dead_inspection_days)
    days = min((each for each in waits if each is not None), default=None)
    return None if days is None else observed_on + timedelta(days=days)


def faults(policy: Policy) -> list[str]:
    """Everything that keeps a city from taking the policy, a sentence each: what is graver may not wait longer."""
    return [
        *_faults_of_work(policy),
        *_faults_of_rounds(policy),
        *_faults_of_looks(policy),
        *order_faults(policy.order),
    ]


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
    if not 1 <= policy.dead_inspection_days <= LOOK_DAYS_MAX:
        yield f"Dead trees every {policy.dead_inspection_days} days is out of bounds; it is 1 to {LOOK_DAYS_MAX} days."
    if not 1 <= policy.rerating_days <= RERATING_DAYS_MAX:
        yield f"A new rating {policy.rerating_days} days after the work is out of bounds; it is 1 to {RERATING_DAYS_MAX} days."


def _faults_of_looks(policy: Policy) -> Iterator[str]:
    waits = [(rating.value, policy.look_days[rating]) for rating in reversed(Rating)]
    for name, days in waits:
        if days is not None and not 1 <= days <= LOOK_DAYS_MAX:
            yield f"A look at what is rated {name} every {days} days is out of bounds; it is 1 to {LOOK_DAYS_MAX} days."
    for (graver, sooner), (milder, later) in pairwise(waits):
        if later is not None and (sooner is None or sooner > later):
            yield f"What is rated {graver} is looked at less often than what is rated {milder}; give it {later} days or fewer."
