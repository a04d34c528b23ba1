"""Cells as values: lengths, size classes, dates, status words, positions."""

import datetime as dt
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Transformer

from inventory.importing import positions, values
from inventory.importing.places import likely_in_us
from inventory.importing.values import DateOrder, Planted, Size, Status
from inventory.units import METRES_PER

TODAY = dt.date(2026, 6, 1)


@pytest.mark.parametrize(
    ("text", "unit", "metres"),
    [
        ("14", "in", 0.3556),
        ("14 in", "cm", 0.3556),
        ("36 cm", "in", 0.36),
        ("36cm.", "in", 0.36),
        ("14 inches", "cm", 0.3556),
        ("1' 6\"", "cm", 0.4572),
        ("1’ 6”", "cm", 0.4572),
        ("12.5", "m", 12.5),
        ("1,200 mm", "cm", 1.2),
        ("1,200", "mm", 1.2),
        ("30 feet", "m", 9.144),
        ("2 metres", "ft", 2.0),
        ("0", "cm", 0.0),
    ],
)
def test_lengths(text, unit, metres):
    assert values.length_m(text, unit) == pytest.approx(metres)


def test_a_decimal_comma():
    assert values.length_m("12,5", "cm", decimal_comma=True) == pytest.approx(0.125)
    assert values.length_m("1.200,5 mm", "cm", decimal_comma=True) == pytest.approx(1.2005)


@pytest.mark.parametrize("text", ["tall", "-5", "14 miles", "12 13", "1e400", "½"])
def test_what_is_no_length_is_refused_in_a_sentence(text):
    with pytest.raises(ValueError, match=text.split()[0]):
        values.length_m(text, "cm")


@given(
    number=st.integers(0, 9_999),
    unit=st.sampled_from(values.LENGTH_UNITS),
    default=st.sampled_from(values.LENGTH_UNITS),
)
def test_a_named_unit_outweighs_the_columns(number, unit, default):
    assert values.length_m(f"{number} {unit}", default) == pytest.approx(number * METRES_PER[unit])


@pytest.mark.parametrize(
    ("text", "cm"),
    [
        ("6-12 in", 9 * 2.54),
        ("6–12", 9 * 2.54),
        ("6 to 12 inches", 9 * 2.54),
        ('12" to 18"', 15 * 2.54),
        ('0" to 6"', 3 * 2.54),
        ("10-20 cm", 15),
        (">30", 30 * 2.54),
        ("30+", 30 * 2.54),
        ("over 30 in", 30 * 2.54),
        ("30 and up", 30 * 2.54),
        ("<6", 3 * 2.54),
        ("under 6 in", 3 * 2.54),
    ],
)
def test_a_size_class_is_kept_as_written_with_an_estimate(text, cm):
    assert values.size(text, "in") == Size(pytest.approx(cm), estimated=True, as_given=text)


def test_a_class_in_words_has_no_number():
    assert values.size("Large", "in") == Size(None, as_given="Large")


def test_a_class_that_runs_downwards_is_refused():
    with pytest.raises(ValueError, match="smaller bound first"):
        values.size("12-6", "in")


def test_zero_means_unknown():
    assert values.size("0", "cm") == Size(None)


def test_several_stems_count_by_their_basal_area():
    """The diameter of the one trunk with the same cross-section (common practice): 3-4-5."""
    assert values.size("30/40 cm", "in") == Size(pytest.approx(50), stems_cm=(pytest.approx(30), pytest.approx(40)))


@given(low=st.integers(0, 50), width=st.integers(1, 50), unit=st.sampled_from(["in", "cm"]))
def test_the_estimate_lies_in_the_middle_of_its_class(low, width, unit):
    found = values.size(f"{low}-{low + width} {unit}", "m")
    assert found.estimated
    assert found.cm == pytest.approx((low + width / 2) * METRES_PER[unit] * 100)


@pytest.mark.parametrize(
    ("texts", "order"),
    [
        (["2/01/2000", "14/10/1998"], DateOrder.DMY),
        (["01/02/2000", "10/14/1998"], DateOrder.MDY),
        (["1/2/2000", "3/4/2001"], None),
        (["2015-08-27"], None),
        (["14/10/1998", "15/10/1998", "10/14/1998"], DateOrder.DMY),
        ([], None),
    ],
)
def test_a_column_tells_day_from_month(texts, order):
    assert values.date_order(texts) == order


@pytest.mark.parametrize(
    ("text", "order", "on", "precision"),
    [
        ("14/10/1998", "dmy", (1998, 10, 14), "day"),
        ("10/14/1998", "mdy", (1998, 10, 14), "day"),
        ("2/01/2000", "dmy", (2000, 1, 2), "day"),
        ("2.1.2000", "dmy", (2000, 1, 2), "day"),
        ("14-10-98", "dmy", (1998, 10, 14), "day"),
        ("2015-08-27T00:00:00.000", "mdy", (2015, 8, 27), "day"),
        ("2015/08/27 10:30", "mdy", (2015, 8, 27), "day"),
        ("8/27/2015 12:00:00 AM", "mdy", (2015, 8, 27), "day"),
        ("20150827", "dmy", (2015, 8, 27), "day"),
        ("27 Aug 2015", "mdy", (2015, 8, 27), "day"),
        ("August 27, 2015", "dmy", (2015, 8, 27), "day"),
        ("27-Aug-15", "dmy", (2015, 8, 27), "day"),
        ("2015-08", "dmy", (2015, 8, 1), "month"),
        ("8/2015", "dmy", (2015, 8, 1), "month"),
        ("Aug 2015", "dmy", (2015, 8, 1), "month"),
        ("1998", "dmy", (1998, 1, 1), "year"),
        ("c. 1900", "dmy", (1900, 1, 1), "year"),
        ("36082", "dmy", (1998, 10, 14), "day"),
    ],
)
def test_dates(text, order, on, precision):
    assert values.planted(text, DateOrder(order), TODAY) == Planted(dt.date(*on), precision)


def test_the_day_zero_of_spreadsheets_is_no_date():
    assert values.planted("30/12/1899", DateOrder.DMY, TODAY) is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("31/02/2010", "day comes first"),
        ("2010-13-01", "not a date"),
        ("soon", "1998-10-14"),
        ("2027-01-01", "future"),
        ("0012-01-01", "before 1000"),
    ],
)
def test_what_is_no_date_is_refused_in_a_sentence(text, words):
    with pytest.raises(ValueError, match=words):
        values.planted(text, DateOrder.DMY, TODAY)


def test_a_two_digit_year_is_the_last_such_year():
    assert values.planted("1/1/26", DateOrder.DMY, TODAY).on.year == 2026
    assert values.planted("1/1/27", DateOrder.DMY, TODAY).on.year == 1927


@given(on=st.dates(dt.date(1900, 1, 1), TODAY), order=st.sampled_from(DateOrder))
def test_dates_written_in_an_order_are_read_in_it(on, order):
    text = f"{on.day}/{on.month}/{on.year}" if order is DateOrder.DMY else f"{on.month}/{on.day}/{on.year}"
    found = values.planted(text, order, TODAY)
    assert found is not None
    assert found.on == on
    assert values.planted(on.isoformat(), order, TODAY) == found


@pytest.mark.parametrize(
    ("text", "status"),
    [
        ("Alive", Status.ALIVE),
        ("DEAD", Status.DEAD),
        ("Standing dead", Status.DEAD),
        ("Stump", Status.STUMP),
        ("Vacant_Site", Status.VACANT),
        ("Vacant site, large", Status.VACANT),
        ("Planting Site", Status.VACANT),
        ("Potential Site :: Potential Site", Status.VACANT),
        ("Removed", Status.REMOVED),
        ("7", None),
        ("New York", None),
    ],
)
def test_status_words(text, status):
    assert values.status_word(text) is status


@pytest.mark.parametrize("name", ["Acer rubrum", "Empress tree", "Current", "Tree of heaven", "Vacantia alba"])
def test_a_name_is_no_vacant_site(name):
    assert values.site_word(name) is None


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("Excellent", "good"),
        ("Fair", "fair"),
        ("Very Poor", "dying"),
        ("Fair/Good", "fair"),
        ("Dead", "dead"),
        ("80 %", None),
    ],
)
def test_condition_words(text, word):
    assert values.condition_word(text) == word


@pytest.mark.parametrize("text", ["", "NA", "n/a", "NULL", "None", "unknown", "-", "#N/A"])
def test_words_that_stand_for_empty(text):
    assert values.is_blank(text)


@pytest.mark.parametrize("text", ["no", "0", "data", "not a maple"])
def test_words_that_say_something(text):
    assert not values.is_blank(text)


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("40.7231", 40.7231),
        ("-73.8442", -73.8442),
        ("40.7231 N", 40.7231),
        ("73.8442W", -73.8442),
        ("40° 43' 23.16\" N", 40.7231),
        ("73°50'39.12\"W", -73.8442),
        ("40,7231", 40.7231),
    ],
)
def test_degrees(text, degrees):
    assert positions.degrees(text) == pytest.approx(degrees, abs=1e-6)


@pytest.mark.parametrize("text", ["north", "40° 75' N", "40.7.2"])
def test_what_is_no_position_is_refused(text):
    with pytest.raises(ValueError, match=r"-73\.8442"):
        positions.degrees(text)


@pytest.mark.parametrize(
    "text",
    [
        "POINT (-73.84 40.72)",
        "40.72, -73.84",
        "(40.72, -73.84)",
        "[40.72,-73.84]",
        "SRID=4326;POINT(-73.84 40.72)",
        '{"type": "Point", "coordinates": [-73.84, 40.72]}',
    ],
)
def test_both_coordinates_in_one_cell(text):
    assert positions.point(text) == (-73.84, 40.72)


def test_projected_coordinates_against_the_library():
    """EPSG:2263 (New York Long Island, US survey feet): the first row of the 2015 census sample of New York City."""
    ((lon, lat),) = positions.to_degrees(2263, [1027431.148], [202756.7687])
    assert (lon, lat) == (pytest.approx(-73.84421522, abs=2e-5), pytest.approx(40.72309177, abs=2e-5))


@given(lon=st.floats(-5, 1), lat=st.floats(50, 58))
def test_projected_coordinates_come_back_to_their_degrees(lon, lat):
    x, y = Transformer.from_crs(4326, 32630, always_xy=True).transform(lon, lat)
    ((back_lon, back_lat),) = positions.to_degrees(32630, [x], [y])
    assert math.hypot(back_lon - lon, back_lat - lat) < 1e-6


def test_an_unknown_system_is_refused():
    with pytest.raises(ValueError, match="EPSG:1234567"):
        positions.transformer(1234567)


@pytest.mark.parametrize("lat", [-73.9, 78.2])
def test_no_tree_grows_in_the_ice(lat):
    assert "beyond where trees grow" in positions.fault(40.7, lat, None)


MIDDLE = positions.Centre(-73.9, 40.7)


@pytest.mark.parametrize(
    ("lon", "lat", "words"),
    [
        (40.7, -73.9, "look swapped"),
        (73.9, 40.7, "minus sign"),
        (-73.9, 140.7, "outside -90 to 90"),
        (-273.9, 40.7, "outside -180 to 180"),
        (-138.28, 47.26, "far from all the other trees"),
    ],
)
def test_a_position_that_cannot_be_right_says_why(lon, lat, words):
    assert words in positions.fault(lon, lat, MIDDLE)


@pytest.mark.parametrize(("lon", "lat"), [(-73.8, 40.6), (-75.0, 42.0), (-78.0, 36.0)])
def test_a_position_that_may_be_right_is_let_be(lon, lat):
    assert positions.fault(lon, lat, MIDDLE) == ""


def test_a_file_of_a_whole_country_reaches_as_far_as_its_trees():
    country = positions.centre([(5.0 * n, 40.0) for n in range(-3, 4)])
    assert positions.fault(-40.0, 45.0, country) == ""


def test_a_handful_of_positions_has_no_middle_to_judge_by():
    assert positions.centre([(0.0, 0.0)] * 4) is None


@pytest.mark.parametrize(
    ("lon", "lat", "inside"),
    [
        (-73.9, 40.7, True),
        (-122.6, 45.5, True),
        (-157.8, 21.3, True),
        (-79.4, 43.65, False),
        (144.9, -37.8, False),
        (-99.1, 19.4, False),
    ],
)
def test_which_trees_are_likely_measured_in_inches(lon, lat, inside):
    """New York, Portland, Honolulu; not Toronto, Melbourne, Mexico City."""
    assert likely_in_us(lon, lat) is inside
