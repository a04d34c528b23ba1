"""Rain that does the watering."""

import datetime as dt

import pytest
import time_machine
from django.core.management import CommandError, call_command
from hypothesis import given
from hypothesis import strategies as st

from inventory.errors import Refused
from inventory.record import COMMAND
from replanting.care import A_GEORGIA, Kind
from replanting.models import Planting, Rain
from replanting.rain import INCH_MM, fallen_mm, watered_by_rain
from replanting.rounds import calls
from replanting.weather import Fallen, load_rain, read_rain
from tests.factories import ParkFactory, TreeFactory
from tests.replanting.walk import planted

JULY = dt.date(2026, 7, 1)


def july(day):
    return dt.date(2026, 7, day)


class TestInch:
    def test_an_inch_in_one_day(self):
        assert watered_by_rain({july(3): 25.4}) == [july(3)]

    def test_an_inch_within_a_week_counts_on_the_day_it_is_reached(self):
        assert watered_by_rain({july(1): 10, july(4): 10, july(7): 5.4}) == [july(7)]

    def test_over_more_than_a_week_it_does_not(self):
        assert watered_by_rain({july(1): 13, july(8): 13}) == []

    def test_a_drizzle_after_it_is_no_second_watering(self):
        assert watered_by_rain({july(1): 30, july(2): 2}) == [july(1)]

    @given(st.dictionaries(st.integers(1, 31).map(july), st.floats(0, 80), max_size=31))
    def test_each_watering_has_an_inch_of_its_own(self, rain_mm):
        assert len(watered_by_rain(rain_mm)) * INCH_MM <= sum(rain_mm.values()) + 1e-6

    def test_what_fell_within_a_week(self):
        assert fallen_mm({july(1): 5, july(2): 3, july(8): 4}, july(8)) == 7


class TestTable:
    def test_millimetres_or_inches_by_park_or_for_the_city(self):
        assert read_rain(["day,inches,park", "2026-07-01,1,ALB", "2026-07-02,0,"]) == [
            Fallen(july(1), pytest.approx(25.4), "ALB"),
            Fallen(july(2), 0.0),
        ]

    @pytest.mark.parametrize(
        ("lines", "words"),
        [
            (["date,mm", "2026-07-01,3"], "no columns “day” and “mm”"),
            (["day,mm", "1.7.2026,3"], "Line 2 has no day like"),
            (["day,mm", "2026-07-01,3", "2026-07-02,-1"], "Line 3: rain of a day lies between"),
            (["day,mm"], "no rain in it"),
        ],
    )
    def test_a_fault_is_said_with_its_line(self, lines, words):
        with pytest.raises(Refused, match=words):
            read_rain(lines)


@pytest.mark.django_db
class TestStored:
    @pytest.fixture(autouse=True)
    def _in_july(self):
        with time_machine.travel(dt.datetime(2026, 7, 20, 12, tzinfo=dt.UTC), tick=False):
            yield

    def test_loaded_again_it_is_there_once_with_the_newer_figure(self):
        for mm in (3.0, 5.0):
            load_rain(by=COMMAND, rows=[Fallen(JULY, mm)])
        assert Rain.objects.get().mm == 5.0

    def test_a_park_that_does_not_exist_is_said_and_nothing_is_kept(self):
        with pytest.raises(Refused, match="No park has the code NOWHERE"):
            load_rain(by=COMMAND, rows=[Fallen(JULY, 3.0), Fallen(JULY, 3.0, "NOWHERE")])
        assert not Rain.objects.exists()

    def test_rain_that_has_not_fallen_is_refused(self):
        with pytest.raises(Refused, match="has not come yet"):
            load_rain(by=COMMAND, rows=[Fallen(dt.date(2026, 7, 21), 3.0)])

    def test_the_command_takes_a_file(self, tmp_path):
        file = tmp_path / "rain.csv"
        file.write_text("day,mm\n2026-07-01,3\n")
        call_command("load_rain", str(file))
        assert Rain.objects.get().mm == 3.0
        file.write_text("day,mm\n2026-07-01,wet\n")
        with pytest.raises(CommandError, match="Line 2"):
            call_command("load_rain", str(file))

    def test_an_inch_puts_the_next_watering_off_by_a_week(self):
        planted(on=dt.date(2026, 6, 1))
        load_rain(by=COMMAND, rows=[Fallen(july(18), 26.0)])
        assert watering(july(20)) == july(25)

    def test_a_parks_own_gauge_comes_before_the_citys(self):
        planted(TreeFactory(park=ParkFactory(code="ALB")), on=dt.date(2026, 6, 1))
        load_rain(by=COMMAND, rows=[Fallen(july(18), 26.0), Fallen(july(18), 2.0, "ALB")])
        assert watering(july(20)) == dt.date(2026, 6, 8)


def watering(today):
    (call,) = calls(Planting.objects.in_care(), today, A_GEORGIA)
    return next(due.on for due in call.dues if due.kind is Kind.WATER)
