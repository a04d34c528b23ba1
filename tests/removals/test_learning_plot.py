"""Dots of plans beside outcomes, held against the numbers that they stand for."""

import pytest

from removals.learning_plot import plot, x_of


def test_zero_is_in_the_middle_and_both_ends_are_as_far():
    assert x_of(0, 20) == pytest.approx((x_of(20, 20) + x_of(-20, 20)) / 2)


@pytest.mark.parametrize(("largest", "reach"), [(0.4, 0.5), (1.0, 1.0), (7, 10), (12, 20), (45, 50), (100, 100)])
def test_the_axis_ends_at_the_next_round_number(largest, reach):
    drawn = plot([("a", largest)], "°")
    assert drawn.ticks[-1].label == f"+{reach:g}°"
    assert drawn.dots[0].x <= drawn.ticks[-1].x


def test_a_dot_lies_where_its_number_lies_between_the_ticks():
    drawn = plot([("a", 5.0), ("b", -10.0)], " cm")
    left, half_left, zero, half_right, right = (tick.x for tick in drawn.ticks)
    assert [dot.x for dot in drawn.dots] == [half_right, left]
    assert zero == drawn.zero
    assert right - zero == pytest.approx(zero - left)
    assert half_left < zero


def test_the_band_holds_exactly_the_dots_within_it():
    drawn = plot([("in", 9.0), ("out", -11.0)], "°", band=10.0)
    left, width = drawn.band
    assert [left <= dot.x <= left + width for dot in drawn.dots] == [True, False]
    assert [dot.outside for dot in drawn.dots] == [False, True]


def test_rows_stand_below_each_other_inside_the_drawing():
    drawn = plot([(str(n), float(n)) for n in range(5)], "°")
    heights = [dot.y for dot in drawn.dots]
    assert heights == sorted(heights)
    assert drawn.top < heights[0]
    assert heights[-1] < drawn.foot < drawn.height
