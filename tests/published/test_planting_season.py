"""Planting windows against a printed guide.

Iowa State University Extension (2011), read: balled and burlapped and container trees go in the ground in spring, or from
late summer to early November; evergreens by early October; bare root while dormant, in early spring.
"""

import datetime as dt

import pytest

from replanting.season import BALLED, BARE_ROOT, CONTAINER, Kind, window_around

MAPLE, SPRUCE = Kind("Acer"), Kind("Picea", evergreen=True)


@pytest.mark.parametrize("stock", [BALLED, CONTAINER])
@pytest.mark.parametrize("zone", [4, 5])
@pytest.mark.parametrize(
    ("kind", "day", "fits"),
    [
        (MAPLE, (5, 1), True),
        (MAPLE, (7, 20), False),
        (MAPLE, (9, 10), True),
        (MAPLE, (11, 1), True),
        (MAPLE, (11, 20), False),
        (SPRUCE, (9, 10), True),
        (SPRUCE, (10, 20), False),
    ],
)
def test_spring_or_late_summer_to_early_november(stock, zone, kind, day, fits):
    assert (window_around(stock, zone, dt.date(2026, *day), kind) is not None) == fits


@pytest.mark.parametrize(("day", "fits"), [((4, 10), True), ((9, 10), False)])
def test_bare_root_in_early_spring_only(day, fits):
    assert (window_around(BARE_ROOT, 5, dt.date(2026, *day), MAPLE) is not None) == fits
