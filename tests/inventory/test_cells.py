"""A map cell keeps both coordinates: interleaved bits, undone here the slow way."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.cells import BITS, cell, window

SIZE = 1 << BITS


def pulled_apart(number: int) -> tuple[float, float]:
    """The south-west corner of a cell, from its binary digits one by one."""
    digits = f"{number:0{2 * BITS}b}"
    lat, lon = int(digits[0::2], 2), int(digits[1::2], 2)
    return lon / SIZE * 360 - 180, lat / SIZE * 180 - 90


@given(st.floats(-180, 180), st.floats(-90, 90))
def test_a_cell_holds_its_position(lon, lat):
    west, south = pulled_apart(cell(lon, lat))
    assert west == pytest.approx(lon, abs=360 / SIZE)
    assert south == pytest.approx(lat, abs=180 / SIZE)


@given(st.floats(-180, 180), st.floats(-90, 90))
def test_a_cell_fits_a_signed_64_bit_column(lon, lat):
    assert 0 <= cell(lon, lat) < 1 << 62


def test_the_corners_of_the_world():
    assert cell(-180, -90) == 0
    assert cell(180, 90) == (1 << 62) - 1


@pytest.mark.parametrize(("lon", "lat"), [(180.1, 0), (0, -90.1), (float("nan"), 0)])
def test_off_the_earth_is_refused(lon, lat):
    with pytest.raises(ValueError, match="not a position on Earth"):
        cell(lon, lat)


positions = st.tuples(st.floats(-180, 180), st.floats(-90, 90))


@given(positions, positions, st.floats(0, 1), st.floats(0, 1))
def test_a_window_s_ranges_hold_every_position_in_it(one, other, across, up):
    (west, east), (south, north) = (sorted(pair) for pair in zip(one, other, strict=True))
    lon, lat = west + across * (east - west), south + up * (north - south)
    number = cell(min(lon, east), min(lat, north))
    ranges = window(west, south, east, north)
    assert sum(first <= number <= last for first, last in ranges) == 1
    assert len(ranges) <= 4


@given(st.floats(-170, 170), st.floats(-80, 80))
def test_a_small_window_takes_little_more_than_itself(lon, lat):
    side = 0.001
    cells = sum(last - first + 1 for first, last in window(lon, lat, lon + side, lat + side))
    longer = side / 180 * SIZE + 1
    assert cells <= 4 * (2 * longer) ** 2


def test_the_whole_world_is_one_range():
    assert window(-180, -90, 180, 90) == ((0, (1 << 62) - 1),)


@pytest.mark.parametrize("edges", [(2, 0, 1, 1), (0, 2, 1, 1)])
def test_a_window_inside_out_is_refused(edges):
    with pytest.raises(ValueError, match="west to east"):
        window(*edges)


def test_a_window_off_the_earth_is_refused():
    with pytest.raises(ValueError, match="not a position on Earth"):
        window(0, 0, 1, 91)
