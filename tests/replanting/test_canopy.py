"""When plantings will have grown back the crown cover that removals took: an estimate with its range."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from replanting.canopy import FT_A_YEAR, Bound, Plantings, crown_m2, forecast

FT = 0.3048
OAKS = Plantings(2026, 10, "medium", 40 * FT, 60 * FT, 30 * FT, 60 * FT)


def test_a_tree_of_today_covers_nothing_yet():
    assert [OAKS.cover_m2(2026, bound) for bound in Bound] == [0, 0]


def test_the_spread_grows_in_proportion_to_the_height():
    """High: 2 ft a year to 40 ft, so in 10 years half of the height and of the spread of 60 ft."""
    assert OAKS.cover_m2(2036, Bound.HIGH) == pytest.approx(10 * crown_m2(30 * FT))
    # Low: 1 ft a year to 60 ft, so a sixth of the spread of 30 ft.
    assert OAKS.cover_m2(2036, Bound.LOW) == pytest.approx(10 * crown_m2(5 * FT))


def test_it_ends_at_the_mature_spread():
    assert OAKS.cover_m2(2200, Bound.HIGH) == pytest.approx(10 * crown_m2(60 * FT))
    assert OAKS.cover_m2(2200, Bound.LOW) == pytest.approx(10 * crown_m2(30 * FT))


def test_says_the_years_in_which_the_cover_is_back():
    found = forecast(10 * crown_m2(30 * FT), [OAKS], 2026)
    assert (found.early, found.late) == (2036, 2086)
    assert [point.year for point in found.points] == [2026, 2036, 2046, 2056, 2066, 2076, 2086]


def test_what_is_not_back_within_a_century_says_no_year():
    found = forecast(10 * crown_m2(70 * FT), [OAKS], 2026)
    assert (found.early, found.late) == (None, None)
    assert found.points[-1].year == 2126


def test_without_a_removal_nothing_is_to_grow_back():
    assert forecast(0, [], 2026).late == 2026


PLANTINGS = st.builds(
    Plantings,
    year=st.integers(2000, 2026),
    number=st.integers(1, 50),
    growth=st.sampled_from(sorted(FT_A_YEAR)),
    height_min_m=st.floats(3, 10),
    height_max_m=st.floats(10, 40),
    spread_min_m=st.floats(2, 8),
    spread_max_m=st.floats(8, 25),
)


@given(plantings=st.lists(PLANTINGS, max_size=6), taken=st.floats(0, 5000))
def test_cover_never_shrinks_and_the_low_estimate_never_passes_the_high_one(plantings, taken):
    found = forecast(taken, plantings, 2026)
    assert all(point.low_m2 <= point.high_m2 * (1 + 1e-9) for point in found.points)
    lows = [point.low_m2 for point in found.points]
    assert lows == sorted(lows)
    if found.late is not None:
        assert found.early is not None
        assert found.early <= found.late
