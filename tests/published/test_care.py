"""Water and losses against figures in print and reference libraries."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from replanting.care import A_GEORGIA, B_MINNESOTA, C_FLORIDA, months_to_establish
from replanting.survival import wilson

GAL_L = 3.785411784
IN_CM = 2.54


@pytest.mark.parametrize(
    ("rule", "low_gal", "high_gal"),
    [
        # A, Georgia: 5 to 7.5 US gallons per inch of caliper a week. B, Minnesota: 1 to 1.5. C, Florida: 2 to 3. Read.
        (A_GEORGIA, 10, 15),
        (B_MINNESOTA, 2, 3),
        (C_FLORIDA, 4, 6),
    ],
)
def test_water_for_a_caliper_of_two_inches(rule, low_gal, high_gal):
    assert rule.litres(2 * IN_CM) == pytest.approx((low_gal * GAL_L, high_gal * GAL_L))


@pytest.mark.parametrize(("zone", "months"), [(2, 12), (6, 12), (7, 6), (8, 6), (9, 3), (11, 3)])
def test_months_to_establish_an_inch_of_caliper(zone, months):
    """University of Florida: 3 months per inch in zones 9 to 11, 6 in 7 to 8, 12 in 2 to 6; read."""
    assert months_to_establish(zone, IN_CM) == pytest.approx(months)


@pytest.mark.parametrize("zone", [1, 12, 13, None])
def test_where_the_rule_does_not_speak_it_is_not_stretched(zone):
    assert months_to_establish(zone, IN_CM) is None


@given(of=st.integers(1, 5000), share=st.floats(0, 1))
def test_wilsons_interval_is_the_one_of_scipy(of, share):
    """Reference library: scipy.stats.binomtest(...).proportion_ci(method="wilson")."""
    hits = round(of * share)
    theirs = binomtest(hits, of).proportion_ci(0.95, method="wilson")
    found = wilson(hits, of)
    assert (found.low, found.high) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


def test_wilsons_interval_in_print():
    """Newcombe (1998), Statistics in Medicine 17: method 3 gives 0.0061 to 0.1718 for 1 of 29 and 0.0 to 0.1611 for 0 of 20;
    from memory."""
    assert (wilson(1, 29).low, wilson(1, 29).high) == pytest.approx((0.0061, 0.1718), abs=1e-4)
    assert (wilson(0, 20).low, wilson(0, 20).high) == pytest.approx((0, 0.1611), abs=1e-4)


@pytest.mark.parametrize(("hits", "of"), [(1, 0), (-1, 5), (6, 5)])
def test_what_is_no_share_is_refused(hits, of):
    with pytest.raises(ValueError, match="is no share"):
        wilson(hits, of)
