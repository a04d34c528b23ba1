"""How many trees are owed: forms of replacement as they stand in print (general wording of municipal codes, read)."""

import math

import pytest

from inventory.units import CM_PER_IN
from replanting.owed import BASAL, CLASSES, HALF, INCH, PRINTED, RATIO, TABLE, Removed, Row, Rule, basal_units, count


def trees(form: str, inches: float, **more: float) -> int:
    return count(Rule(form, PRINTED[form], **more), Removed(inches * CM_PER_IN)).trees


@pytest.mark.parametrize(
    ("inches", "owed"), [(6, 1), (12.9, 1), (13, 2), (22.9, 2), (23, 3), (32.9, 3), (33, 4), (60, 4)]
)
def test_trees_by_diameter_class(inches, owed):
    """6–12.9 in → 1, 13–22.9 → 2, 23–32.9 → 3, 33 and more → 4."""
    assert trees(CLASSES, inches) == owed


def test_a_city_may_begin_its_smallest_class_at_2_and_a_half_inches():
    """2.5 or 6 in, by the code; the program's promise of one holds below either."""
    rows = (Row(2.5 * CM_PER_IN, 1), *PRINTED[CLASSES][1:])
    assert count(Rule(CLASSES, rows), Removed(2.5 * CM_PER_IN)).words.startswith("6.3 cm (2.5 in), the class from")


TABLE_IN_PRINT = (
    *((2, 3, 1), (4, 6, 2), (7, 12, 4), (13, 18, 6), (19, 24, 8)),
    *((25, 30, 10), (31, 36, 12), (37, 42, 14), (43, 48, 16), (49, 60, 20)),
)


@pytest.mark.parametrize(("low", "high", "owed"), TABLE_IN_PRINT)
def test_trees_by_a_table_of_inches(low, high, owed):
    """So many of 2 in, half as many of 4 in."""
    assert trees(TABLE, low) == trees(TABLE, high) == owed
    assert trees(TABLE, low, stock_cm=4 * CM_PER_IN) == math.ceil(owed / 2)


@pytest.mark.parametrize(("inches", "owed_in"), [(5, 2.5), (15, 15), (25, 50)])
def test_inches_by_a_ratio_for_each_class(inches, owed_in):
    """0.5:1, 1:1 and 2:1; the edges of the classes are this program's example."""
    found = count(Rule(RATIO, PRINTED[RATIO]), Removed(inches * CM_PER_IN))
    assert found.cm == pytest.approx(owed_in * CM_PER_IN)
    assert found.trees == math.ceil(owed_in / 2)


def test_inch_for_inch_and_half_of_the_inches():
    whole, half = (count(Rule(form, PRINTED[form]), Removed(20 * CM_PER_IN)) for form in (INCH, HALF))
    assert (whole.cm, whole.trees) == (pytest.approx(20 * CM_PER_IN), 10)
    assert (half.cm, half.trees) == (pytest.approx(10 * CM_PER_IN), 5)


def test_a_unit_of_basal_area_is_a_square_foot_or_a_stem_of_13_and_a_half_inches():
    """1 unit = 1 ft² = 13.54 in."""
    assert basal_units(13.54 * CM_PER_IN) == pytest.approx(1, abs=5e-4)
    assert [trees(BASAL, inches) for inches in (13.5, 13.6, 27)] == [1, 2, 4]
