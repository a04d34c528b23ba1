"""Metres around a stump, against another projection of PROJ and the ellipsoid's own figures."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Transformer

from removals.surroundings import Box, box_around, local_points_m, position_at

ALDERQUAY = (-40.2229960, 45.4023093)
stumps = st.tuples(st.floats(-179, 179), st.floats(-75, 75))
offsets = st.tuples(st.floats(-300, 300), st.floats(-300, 300))


@given(stumps, offsets)
def test_there_and_back(stump, point):
    (back,) = local_points_m(stump, [position_at(stump, point)])
    assert back == pytest.approx(point, abs=1e-4)


@given(offsets)
def test_an_azimuthal_equidistant_map_says_the_same(point):
    """PROJ's own azimuthal equidistant projection about the stump, another code path."""
    lon, lat = ALDERQUAY
    to_map = Transformer.from_crs("EPSG:4326", f"+proj=aeqd +lat_0={lat} +lon_0={lon} +ellps=WGS84", always_xy=True)
    assert to_map.transform(*position_at(ALDERQUAY, point)) == pytest.approx(point, abs=1e-3)


def test_one_second_of_latitude_at_the_equator():
    """The WGS 84 meridian there: a (1 − e²) times the angle, 30.715 m a second."""
    a, e2 = 6_378_137.0, 0.00669437999014
    ((east, north),) = local_points_m((0.0, 0.0), [(0.0, 1 / 3600)])
    assert (east, north) == pytest.approx((0.0, a * (1 - e2) * math.radians(1 / 3600)), abs=1e-4)


def test_across_the_180th_meridian_it_is_near():
    ((east, north),) = local_points_m((179.9999, 0.0), [(-179.9999, 0.0)])
    assert (east, north) == pytest.approx((22.26, 0.0), abs=0.01)


def test_no_positions_no_points():
    assert local_points_m(ALDERQUAY, []) == ()


@given(stumps, st.floats(1, 300), st.floats(0, 360))
def test_a_box_holds_every_position_within_the_radius(stump, radius_m, bearing_deg):
    box = box_around(stump, radius_m)
    angle = math.radians(bearing_deg)
    lon, lat = position_at(stump, (radius_m * math.sin(angle), radius_m * math.cos(angle)))
    assert box.south <= lat <= box.north
    assert any(part.west <= lon <= part.east for part in box.parts)


def test_a_box_is_little_wider_than_its_circle():
    box = box_around(ALDERQUAY, 100.0)
    (corner,) = local_points_m(ALDERQUAY, [(box.east, box.north)])
    assert corner == pytest.approx((100.1, 100.1), abs=0.01)


def test_a_box_across_the_180th_meridian_has_two_parts():
    box = box_around((179.9999, 0.0), 50.0)
    assert box.west > box.east
    assert box.parts == (Box(box.west, box.south, 180.0, box.north), Box(-180.0, box.south, box.east, box.north))


@pytest.mark.parametrize("lat", [89.99999, -90.0])
def test_no_box_near_a_pole(lat):
    with pytest.raises(ValueError, match="pole"):
        box_around((0.0, lat), 100.0)
