"""Lengths as people type and read them. The yard and pound are exact by the agreement of 1959 (25.4 mm an inch)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory import units as u
from inventory.units import Units, parse_length_m


@pytest.mark.parametrize(
    ("typed", "metres"),
    [
        ("36 cm", 0.36),
        ("14 in", 0.3556),
        ("14", 0.3556),
        ("6' 4\"", 1.9304),
        ("6 ft 4 in", 1.9304),
        ("1,5 m", 1.5),
        ("350mm", 0.35),
    ],
)
def test_a_length_is_read_in_the_unit_that_stands_with_it(typed, metres):
    assert parse_length_m(typed, "in") == pytest.approx(metres, rel=1e-12)


@pytest.mark.parametrize(
    "typed", ["", "  ", "thick", "14 furlongs", "-3 cm", "3 cm x", "6' 4", "5 5", "4 in 6 ft", "14 in 14 in"]
)
def test_what_is_no_length_is_refused_with_an_example(typed):
    with pytest.raises(ValueError, match="36 cm or 14 in"):
        parse_length_m(typed, "in")


@pytest.mark.parametrize("typed", ["1,234 ft", "1,234", "12,500 mm"])
def test_a_comma_that_may_be_of_thousands_or_of_decimals_is_refused(typed):
    with pytest.raises(ValueError, match="two ways"):
        parse_length_m(typed, "in")


@given(st.floats(1, 300))
def test_a_diameter_shown_in_inches_reads_back_within_half_its_last_digit(cm):
    assert parse_length_m(u.diameter(cm, Units.US), "cm") * 100 == pytest.approx(cm, abs=0.05 * 2.54 + 1e-9)


def test_the_reader_sees_their_own_unit():
    assert u.diameter(35.56, Units.US) == "14.0 in"
    assert u.diameter(35.56, Units.METRIC) == "36 cm"
    assert u.mass(1000, Units.US) == "2,205 lb"
    assert u.distance(30.48, Units.US) == "100 ft"
    assert u.force(1000, Units.US) == "225 lbf"
    assert u.speed(9, Units.US) == "20 mph"
    assert u.small_length(12.7, Units.US) == "5.000 in"


def test_a_gallon_is_231_cubic_inches_and_an_acre_43560_square_feet():
    """NIST Handbook 44, appendix C: 1 US gallon = 3.785411784 l, 1 acre (international foot) = 4046.8564224 m²."""
    assert pytest.approx(3.785411784, rel=1e-12) == u.L_PER_GAL
    assert pytest.approx(4046.8564224, rel=1e-12) == u.M2_PER_ACRE
    assert u.volume(18.927, Units.US) == "5.0 gal"
    assert u.area(123_456, Units.METRIC) == "12.3 ha"
