"""How a taxon fits a place, as a table that a reviewer can read."""

import pytest

from replanting.palette import Site, Traits, fit

OAK = Traits(3, 8, 18.0, "large", ("full",), ("medium", "wet"))
HAWTHORN = Traits(4, 7, 7.62, "small", ("full", "part"), ("dry", "medium"))
OPEN_LAWN = Site(6, 3.0, False, "full", "medium")
TREE_LAWN = Site(6, 1.2192, True, "part", "dry")
COLD = Site(2, None, None, "", "")
UNKNOWN = Site(None, None, None, "", "")

YES, NO, WHO_KNOWS = True, False, None


@pytest.mark.parametrize(
    ("site", "taxon", "zone", "space", "lines", "light", "moisture"),
    [
        (OPEN_LAWN, OAK, YES, YES, YES, YES, YES),
        (TREE_LAWN, OAK, YES, NO, NO, NO, NO),
        (TREE_LAWN, HAWTHORN, YES, YES, YES, YES, YES),
        (COLD, HAWTHORN, NO, WHO_KNOWS, WHO_KNOWS, WHO_KNOWS, WHO_KNOWS),
        (UNKNOWN, OAK, WHO_KNOWS, WHO_KNOWS, WHO_KNOWS, WHO_KNOWS, WHO_KNOWS),
    ],
)
def test_a_place_and_a_taxon(site, taxon, zone, space, lines, light, moisture):
    """Growing space 4, 6, 8 ft: Van Wert, Ohio, code §98.15. Trees of 25 ft at most under lines: a published utility limit."""
    assert [fact.fits for fact in fit(site, taxon)] == [zone, space, lines, light, moisture]


@pytest.mark.parametrize(("space_m", "fits"), [(1.2, True), (1.17, True), (1.15, False)])
def test_a_space_measured_in_metres_is_not_refused_for_a_rounding(space_m, fits):
    assert fit(Site(None, space_m, None, "", ""), HAWTHORN)[1].fits is fits


def test_each_fact_says_both_figures():
    words = [fact.words for fact in fit(TREE_LAWN, OAK)]
    assert words == [
        "hardy in zones 3 to 8; here: 6",
        "a large tree asks for 2.4 m of growing space; here: 1.2 m",
        "grows up to 18.0 m under overhead lines; 7.6 m at most",
        "asks for full light; here: part",
        "asks for medium or wet soil moisture; here: dry",
    ]


def test_lengths_are_written_in_the_readers_unit():
    assert "8 ft" in fit(TREE_LAWN, OAK, lambda m: f"{m / 0.3048:.0f} ft")[1].words
