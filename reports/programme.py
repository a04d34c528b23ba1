"""When open work would be done at so many crew hours, or so much money, a week: one job after another in the order given.

What a week has left goes to the next job, and what a job still needs runs on into the next week; nothing is passed over for
something smaller. So with more a week no job is done later, and no week does more than it has. This program's own rule of
thumb for planning, not a schedule: travel, weather and who is free are the planner's.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate

from hazards.matrix import Rating

WEEKS_MOST = 260
"""Five years; what is not done by then is said to be out of sight."""
LAST_WORKING_DAY = dt.timedelta(days=4)
"""Friday: what a week does counts as done on it, so that lateness is never understated."""
COUNTED = (Rating.EXTREME, Rating.HIGH, Rating.MODERATE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One open order of one tree. ``need``: whole minutes of a crew, or cents; ``due``: the day it was promised for."""

    tree: int
    need: int
    due: dt.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Capacity:
    """What each week has, in the unit of the jobs' need; ``extra`` comes on top in the first ``extra_weeks``."""

    week: int
    extra: int = 0
    extra_weeks: int = 0

    def of(self, week: int) -> int:
        return self.week + (self.extra if week < self.extra_weeks else 0)


@dataclass(frozen=True, slots=True)
class Fall:
    """What a tree counts as today, and once its last job is done: None when it is gone."""

    now: Rating
    after: Rating | None = None

    @property
    def then(self) -> Rating | None:
        """Work makes no tree worse."""
        return self.after if self.after is None else min(self.now, self.after, key=lambda rating: rating.rank)


@dataclass(frozen=True, slots=True)
class Reached:
    """Weeks are counted from 0; None: not within `WEEKS_MOST`. ``late_days``: at most so many after its day."""

    job: Job
    started: int | None
    done: int | None
    late_days: int = 0


@dataclass(frozen=True, slots=True)
class Week:
    """``counts``: standing trees of each rating at its end; ``done``: jobs that it brings to their end."""

    number: int
    begins: dt.date
    has: int
    used: int
    done: int
    counts: Mapping[Rating, int]

    def at_least(self, rating: Rating) -> int:
        return sum(count for each, count in self.counts.items() if each.rank >= rating.rank)


@dataclass(frozen=True, slots=True)
class Programme:
    """``now``: the counts before the first week."""

    reached: tuple[Reached, ...]
    weeks: tuple[Week, ...]
    now: Mapping[Rating, int]

    @property
    def late(self) -> tuple[Reached, ...]:
        return tuple(each for each in self.reached if each.late_days)

    @property
    def out_of_sight(self) -> tuple[Reached, ...]:
        return tuple(each for each in self.reached if each.done is None)


def monday(day: dt.date) -> dt.date:
    """The first day of the day's week."""
    return day - dt.timedelta(days=day.weekday())


def programme(
    jobs: Sequence[Job],
    capacity: Capacity,
    *,
    start: dt.date,
    now: Mapping[Rating, int],
    falls: Mapping[int, Fall],
    at_least_weeks: int = 12,
) -> Programme:
    """Work through ``jobs`` in their order from the week of ``start``.

    ``now``: how many standing trees have each rating today, those without a job too; ``falls``: of each rated tree with a
    job. A tree counts as what it will be when the last of its jobs is done.
    """
    offered = tuple(accumulate((capacity.of(week) for week in range(WEEKS_MOST)), initial=0))
    reached = tuple(_reached(jobs, offered, monday(start)))
    last = max((each.done for each in reached if each.done is not None), default=-1)
    shown = WEEKS_MOST if any(each.done is None for each in reached) and capacity.week else last + 1
    weeks = _weeks(reached, offered, monday(start), min(max(shown, at_least_weeks), WEEKS_MOST), now, falls)
    return Programme(reached, tuple(weeks), dict(now))


def _reached(jobs: Sequence[Job], offered: Sequence[int], start: dt.date) -> Iterator[Reached]:
    """``offered``: what all weeks before each have together, never falling. Both weeks only move forward."""
    taken, first, last = 0, 1, 1
    for job in jobs:
        first = _week_past(offered, taken + 1, first)
        taken += job.need
        last = _week_past(offered, taken, max(first, last))
        done = last - 1 if last < len(offered) else None
        late = _late_days(job.due, start, done) if done is not None else 0
        yield Reached(job, first - 1 if first < len(offered) else None, done, late)


def _week_past(offered: Sequence[int], amount: int, week: int) -> int:
    """From ``week`` on, the first by whose end so much was offered; the length when there is none."""
    while week < len(offered) and offered[week] < amount:
        week += 1
    return week


def _late_days(due: dt.date | None, start: dt.date, done: int) -> int:
    if due is None:
        return 0
    return max(0, (start + dt.timedelta(weeks=done) + LAST_WORKING_DAY - due).days)


def _weeks(
    reached: Sequence[Reached],
    offered: Sequence[int],
    start: dt.date,
    shown: int,
    now: Mapping[Rating, int],
    falls: Mapping[int, Fall],
) -> Iterator[Week]:
    needed = sum(each.job.need for each in reached)
    finished, treated = _by_week(reached)
    counts = {rating: now.get(rating, 0) for rating in Rating}
    for number in range(shown):
        for tree in treated.get(number, ()):
            _let_fall(counts, falls.get(tree))
        before, after = (min(needed, offered[number + ahead]) for ahead in (0, 1))
        yield Week(
            number,
            start + dt.timedelta(weeks=number),
            offered[number + 1] - offered[number],
            after - before,
            finished.get(number, 0),
            dict(counts),
        )


def _by_week(reached: Sequence[Reached]) -> tuple[dict[int, int], dict[int, list[int]]]:
    """Week → how many jobs end, and week → the trees whose last job ends."""
    finished: dict[int, int] = {}
    last: dict[int, int | None] = {}
    for each in reached:
        last[each.job.tree] = each.done  # the later job of a tree is never done before the earlier
        if each.done is not None:
            finished[each.done] = finished.get(each.done, 0) + 1
    treated: dict[int, list[int]] = {}
    for tree, week in last.items():
        if week is not None:
            treated.setdefault(week, []).append(tree)
    return finished, treated


def _let_fall(counts: dict[Rating, int], fall: Fall | None) -> None:
    if fall is None:
        return
    counts[fall.now] -= 1
    if fall.then is not None:
        counts[fall.then] += 1
