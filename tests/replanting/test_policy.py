"""Dates of the promise."""

import datetime as dt

import pandas as pd
from hypothesis import given
from hypothesis import strategies as st

from replanting.policy import due, due_again, months_after

DAYS = st.dates(dt.date(2000, 1, 1), dt.date(2100, 1, 1))


@given(day=DAYS, months=st.integers(0, 60))
def test_months_are_counted_as_pandas_counts_them(day, months):
    """Reference library: pandas.DateOffset."""
    assert months_after(day, months) == (pd.Timestamp(day) + pd.DateOffset(months=months)).date()


def test_a_leap_day_is_promised_for_the_last_of_february():
    assert due(dt.date(2028, 2, 29)) == dt.date(2029, 2, 28)


@given(failed=DAYS, promised=DAYS)
def test_a_new_promise_is_never_earlier_than_the_old(failed, promised):
    assert due_again(failed, promised) >= promised
