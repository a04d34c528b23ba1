import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import circmean

from removals.steering import Outcome, covering, mean_on_circle_deg, signed_error_deg, steering

bearings = st.floats(0, 360, exclude_max=True)


def outcomes(*errors_deg: float) -> list[Outcome]:
    return [Outcome(f"2026-{n:04d}", 350.0, (350.0 + error) % 360) for n, error in enumerate(errors_deg)]


@pytest.mark.parametrize(
    ("planned", "actual", "error"),
    [(10, 14, 4), (350, 5, 15), (5, 350, -15), (0, 180, 180), (180, 0, 180), (90, 90, 0), (0, 181, -179)],
)
def test_an_error_takes_the_short_way_round(planned, actual, error):
    assert signed_error_deg(planned, actual) == error


@given(bearings, bearings, bearings)
def test_turning_both_bearings_keeps_the_error(planned, actual, turn):
    before = signed_error_deg(planned, actual)
    after = signed_error_deg(planned + turn, actual + turn)
    assert math.cos(math.radians(after - before)) == pytest.approx(1.0)


@given(st.lists(st.floats(-80, 80), min_size=1, max_size=30))
def test_the_mean_is_the_circular_mean_of_scipy(errors):
    expected = math.degrees(circmean([math.radians(each) for each in errors], high=math.pi, low=-math.pi))
    assert mean_on_circle_deg(errors) == pytest.approx(expected, abs=1e-6)


def test_no_mean_without_errors_or_when_they_cancel_out():
    assert mean_on_circle_deg([]) is None
    assert mean_on_circle_deg([90.0, -90.0, 0.0, 180.0]) is None


def test_the_covering_error_is_an_order_statistic():
    assert covering([-3.0, 2.0, 1.0]) == 3.0
    assert covering([float(n) for n in range(1, 20)]) == 19.0  # 0.95 times 20 is rank 19 of 19
    assert covering([float(n) for n in range(1, 41)]) == 39.0  # 0.95 times 41 is 38.95: rank 39 of 40
    assert covering([float(n) for n in range(1, 100)]) == 95.0


def test_the_covering_error_covers_the_next_felling_in_95_of_100_cases():
    """Every one of n + 1 exchangeable errors is equally likely to come last: counted over all of them."""
    errors = [n**1.5 - 150.0 for n in range(60)]
    held = sum(abs(last) <= covering([*errors[:n], *errors[n + 1 :]]) for n, last in enumerate(errors))
    assert held / len(errors) >= 0.95


def test_without_outcomes_the_default_holds():
    known = steering([])
    assert (known.count, known.mean_deg, known.covering_deg, known.error_deg) == (0, None, None, 10.0)
    assert known.sentence.startswith("10° to either side: 0 of the 12 outcomes")


def test_few_outcomes_never_narrow_the_default_and_may_widen_it():
    assert steering(outcomes(*[2.0] * 11)).error_deg == 10.0
    assert steering(outcomes(*[2.0] * 10, -14.0)).error_deg == pytest.approx(14.0)
    assert "until then it is never under 10°" in steering(outcomes(1.0)).sentence


def test_twelve_outcomes_make_the_city_s_own_error():
    known = steering(outcomes(*[6.0, -7.0] * 6))
    assert known.error_deg == pytest.approx(7.0)
    assert known.mean_deg == pytest.approx(-0.5, abs=0.01)
    assert known.sentence.startswith("7° to either side: 95 % of this city's 12 known fellings")


def test_it_is_never_narrower_than_a_compass_is_read():
    assert steering(outcomes(*[0.0] * 40)).error_deg == 5.0


def test_a_default_of_the_city_is_kept():
    assert steering(outcomes(1.0), default_deg=15.0).error_deg == 15.0


def test_plot_rows_lie_beside_their_plan():
    known = steering(outcomes(15.0, -3.0))
    first, second = known.rows
    assert (first.planned_deg, first.actual_deg, first.error_deg, first.within) == (350.0, 365.0, 15.0, True)
    assert second.actual_deg == 347.0
    wild = steering(outcomes(*[1.0] * 40, 90.0))
    assert (wild.rows[-1].within, wild.rows[0].within) == (False, True)
