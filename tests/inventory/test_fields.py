"""What people may type for a length, a date and a position, and what they are told when it cannot be read."""

import datetime as dt
import math

import pytest
from django import forms
from django.core.exceptions import ValidationError

from inventory.bounds import DBH_MAX_CM, DBH_MIN_CM, HEIGHT_MAX_M
from inventory.fields import (
    InUnits,
    LengthField,
    LengthListField,
    PartialDate,
    PartialDateField,
    Position,
    PositionField,
)
from inventory.models import DatePrecision
from inventory.units import Units


class SizeForm(InUnits, forms.Form):
    dbh_cm = LengthField(store="cm", minimum=DBH_MIN_CM, maximum=DBH_MAX_CM, required=False)
    height_m = LengthField(store="m", maximum=HEIGHT_MAX_M, required=False)
    stems_cm = LengthListField(store="cm", maximum=DBH_MAX_CM, required=False)


def cleaned(units=Units.METRIC, **data):
    form = SizeForm(data, units=units)
    assert form.is_valid(), form.errors
    return form.cleaned_data


def error(units=Units.METRIC, **data) -> str:
    form = SizeForm(data, units=units)
    assert not form.is_valid()
    ((message,),) = form.errors.values()
    return message


# 1 in = 25.4 mm and 1 ft = 0.3048 m exactly: international yard and pound agreement, 1959 (NIST SP 811, appendix B).
@pytest.mark.parametrize(
    ("text", "cm"), [("14 in", 35.56), ('14"', 35.56), ("36 cm", 36), ("0.36 m", 36), ("360mm", 36), ("35,5 cm", 35.5)]
)
@pytest.mark.parametrize("units", Units)
def test_a_length_with_its_unit_means_the_same_to_every_reader(text, cm, units):
    assert cleaned(units, dbh_cm=text)["dbh_cm"] == pytest.approx(cm, abs=1e-9)


def test_a_bare_number_is_in_the_readers_unit():
    assert cleaned(Units.METRIC, dbh_cm="14", height_m="10") == {"dbh_cm": 14, "height_m": 10, "stems_cm": []}
    assert cleaned(Units.US, dbh_cm="14", height_m="10") == {"dbh_cm": 35.56, "height_m": 3.048, "stems_cm": []}


def test_feet_and_inches_add_up():
    assert cleaned(height_m="6' 4\"")["height_m"] == pytest.approx(6 * 0.3048 + 4 * 0.0254)


def test_an_empty_length_is_none():
    assert cleaned(dbh_cm="  ")["dbh_cm"] is None


@pytest.mark.parametrize("text", ["wide", "-3 cm", "12 kg", "12 cm thick", "∞"])
def test_what_is_no_length_is_refused_in_a_sentence(text):
    assert error(dbh_cm=text) == f"“{text}” is not a length; write for example 36 cm or 14 in."


@pytest.mark.parametrize("text", ["501", "0", "9" * 400])
def test_a_length_out_of_range_is_refused_with_the_range(text):
    assert error(dbh_cm=text) == f"{text} is out of range; give 0.1 cm to 500 cm."


def test_the_range_is_told_in_the_readers_unit():
    assert error(Units.US, dbh_cm="300") == "300 is out of range; give 0.04 in to 196.85 in."


@pytest.mark.parametrize(
    ("units", "shown"),
    [
        (Units.METRIC, {"dbh_cm": "35.56 cm", "height_m": "12 m", "stems_cm": "20 cm + 15.5 cm"}),
        (Units.US, {"dbh_cm": "14 in", "height_m": "39.37 ft", "stems_cm": "7.87 in + 6.1 in"}),
    ],
)
def test_a_stored_length_shows_in_the_readers_unit(units, shown):
    form = SizeForm(initial={"dbh_cm": 35.56, "height_m": 12.0, "stems_cm": [20.0, 15.5]}, units=units)
    assert {name: form[name].value() for name in form.fields} == shown


@pytest.mark.parametrize("units", Units)
@pytest.mark.parametrize("dbh_cm", [36.0, 1 / 3, 33.333333])
def test_a_form_sent_back_as_shown_has_not_changed(units, dbh_cm):
    initial = {"dbh_cm": dbh_cm, "height_m": 11.1111, "stems_cm": [dbh_cm, dbh_cm]}
    shown = SizeForm(initial=initial, units=units)
    sent = SizeForm({name: shown[name].value() for name in shown.fields}, initial=initial, units=units)
    assert sent.changed_data == []


def test_a_form_remade_for_another_reader_does_not_keep_the_first_ones_unit():
    SizeForm(units=Units.US)
    assert "bare number is in cm" in SizeForm(units=Units.METRIC).fields["dbh_cm"].help_text


@pytest.mark.parametrize("text", ["30 cm + 12 in", "30; 30.48", "30\n30.48 cm"])
def test_several_stems_are_a_list(text):
    assert cleaned(stems_cm=text)["stems_cm"] == [30, 30.48]


def test_a_bad_stem_is_named():
    assert error(stems_cm="30 + thin") == "“thin” is not a length; write for example 36 cm or 14 in."


@pytest.mark.parametrize(
    ("text", "day", "precision"),
    [
        ("2019", dt.date(2019, 1, 1), DatePrecision.YEAR),
        ("2019-05", dt.date(2019, 5, 1), DatePrecision.MONTH),
        ("2019-5-14", dt.date(2019, 5, 14), DatePrecision.DAY),
    ],
)
def test_a_date_is_taken_as_far_as_it_is_known(text, day, precision):
    assert PartialDateField().clean(text) == PartialDate(day, precision)


@pytest.mark.parametrize("known", ["2019", "2019-05", "2019-05-14"])
def test_a_date_shows_only_what_is_known(known):
    assert PartialDateField().prepare_value(PartialDateField().clean(known)) == known


@pytest.mark.parametrize("text", ["May 2019", "2019-13", "2019-02-30", "0000", "19"])
def test_a_date_that_does_not_exist_is_refused(text):
    with pytest.raises(ValidationError) as refused:
        PartialDateField().clean(text)
    assert refused.value.messages == [f"“{text}” is not a date; write 2019, 2019-05 or 2019-05-14."]


@pytest.mark.parametrize("text", ["47.20341, 8.51172", "47.20341 8.51172", "47.20341;8.51172"])
def test_a_position_is_read_latitude_first(text):
    position = PositionField().clean(text)
    assert math.isclose(position.lat, 47.20341)
    assert math.isclose(position.lon, 8.51172)


@pytest.mark.parametrize("text", ["47.2", "here", "47,20341, 8,51172", "1e1, 2"])
def test_half_a_position_is_refused(text):
    with pytest.raises(ValidationError, match="is not a position; write latitude, longitude"):
        PositionField().clean(text)


@pytest.mark.parametrize("text", ["122.3, 47.5", "-91, 0", "0, 181"])
def test_a_position_off_the_globe_is_refused(text):
    with pytest.raises(ValidationError, match="write the latitude first"):
        PositionField().clean(text)


def test_a_position_shows_as_it_is_typed():
    assert PositionField().prepare_value(Position(8.51172, 47.20341)) == "47.203410, 8.511720"
