"""Slenderness, lean, live crown and lost roots against the lines that sources draw.

Sources (as the trade's notes give them, read there): Wonn & O'Hara 2001 (80 for conifers); USFS guide to hazard rating codes
(roots lost under and over 40 %; a lean with recent root breakage is high). From memory of common practice: live crown 30 %,
critical radius 1 ft for each inch of diameter, 1.5 ft when old or stressed.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hazards.tree_form import critical_root_radius_m, lean, live_crown_ratio, roots_lost, slenderness

M_PER_FT, CM_PER_IN = 0.3048, 2.54


@pytest.mark.parametrize(
    ("height_m", "dbh_cm", "conifer", "value", "flagged"),
    [
        (24.0, 30.0, True, 80.0, False),  # on the line, not over it
        (24.3, 30.0, True, 81.0, True),
        (24.3, 30.0, False, 81.0, False),  # no number holds for broadleaves in cities
        (10.0, 50.0, True, 20.0, False),
    ],
)
def test_over_80_is_a_flag_for_conifers_alone(height_m, dbh_cm, conifer, value, flagged):
    found = slenderness(height_m, dbh_cm, conifer=conifer)
    assert (found.value, bool(found.flag)) == (pytest.approx(value), flagged)


@given(st.floats(2, 60), st.floats(5, 200))
def test_slenderness_does_not_depend_on_the_unit(height_m, dbh_cm):
    in_feet = (height_m / M_PER_FT) / (dbh_cm / CM_PER_IN / 12)
    assert slenderness(height_m, dbh_cm, conifer=True).value == pytest.approx(in_feet)


@given(st.floats(0, 90))
def test_no_angle_alone_raises_a_flag(angle):
    assert lean(angle, soil_lifted=False).flag == ""


def test_a_lean_whose_roots_gave_way_is_high_whatever_its_angle():
    assert lean(3, soil_lifted=True).flag == "A lean with lifted soil or torn roots: high, whatever its angle."


@pytest.mark.parametrize(
    ("share", "words"), [(0.0, ""), (0.1, "moderate."), (0.40, "moderate."), (0.41, "high, over 40 %.")]
)
def test_roots_lost_by_the_usfs_guide(share, words):
    assert roots_lost(share).flag.endswith(words)
    assert bool(roots_lost(share).flag) == bool(words)


@pytest.mark.parametrize(("share", "flagged"), [(0.29, True), (0.30, False), (1.0, False)])
def test_a_live_crown_under_three_tenths_is_a_flag(share, flagged):
    assert bool(live_crown_ratio(share).flag) is flagged


@pytest.mark.parametrize("inches", [4, 10, 36])
def test_the_critical_radius_is_a_foot_for_each_inch(inches):
    assert critical_root_radius_m(inches * CM_PER_IN) == pytest.approx(inches * M_PER_FT)
    assert critical_root_radius_m(inches * CM_PER_IN, old_or_stressed=True) == pytest.approx(1.5 * inches * M_PER_FT)


@pytest.mark.parametrize(
    ("refused", "sentence"),
    [
        (lambda: slenderness(0.5, 30, conifer=True), "The height is 0.5 m; it lies from 1.4 to 130 m."),
        (lambda: slenderness(20, 0, conifer=True), "The diameter is 0 cm"),
        (lambda: slenderness(float("nan"), 30, conifer=True), "The height is nan m"),
        (lambda: lean(91, soil_lifted=False), "The lean is 91°; it lies from 0 to 90° from upright."),
        (lambda: live_crown_ratio(1.2), "The live crown is 1.2 of the height"),
        (lambda: roots_lost(-0.1), "The roots lost are -0.1 of those near the stem"),
        (lambda: critical_root_radius_m(600), "The diameter is 600 cm"),
    ],
)
def test_outside_its_bounds_each_is_refused_in_a_sentence(refused, sentence):
    with pytest.raises(ValueError, match=sentence.replace(".", r"\.")):
        refused()
