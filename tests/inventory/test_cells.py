"""A map cell keeps both coordinates: interleaved bits, undone here the slow way."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.cells import BITS, cell

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
