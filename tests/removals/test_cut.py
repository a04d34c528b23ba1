import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from removals.cut import NotchKind, back_cut_height_m, cut_geometry, dbh_factor, face_heights_m, hinge_length_m

shares = st.floats(0.20, 1 / 3)


def test_cut_of_the_invented_tree() -> None:
    cut = cut_geometry(NotchKind.CONVENTIONAL, 0.36, 1 / 3, 0.10, 60.0)
    assert cut.notch_depth_m == pytest.approx(0.12)
    assert cut.hinge_thickness_m == pytest.approx(0.036)
    assert cut.back_cut_m == pytest.approx(0.204)
    assert cut.stem_behind_hinge_m == pytest.approx(0.042)


@given(shares, st.floats(0.10, 0.15), st.floats(0.15, 1.0))
def test_notch_hinge_and_back_cut_make_up_the_diameter(notch: float, hinge: float, diameter_m: float) -> None:
    cut = cut_geometry(NotchKind.OPEN_FACE, diameter_m, notch, hinge, 90.0)
    assert cut.notch_depth_m + cut.hinge_thickness_m + cut.back_cut_m == pytest.approx(diameter_m)


@given(shares, st.floats(0.15, 1.0), st.floats(0.1, 10.0))
def test_lengths_scale_with_the_stem(notch: float, diameter_m: float, scale: float) -> None:
    once = hinge_length_m(diameter_m, notch * diameter_m)
    assert hinge_length_m(scale * diameter_m, notch * scale * diameter_m) == pytest.approx(scale * once)


def test_chord_is_the_distance_of_two_points_on_the_circle() -> None:
    half_angle = math.acos((0.18 - 0.12) / 0.18)
    assert hinge_length_m(0.36, 0.12) == pytest.approx(2 * 0.18 * math.sin(half_angle))


def test_notch_to_the_centre_has_the_whole_diameter_as_hinge_length() -> None:
    assert hinge_length_m(0.36, 0.18) == pytest.approx(0.36)


@pytest.mark.parametrize("notch_m", [-0.01, 0.37])
def test_notch_outside_the_stem_is_refused(notch_m: float) -> None:
    with pytest.raises(ValueError, match="deeper"):
        hinge_length_m(0.36, notch_m)


def test_notch_and_hinge_must_leave_a_back_cut() -> None:
    with pytest.raises(ValueError, match="back cut"):
        cut_geometry(NotchKind.HUMBOLDT, 0.36, 0.9, 0.1, 45.0)


def test_conventional_notch_slopes_above_the_level_floor() -> None:
    assert face_heights_m(NotchKind.CONVENTIONAL, 0.10, 45.0) == pytest.approx((0.10, 0.0))


def test_humboldt_notch_slopes_below_the_level_roof() -> None:
    assert face_heights_m(NotchKind.HUMBOLDT, 0.10, 45.0) == pytest.approx((0.0, 0.10))


def test_open_face_slopes_both_ways_with_20_degrees_below() -> None:
    cut = cut_geometry(NotchKind.OPEN_FACE, 0.36, 1 / 3, 0.1, 70.0)
    assert cut.face_height_below_m == pytest.approx(0.12 * math.tan(math.radians(20)))
    assert cut.face_height_m == pytest.approx(0.1867, abs=5e-5)


@pytest.mark.parametrize(("diameter_m", "height_m"), [(0.20, 0.03), (0.36, 0.036), (0.80, 0.08)])
def test_back_cut_stands_a_tenth_and_three_centimetres_above_the_level_cut(diameter_m: float, height_m: float) -> None:
    assert back_cut_height_m(NotchKind.CONVENTIONAL, diameter_m) == pytest.approx(height_m)


def test_open_face_back_cut_meets_the_apex() -> None:
    assert back_cut_height_m(NotchKind.OPEN_FACE, 0.36) == 0.0


@pytest.mark.parametrize(("cut_height_m", "factor"), [(0.8, 1.10), (1.37, 1.10), (1.4, 1.00)])
def test_stem_is_thicker_below_breast_height(cut_height_m: float, factor: float) -> None:
    assert dbh_factor(cut_height_m) == factor
