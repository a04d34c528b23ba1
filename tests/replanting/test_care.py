"""What a young tree asks for, by named rules."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from replanting.care import (
    A_GEORGIA,
    B_MINNESOTA,
    C_FLORIDA,
    WATER_RULES,
    Kind,
    Young,
    care_ends,
    dues,
    season,
    seasons_of_care,
)

MAY = dt.date(2026, 5, 4)
TWO_INCHES = 5.08


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def young(**known) -> Young:
    return Young(**{"planted_on": MAY, "zone": 6, "caliper_cm": TWO_INCHES, "last_seen": MAY, **known})


def due(tree: Young, kind: Kind, today: dt.date, rule=A_GEORGIA, **how):
    """The one thing of a kind that is due within the week, or None."""
    found = [one for one in dues(tree, today, today + dt.timedelta(6), rule, **how) if one.kind is kind]
    assert len(found) <= 1
    return found[0] if found else None


def water(tree: Young, today: dt.date, rule=A_GEORGIA, **how):
    return due(tree, Kind.WATER, today, rule, **how)


class TestWater:
    def test_georgia_waters_weekly_from_the_last_time(self):
        found = water(young(last_watered=day("2026-06-01")), day("2026-06-03"))
        assert (found.on, found.last_day) == (day("2026-06-08"), day("2026-06-08"))

    def test_planting_day_counts_as_watered(self):
        assert water(young(), MAY + dt.timedelta(1)).on == MAY + dt.timedelta(7)

    def test_it_is_late_when_its_day_has_passed(self):
        found = water(young(), MAY + dt.timedelta(7))
        assert not found.late(MAY + dt.timedelta(7))
        assert found.late(MAY + dt.timedelta(8))

    def test_georgia_in_drought_waters_twice_a_week(self):
        found = water(young(last_watered=day("2026-06-01")), day("2026-06-01"), drought=True)
        assert (found.on, found.last_day) == (day("2026-06-04"), day("2026-06-05"))

    @pytest.mark.parametrize(
        ("rule", "age", "soonest", "latest"),
        [
            (B_MINNESOTA, 3, 1, 1),
            (B_MINNESOTA, 13, 1, 1),
            (B_MINNESOTA, 14, 2, 3),
            (B_MINNESOTA, 83, 2, 3),
            (B_MINNESOTA, 84, 7, 7),
            (C_FLORIDA, 13, 1, 1),
            (C_FLORIDA, 14, 2, 2),
            (C_FLORIDA, 74, 2, 2),
            (C_FLORIDA, 75, 7, 7),
        ],
    )
    def test_the_stages_of_a_rule(self, rule, age, soonest, latest):
        watered = MAY + dt.timedelta(age)
        found = water(young(last_watered=watered), watered, rule)
        if soonest == 7:
            assert found is None
            found = water(young(last_watered=watered), watered + dt.timedelta(1), rule)
        assert ((found.on - watered).days, (found.last_day - watered).days) == (soonest, latest)

    def test_florida_does_not_speak_of_larger_stock(self):
        assert water(young(caliper_cm=7.0), MAY, C_FLORIDA) is None
        assert water(young(caliper_cm=None), MAY, C_FLORIDA) is None

    def test_outside_the_season_nothing_is_watered_and_nothing_is_made_up(self):
        tree = young(last_watered=day("2026-10-01"))
        assert water(tree, day("2026-12-10")) is None
        assert water(tree, day("2027-03-28")).on == day("2027-04-01")

    def test_after_the_last_season_of_care_nothing_is_watered(self):
        assert water(young(), day("2027-10-20")) is not None
        assert water(young(), day("2028-06-01")) is None

    def test_without_a_caliper_it_is_due_and_no_amount_is_told(self):
        assert water(young(caliper_cm=None), MAY + dt.timedelta(7)).litres is None

    def test_the_rules_name_stands_on_it(self):
        for rule in WATER_RULES.values():
            assert rule.name in water(young(), MAY + dt.timedelta(7), rule).words


class TestChecks:
    def test_at_planting_unless_somebody_looked(self):
        assert due(young(last_seen=None), Kind.CHECK, MAY).words.startswith("check at planting")
        assert due(young(), Kind.CHECK, MAY) is None

    def test_after_a_month(self):
        found = due(young(), Kind.CHECK, day("2026-06-01"))
        assert (found.on, found.words) == (day("2026-06-04"), "check after a month")
        assert due(young(last_seen=day("2026-06-05")), Kind.CHECK, day("2026-06-06")) is None

    def test_at_each_seasons_end(self):
        assert due(young(last_seen=day("2026-10-30")), Kind.CHECK, day("2026-10-30")).on == day("2026-10-31")
        assert due(young(last_seen=day("2027-10-30")), Kind.CHECK, day("2027-10-30")).on == day("2027-10-31")

    def test_one_visit_answers_all_checks_before_it(self):
        assert due(young(last_seen=day("2026-11-02")), Kind.CHECK, day("2026-11-03")) is None

    @pytest.mark.parametrize(
        ("zone", "on"), [(6, "2027-05-04"), (7, "2027-05-04"), (8, "2026-11-04"), (None, "2027-05-04")]
    )
    def test_stakes_come_off_after_a_year_or_half_of_it_where_it_is_warm(self, zone, on):
        assert due(young(zone=zone), Kind.STAKES, day(on)).on == day(on)
        assert due(young(zone=zone), Kind.STAKES, day(on) - dt.timedelta(8)) is None
        assert due(young(zone=zone, stakes_off=True), Kind.STAKES, day(on)) is None


class TestEnd:
    @pytest.mark.parametrize(
        ("zone", "inches", "seasons"), [(6, 2, 2), (6, 3, 3), (4, 4.5, 5), (7, 4, 2), (9, 2, 2), (10, 12, 3)]
    )
    def test_seasons_by_caliper_and_zone(self, zone, inches, seasons):
        assert seasons_of_care(young(zone=zone, caliper_cm=inches * 2.54)) == seasons

    def test_two_where_the_caliper_is_not_known(self):
        assert seasons_of_care(young(caliper_cm=None)) == 2

    def test_a_tree_planted_after_the_middle_of_a_season_begins_with_the_next(self):
        assert care_ends(young()) == day("2027-10-31")
        assert care_ends(young(planted_on=day("2026-08-15"))) == day("2028-10-31")
        assert care_ends(young(planted_on=day("2026-11-15"))) == day("2028-10-31")

    def test_then_somebody_decides(self):
        assert due(young(), Kind.DECIDE, day("2027-10-20")) is None
        assert due(young(), Kind.DECIDE, day("2027-10-25")).on == day("2027-10-31")

    @pytest.mark.parametrize(("zone", "days"), [(3, 153), (6, 214), (8, 275), (9, 365), (None, 214)])
    def test_the_growing_season(self, zone, days):
        begins, ends = season(2026, zone)
        assert (ends - begins).days + 1 == days


@given(
    watered=st.none() | st.integers(0, 800),
    seen=st.none() | st.integers(0, 800),
    now=st.integers(0, 900),
    zone=st.none() | st.integers(1, 13),
    caliper=st.none() | st.floats(1, 15),
    rule=st.sampled_from(sorted(WATER_RULES)),
)
def test_nothing_is_due_before_its_time_or_twice(watered, seen, now, zone, caliper, rule):
    def after(days):
        return None if days is None else MAY + dt.timedelta(days)

    today = MAY + dt.timedelta(now)
    until = today + dt.timedelta(6)
    found = dues(Young(MAY, zone, caliper, after(watered), after(seen)), today, until, WATER_RULES[rule])
    assert len({one.kind for one in found}) == len(found)
    assert all(MAY <= one.on <= min(until, one.last_day) for one in found)
    assert [one.on for one in found] == sorted(one.on for one in found)
