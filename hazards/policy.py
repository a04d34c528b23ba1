"""How soon a rating asks for work and for the next look: a city's policy, with this program's defaults.

Published policies differ widely (response to the worst rating from 1 h to 1 week); the defaults here: extreme within a day
with the area closed at once, high 4 weeks, moderate 12 months, low at the next round; rounds of 15, 36 and 60 months by use;
standing dead trees every 90 days and failure at least probable once dead over 12 months (common practice).
"""

from dataclasses import dataclass, field
from datetime import date, timedelta

from hazards.matrix import Occupancy, Rating

DAYS_A_MONTH = 365.25 / 12


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


DEFAULT = Policy()


def work_due(rating: Rating, *, imminent: bool, observed_on: date, policy: Policy = DEFAULT) -> date | None:
    """The day by which the work is promised, from the day of the observation; None: no work due before the next round."""
    days = policy.work_days[rating]
    if imminent:
        days = min(policy.imminent_work_days, days) if days is not None else policy.imminent_work_days
    return None if days is None else observed_on + timedelta(days=days)


def inspection_due(occupancy: Occupancy, *, dead: bool, observed_on: date, policy: Policy = DEFAULT) -> date:
    """The day of the next inspection, from the day of the observation."""
    days = round(policy.round_months[occupancy] * DAYS_A_MONTH)
    return observed_on + timedelta(days=min(days, policy.dead_inspection_days) if dead else days)
