"""Planting windows by stock, zone and kind."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from replanting.season import (
    BALLED,
    BARE_ROOT,
    CONTAINER,
    SPRING_DUG,
    Kind,
    next_window,
    season_name,
    warning,
    window_around,
)

OAK = Kind("Quercus")


def day(text):
    return dt.date.fromisoformat(text)


@pytest.mark.parametrize(
    ("stock", "zone", "asked", "first", "last"),
    [
        (BARE_ROOT, 6, "2026-06-01", "2027-03-01", "2027-04-30"),
        (BARE_ROOT, 7, "2026-06-01", "2026-11-01", "2026-11-30"),
        (BARE_ROOT, 9, "2026-06-01", "2026-12-01", "2027-02-28"),
        (BARE_ROOT, 9, "2028-01-15", "2027-12-01", "2028-02-29"),
        (BALLED, 8, "2026-04-10", "2026-10-01", "2027-03-31"),
        (BALLED, 6, "2026-05-01", "2026-03-01", "2026-05-31"),
        (CONTAINER, 10, "2026-07-01", "2026-01-01", "2026-12-31"),
    ],
)
def test_the_window_of_a_day_or_the_next(stock, zone, asked, first, last):
    found = next_window(stock, zone, day(asked))
    assert (found.first, found.last) == (day(first), day(last))


def test_a_kind_dug_in_spring_has_no_autumn_and_a_container_one_has():
    assert next_window(BALLED, 6, day("2026-09-10"), OAK).first == day("2027-03-01")
    assert window_around(CONTAINER, 6, day("2026-09-10"), OAK)
    assert next_window(BALLED, 8, day("2026-11-10"), OAK).first == day("2027-01-01")


def test_the_warning_says_which_day_which_stock_which_zone_and_when_instead():
    assert warning(BALLED, 6, day("2026-07-04")) == (
        "4 Jul 2026 lies outside the window for balled and burlapped stock in zone 6; the next is 1 Sep 2026 to 30 Nov 2026."
    )
    assert "Quercus, balled and burlapped, a kind that is dug in spring only," in warning(
        BALLED, 6, day("2026-10-04"), OAK
    )
    assert "evergreens" in warning(BALLED, 5, day("2026-10-20"), Kind("Picea", evergreen=True))


def test_within_a_window_there_is_nothing_to_say():
    assert warning(BALLED, 6, day("2026-04-04")) == ""


@pytest.mark.parametrize("zone", [2, 11])
def test_the_table_is_not_stretched_to_other_zones(zone):
    assert "speaks of zones 3 to 10" in warning(BALLED, zone, day("2026-04-04"))


def test_without_a_zone_it_says_what_is_missing():
    assert "no hardiness zone" in warning(BALLED, None, day("2026-04-04"))


@pytest.mark.parametrize(("asked", "name"), [("2027-06-30", "spring 2027"), ("2027-07-01", "autumn 2027")])
def test_seasons_have_names(asked, name):
    assert season_name(day(asked)) == name


@given(
    stock=st.sampled_from([BARE_ROOT, BALLED, CONTAINER]),
    zone=st.integers(3, 10),
    asked=st.dates(dt.date(2020, 1, 1), dt.date(2040, 12, 31)),
    genus=st.sampled_from(["Acer", *sorted(SPRING_DUG)]),
    evergreen=st.booleans(),
)
def test_there_is_a_next_window_within_a_year_and_no_warning_in_it(stock, zone, asked, genus, evergreen):
    kind = Kind(genus, evergreen)
    found = next_window(stock, zone, asked, kind)
    assert found.last >= asked
    assert (found.first - asked).days <= 366
    assert warning(stock, zone, found.first, kind) == warning(stock, zone, found.last, kind) == ""
