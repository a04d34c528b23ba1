"""How a taxon fits a place, one fact a line."""

import math

import pytest

from replanting.fit import SPACE_3_5_8, Grade, Rules, Site, Traits, fit, suits

OAK = Traits(
    *("Quercus bicolor", "Quercus", "Fagaceae", 3, 8, 15.0, 18.0, 18.0, "large", ("full",), ("medium", "wet")),
    *("high", "medium", 4.3, 6.5, "medium"),
)
HAWTHORN = Traits(
    *("Crataegus", "Crataegus", "Rosaceae", 4, 7, 6.1, 7.62, 7.62, "small", ("full", "part"), ("dry", "medium")),
    *("low", "high", 4.5, 7.2, "low"),
)
UNSAID = Traits("Nomen nudum", "Nomen", "")
YES, FAIR, NO, WHO_KNOWS = Grade.GOOD, Grade.FAIR, Grade.POOR, Grade.UNKNOWN

LAWN = Site(6, 3.0, math.inf, "full", ("medium",))
TREE_LAWN = Site(6, 1.2192, 0.0, "part", ("dry",))
COLD = Site(2)
DARK_AND_WET = Site(6, 3.0, math.inf, "shade", ("wet",))
ROADSIDE = Site(6, 3.0, math.inf, "full", ("medium",), ph=7.5, salt="high", view_m=8.0)


@pytest.mark.parametrize(
    ("site", "taxon", "zone", "space", "wires", "light", "moisture", "ph", "salt", "view"),
    [
        (LAWN, OAK, YES, YES, YES, YES, YES, WHO_KNOWS, WHO_KNOWS, WHO_KNOWS),
        (TREE_LAWN, OAK, YES, NO, NO, FAIR, FAIR, WHO_KNOWS, WHO_KNOWS, WHO_KNOWS),
        (TREE_LAWN, HAWTHORN, YES, YES, YES, YES, YES, WHO_KNOWS, WHO_KNOWS, WHO_KNOWS),
        (COLD, HAWTHORN, NO, *[WHO_KNOWS] * 7),
        (DARK_AND_WET, OAK, YES, YES, YES, NO, YES, WHO_KNOWS, WHO_KNOWS, WHO_KNOWS),
        (DARK_AND_WET, HAWTHORN, YES, YES, YES, FAIR, NO, WHO_KNOWS, WHO_KNOWS, WHO_KNOWS),
        (ROADSIDE, OAK, YES, YES, YES, YES, YES, NO, FAIR, NO),
        (ROADSIDE, HAWTHORN, YES, YES, YES, YES, YES, FAIR, NO, YES),
        (Site(), OAK, *[WHO_KNOWS] * 8),
        (Site(6, 3.0, 0.0, "full", ("dry",), 6.5, "low", 5.0), UNSAID, *[WHO_KNOWS] * 8),
    ],
)
def test_a_place_and_a_taxon(site, taxon, zone, space, wires, light, moisture, ph, salt, view):
    """Growing space 4, 6, 8 ft: Van Wert, Ohio, code §98.15."""
    assert [fact.grade for fact in fit(site, taxon)] == [zone, space, wires, light, moisture, ph, salt, view]


def test_a_taxon_suits_a_place_when_no_known_fact_is_poor():
    assert suits(TREE_LAWN, HAWTHORN)
    assert not suits(TREE_LAWN, OAK)
    assert suits(Site(), UNSAID)


@pytest.mark.parametrize(("space_m", "grade"), [(1.2, YES), (1.17, YES), (1.15, NO)])
def test_a_space_measured_in_metres_is_not_refused_for_a_rounding(space_m, grade):
    assert fit(Site(space_m=space_m), HAWTHORN)[1].grade is grade


def test_another_citys_growing_space_for_small_trees():
    assert fit(Site(space_m=0.95), HAWTHORN, Rules(space=SPACE_3_5_8))[1].grade is YES


def test_a_soil_that_swings_is_judged_by_its_worse_end():
    assert fit(Site(moisture=("wet", "dry")), OAK)[4].grade is FAIR
    assert fit(Site(moisture=("wet", "dry")), HAWTHORN)[4].grade is NO


def test_each_fact_says_both_figures():
    words = [fact.words for fact in fit(TREE_LAWN, OAK)]
    assert words[:5] == [
        "hardy in zones 3 to 8; here: 6",
        "a large tree asks for 2.4 m of growing space; here: 1.2 m",
        "grows up to 18.0 m under overhead lines; 7.6 m at most",
        "asks for full light; here: part",
        "asks for medium or wet soil; here: dry (drought tolerance medium)",
    ]


def test_lengths_are_written_in_the_readers_unit():
    assert "8 ft" in fit(TREE_LAWN, OAK, length=lambda m: f"{m / 0.3048:.0f} ft")[1].words
