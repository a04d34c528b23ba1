"""Open work week by week: what a week can hold, the order, lateness, and how the counts fall."""

import datetime as dt
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hazards.matrix import Rating
from reports.programme import COUNTED, WEEKS_MOST, Capacity, Fall, Job, Programme, programme

MONDAY = dt.date(2026, 11, 30)
HOUR = 60

ratings = st.sampled_from(Rating)
falls_of = st.builds(Fall, now=ratings, after=st.none() | ratings)
jobs_of = st.lists(
    st.builds(
        Job,
        tree=st.integers(1, 8),
        need=st.integers(1, 5000),
        due=st.none() | st.dates(dt.date(2026, 1, 1), dt.date(2027, 12, 31)),
    ),
    max_size=25,
)
capacities = st.builds(Capacity, week=st.integers(0, 4000), extra=st.integers(0, 4000), extra_weeks=st.integers(0, 60))


@st.composite
def cities(draw):
    """Jobs, and the trees they are for with their ratings; some trees have none."""
    jobs = draw(jobs_of)
    falls = {tree: draw(falls_of) for tree in sorted({job.tree for job in jobs})}
    others = draw(st.fixed_dictionaries({rating: st.integers(0, 5) for rating in Rating}))
    now = Counter(others) + Counter(fall.now for fall in falls.values())
    return jobs, falls, {rating: now[rating] for rating in Rating}


def made(city, capacity: Capacity, start: dt.date = MONDAY) -> Programme:
    jobs, falls, now = city
    return programme(jobs, capacity, start=start, now=now, falls=falls)


@given(cities(), capacities)
def test_no_week_does_more_than_it_has(city, capacity):
    for week in made(city, capacity).weeks:
        assert 0 <= week.used <= week.has == capacity.of(week.number)


@given(cities(), capacities)
def test_no_work_is_lost_or_made_up(city, capacity):
    result = made(city, capacity)
    done = sum(each.job.need for each in result.reached if each.done is not None)
    used = sum(week.used for week in result.weeks)
    if not result.out_of_sight:
        assert used == done
    assert used <= sum(job.need for job in city[0])
    assert sum(week.done for week in result.weeks) == sum(each.done is not None for each in result.reached)


@given(cities(), capacities)
def test_the_order_is_kept(city, capacity):
    reached = made(city, capacity).reached
    assert [each.job for each in reached] == city[0]
    ends = [WEEKS_MOST if each.done is None else each.done for each in reached]
    begins = [WEEKS_MOST if each.started is None else each.started for each in reached]
    assert ends == sorted(ends)
    assert begins == sorted(begins)
    assert all(begin <= end for begin, end in zip(begins, ends, strict=True))


@given(cities(), capacities, st.integers(0, 3000), st.sampled_from(["week", "extra", "extra_weeks"]))
def test_more_a_week_makes_no_tree_later(city, capacity, more, what):
    richer = replace(capacity, **{what: getattr(capacity, what) + more})
    for poor, rich in zip(made(city, capacity).reached, made(city, richer).reached, strict=True):
        assert poor.done is None or (rich.done is not None and rich.done <= poor.done)
        assert poor.done is None or rich.late_days <= poor.late_days


@given(cities(), capacities)
def test_the_counts_at_or_above_a_rating_never_rise(city, capacity):
    result = made(city, capacity)
    for rating in COUNTED:
        before = sum(count for each, count in result.now.items() if each.rank >= rating.rank)
        for week in result.weeks:
            assert 0 <= week.at_least(rating) <= before
            before = week.at_least(rating)


@given(cities(), capacities)
def test_in_the_end_each_tree_counts_as_what_its_last_job_leaves(city, capacity):
    result, (_, falls, now) = made(city, capacity), city
    last = {each.job.tree: each.done for each in result.reached}
    expected = Counter(now)
    for tree, done in last.items():
        if done is not None:
            expected[falls[tree].now] -= 1
            if falls[tree].then is not None:
                expected[falls[tree].then] += 1
    assert result.weeks[-1].counts == {rating: expected[rating] for rating in Rating}


def jobs(*hours: float, due: dt.date | None = None) -> list[Job]:
    return [Job(tree=number, need=round(each * HOUR), due=due) for number, each in enumerate(hours)]


def weeks_of(result: Programme) -> list[tuple[int | None, int | None]]:
    return [(each.started, each.done) for each in result.reached]


def of(work: list[Job], hours: int, start: dt.date = MONDAY, **more: int) -> Programme:
    capacity = Capacity(week=hours * HOUR, **more)
    return programme(work, capacity, start=start, now={}, falls={})


def test_a_worked_example():
    """40 h a week; 16 + 20 fill all but 4 h of the first, 12 begin there and end in the second, 90 run on to the fourth."""
    result = of(jobs(16, 20, 12, 90), 40)
    assert weeks_of(result) == [(0, 0), (0, 0), (0, 1), (1, 3)]
    assert [week.used / HOUR for week in result.weeks[:4]] == [40, 40, 40, 18]


def test_what_fills_a_week_to_the_brim_is_done_in_it_and_the_next_begins_a_week_later():
    assert weeks_of(of(jobs(40, 8), 40)) == [(0, 0), (1, 1)]


def test_without_hours_nothing_is_reached_and_nothing_loops():
    result = of(jobs(8, 8), 0)
    assert weeks_of(result) == [(None, None), (None, None)]
    assert len(result.weeks) == 12
    assert [week.used for week in result.weeks] == [0] * 12


def test_extra_hours_alone_carry_the_first_weeks_only():
    result = of(jobs(8, 8), 0, extra=4 * HOUR, extra_weeks=3)
    assert weeks_of(result) == [(0, 1), (2, None)]
    assert [week.used / HOUR for week in result.weeks[:4]] == [4, 4, 4, 0]


def test_what_takes_longer_than_five_years_is_out_of_sight():
    result = of(jobs(1, 1000), 1)
    assert weeks_of(result) == [(0, 0), (1, None)]
    assert len(result.weeks) == WEEKS_MOST


@pytest.mark.parametrize(
    ("due", "late_days"),
    [
        (dt.date(2026, 12, 4), 0),  # the Friday of the first week
        (dt.date(2026, 12, 2), 2),  # its Wednesday: at most two days
        (dt.date(2026, 11, 20), 14),
        (None, 0),
    ],
)
def test_what_a_week_does_counts_as_done_on_its_friday(due, late_days):
    assert of(jobs(8, due=due), 40).reached[0].late_days == late_days


def test_weeks_begin_on_monday_whatever_day_is_asked_for():
    assert of(jobs(8), 40, start=dt.date(2026, 12, 3)).weeks[0].begins == MONDAY


def test_a_tree_with_two_jobs_falls_with_the_second():
    two = [Job(tree=1, need=8 * HOUR), Job(tree=1, need=40 * HOUR)]
    falls = {1: Fall(Rating.HIGH, Rating.LOW)}
    result = programme(two, Capacity(week=40 * HOUR), start=MONDAY, now={Rating.HIGH: 1}, falls=falls)
    assert [week.counts[Rating.HIGH] for week in result.weeks[:2]] == [1, 0]
    assert result.weeks[1].counts[Rating.LOW] == 1


def test_work_makes_no_tree_worse():
    assert Fall(Rating.MODERATE, Rating.EXTREME).then is Rating.MODERATE
