"""The watch against a table computed with SciPy's own tests, count by count.

Sources: scipy.stats.binomtest, fisher_exact and false_discovery_control are the reference.
Ordinary rates of street trees: Roman & Scatena 2011 (read).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest, false_discovery_control, fisher_exact

from hazards.mortality import Compared, Count, Test, by_park, by_species

# Of the city (N, D), of the count (n, k): rate elsewhere, ratio, p, q over the eight.
CITY = {"Fraxinus": (1180, 38), "Quercus": (980, 10), "Tilia": (1420, 17), "Acer": (2950, 44)}
TABLE = [
    ("Fraxinus", 64, 11, 0.024194, 7.1042, 3.78513e-07, 3.0281e-06),
    ("Quercus", 40, 3, 0.007447, 10.0714, 0.00332114, 0.0132845),
    ("Tilia", 55, 3, 0.010256, 5.3182, 0.0190481, 0.0507948),
    ("Acer", 210, 6, 0.013869, 2.0602, 0.0739614, 0.147923),
    ("Fraxinus", 120, 4, 0.032075, 1.0392, 0.539304, 0.799175),
    ("Quercus", 90, 1, 0.010112, 1.0988, 0.599381, 0.799175),
    ("Acer", 85, 1, 0.015009, 0.7839, 0.723463, 0.826815),
    ("Tilia", 30, 0, 0.012230, 0, 1, 1),
]


def in_the_city(rows: list[tuple[str, int, int]]) -> list[Count]:
    """The counts, and for each genus a last park that makes up the city."""
    counts = [Count(genus, trees, deaths, park=f"P{number}") for number, (genus, trees, deaths) in enumerate(rows)]
    for genus, (trees, deaths) in CITY.items():
        mine = [count for count in counts if count.species == genus]
        others = trees - sum(count.trees for count in mine), deaths - sum(count.deaths for count in mine)
        counts.append(Count(genus, *others, park="rest"))
    return counts


@pytest.mark.parametrize(("genus", "trees", "deaths", "rate", "ratio", "p", "q"), TABLE)
def test_rate_ratio_and_p_of_the_table(genus, trees, deaths, rate, ratio, p, q):
    found = by_park(in_the_city([(genus, trees, deaths)]), fisher_below=0)
    (row,) = [each for each in found if each.count.park == "P0"]
    assert (row.rest.rate, row.ratio, row.p) == pytest.approx((rate, ratio, p), rel=1e-4)


def test_the_correction_is_over_all_comparisons():
    found = by_park(in_the_city([row[:3] for row in TABLE]), fisher_below=0)
    assert len(found) == 12
    assert [each.q for each in found] == pytest.approx(list(false_discovery_control([each.p for each in found])))


def test_q_of_the_table():
    assert list(false_discovery_control([row[5] for row in TABLE])) == pytest.approx(
        [row[6] for row in TABLE], rel=1e-4
    )


def test_a_die_off_is_flagged_and_ordinary_parks_are_not():
    found = by_park(in_the_city([row[:3] for row in TABLE]), fisher_below=0)
    assert [(each.count.species, each.count.trees) for each in found if each.flagged] == [
        ("Fraxinus", 64),
        ("Quercus", 40),
    ]


counted = st.tuples(st.integers(1, 300), st.integers(0, 40)).filter(lambda pair: pair[1] <= pair[0])


@given(counted, counted)
def test_each_p_is_that_of_scipys_tests(here, elsewhere):
    (n, k), (rest_n, rest_k) = here, elsewhere
    found = by_park([Count("Ulmus", n, k, park="A"), Count("Ulmus", rest_n, rest_k, park="B")])
    (row,) = [each for each in found if each.count.park == "A"]
    if row.test is Test.BINOMIAL:
        expected = binomtest(k, n, rest_k / rest_n, alternative="greater").pvalue
    else:
        expected = fisher_exact([[k, n - k], [rest_k, rest_n - rest_k]], alternative="greater").pvalue
    assert row.p == pytest.approx(expected, rel=1e-9, abs=1e-12)
    assert (row.test is Test.BINOMIAL) == (k + rest_k >= 30 and rest_k > 0)


@given(counted, counted)
def test_the_interval_is_that_of_clopper_and_pearson(here, elsewhere):
    (n, k), (rest_n, rest_k) = here, elsewhere
    row: Compared = by_park([Count("Ulmus", n, k, park="A"), Count("Ulmus", rest_n, max(1, rest_k), park="B")])[0]
    if row.ratio is not None:
        interval = binomtest(row.count.deaths, row.count.trees).proportion_ci(0.95, method="exact")
        found = row.ratio_low * row.rest.rate, row.ratio_high * row.rest.rate
        assert found == pytest.approx((interval.low, interval.high), rel=1e-9, abs=1e-12)


def test_a_die_off_in_every_park_shows_in_the_species_of_the_city():
    ash = [Count("Fraxinus", 100, 20, park=park) for park in "ABC"]
    others = [Count(genus, 100, 2, park=park) for genus in ("Acer", "Tilia") for park in "ABC"]
    assert not any(each.flagged for each in by_park([*ash, *others]))
    assert [each.count.species for each in by_species([*ash, *others]) if each.flagged] == ["Fraxinus"]


@pytest.mark.parametrize("rate", [0.035, 0.051])
def test_twice_an_ordinary_rate_is_flagged_only_among_enough_trees(rate):
    """Roman & Scatena 2011: 3.5 to 5.1 % of street trees die a year."""
    ordinary = Count("Acer", 10_000, round(10_000 * rate), park="rest")
    few, many = (Count("Acer", trees, round(2.2 * trees * rate), park="here") for trees in (30, 1_000))
    assert [by_park([ordinary, count])[0].flagged for count in (few, many)] == [False, True]
