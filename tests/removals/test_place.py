import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from removals.felling_input import Site
from removals.place import cone_half_deg, place_for, point_m, resolve, resolve_wind, retreat_bearings_deg
from tests.removals.felling_cases import tree, tree_with_site

bearings = st.floats(0, 360, exclude_max=True)


@given(bearings)
def test_retreat_lies_always_behind_and_never_straight_behind(lay_deg: float) -> None:
    for bearing in retreat_bearings_deg(lay_deg):
        forward = math.cos(math.radians(bearing - lay_deg))
        assert 0 <= bearing < 360
        assert forward == pytest.approx(-math.sqrt(0.5))


@given(bearings)
def test_the_two_retreats_lie_on_either_side(lay_deg: float) -> None:
    right, left = (math.sin(math.radians(bearing - lay_deg)) for bearing in retreat_bearings_deg(lay_deg))
    assert right > 0 > left


@given(st.floats(0, 5), bearings, bearings)
def test_resolved_parts_keep_the_amount(amount: float, toward_deg: float, lay_deg: float) -> None:
    against, right = resolve(amount, toward_deg, lay_deg)
    assert math.hypot(against, right) == pytest.approx(amount, abs=1e-9)


@pytest.mark.parametrize(("toward_deg", "against", "right"), [(90, -2, 0), (270, 2, 0), (180, 0, 2), (0, 0, -2)])
def test_lean_is_resolved_against_an_eastern_lay(toward_deg: float, against: float, right: float) -> None:
    assert resolve(2.0, toward_deg, 90.0) == pytest.approx((against, right), abs=1e-9)


@pytest.mark.parametrize(("from_deg", "against", "side"), [(90, 6, 0), (270, 0, 0), (0, 0, 6), (180, 0, 6)])
def test_wind_with_the_fall_is_never_counted_as_help(from_deg: float, against: float, side: float) -> None:
    assert resolve_wind(6.0, from_deg, 90.0) == pytest.approx((against, side), abs=1e-9)


@pytest.mark.parametrize(("error_deg", "half_deg"), [(0, 45), (10, 45), (15, 50)])
def test_danger_cone_grows_with_the_steering_error(error_deg: float, half_deg: float) -> None:
    assert cone_half_deg(error_deg) == half_deg


def test_place_of_the_invented_tree() -> None:
    place = place_for(tree_with_site(lay_deg=90.0, declination_deg=-12.0))
    assert place.drop_zone_m == pytest.approx(30.0)
    assert place.keep_clear_m == pytest.approx(16.5)
    assert place.top_distance_m == pytest.approx(14.2)
    assert place.top_point_m == pytest.approx((14.2, 0.0))
    assert place.top_side_m == pytest.approx(14.2 * math.sin(math.radians(10)) + 3)
    assert place.magnetic_lay_deg == pytest.approx(102.0)
    assert place.puller_least_m == pytest.approx(22.5)
    assert [retreat.bearing_deg for retreat in place.retreats] == [225.0, 315.0]


def test_retreat_ends_twenty_five_feet_from_the_stump() -> None:
    for retreat in place_for(tree_with_site(lay_deg=0.0)).retreats:
        assert math.hypot(*retreat.point_m) == pytest.approx(7.62)


def test_retreat_on_the_side_of_the_lean_is_flagged() -> None:
    right = place_for(tree(side_lean_m=0.4, site=Site(lay_deg=0.0)))
    left = place_for(tree(side_lean_m=-0.4, site=Site(lay_deg=0.0)))
    assert [retreat.lean_side for retreat in right.retreats] == [True, False]
    assert [retreat.lean_side for retreat in left.retreats] == [False, True]


def test_without_a_lay_there_are_no_bearings() -> None:
    place = place_for(tree())
    assert (place.lay_deg, place.magnetic_lay_deg, place.top_point_m, place.retreats) == (None, None, None, ())


def test_no_magnetic_bearing_without_a_declination() -> None:
    assert place_for(tree_with_site(lay_deg=90.0)).magnetic_lay_deg is None


def test_point_counts_clockwise_from_north() -> None:
    assert point_m(90.0, 10.0) == pytest.approx((10.0, 0.0))
    assert point_m(180.0, 10.0) == pytest.approx((0.0, -10.0))
