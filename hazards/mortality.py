"""Where trees of a kind die more often than elsewhere, and whether chance alone would explain it.

A count is compared with the rest of its kind: one species in one park with the same species in the other parks, one species
of the city with all other species. Of the rest R trees and E deaths:

* rate elsewhere p0 = E/R, the count itself left out;
* p: of n trees at that rate, k or more dead: exact binomial test, one-sided; with fewer than 30 deaths in both together, or
  none elsewhere, Fisher's exact test, for then p0 itself is uncertain;
* ratio k/(n p0), the standardised mortality ratio, with the exact interval of k/n (Clopper & Pearson 1934) over p0;
* q: p corrected for the number of comparisons (Benjamini & Hochberg 1995);
* flagged: q <= 0.05 and k >= 3 and ratio >= 2.

Young plantings die at rates of their own and are compared with young plantings only. SciPy computes the distributions.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any

YOUNG_YEARS = 5
Q_LINE, LEAST_DEATHS, RATIO_LINE = 0.05, 3, 2.0
FISHER_BELOW = 30
CONFIDENCE = 0.95


class Test(Enum):
    """The test by which a count was compared; the value is its name in a sentence."""

    __test__ = False

    BINOMIAL = "exact binomial test"
    FISHER = "Fisher's exact test"


@dataclass(frozen=True)
class Count:
    """Trees of one species that stood alive in one park, and how many of them died; no park: the whole city."""

    species: str
    trees: int
    deaths: int
    young: bool = False
    park: str = ""

    def __post_init__(self) -> None:
        if not 0 <= self.deaths <= self.trees:
            raise ValueError(f"{self.deaths} deaths among {self.trees} trees; deaths lie between 0 and the trees.")


@dataclass(frozen=True)
class Rest:
    """What a count is compared with."""

    trees: int
    deaths: int

    @property
    def rate(self) -> float:
        return self.deaths / self.trees


@dataclass(frozen=True)
class Compared:
    """One comparison; ``ratio`` and its interval are None where nothing died elsewhere."""

    count: Count
    rest: Rest
    test: Test
    p: float
    q: float
    ratio: float | None
    ratio_low: float | None
    ratio_high: float | None

    @property
    def expected(self) -> float:
        return self.count.trees * self.rest.rate

    @property
    def flagged(self) -> bool:
        many = self.ratio is None or self.ratio >= RATIO_LINE
        return self.q <= Q_LINE and self.count.deaths >= LEAST_DEATHS and many


def by_park(counts: Sequence[Count], *, fisher_below: int = FISHER_BELOW) -> list[Compared]:
    """Each species in each park against the same species in the other parks; what grows in one park only is left out."""
    return _compared(counts, lambda count: (count.species, count.young), fisher_below)


def by_species(counts: Sequence[Count], *, fisher_below: int = FISHER_BELOW) -> list[Compared]:
    """Each species of the city against all others, so that a die-off in every park is not hidden."""
    whole: dict[tuple[str, bool], list[Count]] = defaultdict(list)
    for count in counts:
        whole[count.species, count.young].append(count)
    city = [_sum(species, young, each) for (species, young), each in whole.items()]
    return _compared(city, lambda count: count.young, fisher_below)


def _sum(species: str, young: bool, counts: Iterable[Count]) -> Count:
    counts = list(counts)
    return Count(species, sum(count.trees for count in counts), sum(count.deaths for count in counts), young)


def _compared(counts: Sequence[Count], kind: Callable[[Count], object], fisher_below: int) -> list[Compared]:
    """The most improbable first; ties by more deaths, then by name."""
    totals: dict[object, tuple[int, int]] = defaultdict(lambda: (0, 0))
    for count in counts:
        trees, deaths = totals[kind(count)]
        totals[kind(count)] = trees + count.trees, deaths + count.deaths
    pairs = [(count, _rest(count, *totals[kind(count)])) for count in counts if count.trees]
    found = _tested([(count, rest) for count, rest in pairs if rest.trees], fisher_below)
    return sorted(found, key=lambda each: (each.p, -each.count.deaths, each.count.species, each.count.park))


def _rest(count: Count, trees: int, deaths: int) -> Rest:
    return Rest(trees - count.trees, deaths - count.deaths)


def _tested(pairs: Sequence[tuple[Count, Rest]], fisher_below: int) -> list[Compared]:
    if not pairs:
        return []
    # Loaded here: it takes a second or two, and few processes ever ask.
    from scipy.stats import false_discovery_control

    tests = [_test(count, rest, fisher_below) for count, rest in pairs]
    p_values = _p_values(pairs, tests)
    q_values = false_discovery_control(p_values, method="bh")
    return [
        Compared(count, rest, test, float(p), float(q), *_ratio(count, rest))
        for (count, rest), test, p, q in zip(pairs, tests, p_values, q_values, strict=True)
    ]


def _test(count: Count, rest: Rest, fisher_below: int) -> Test:
    few = count.deaths + rest.deaths < fisher_below
    return Test.FISHER if few or rest.deaths == 0 else Test.BINOMIAL


def _p_values(pairs: Sequence[tuple[Count, Rest]], tests: Sequence[Test]) -> Any:
    """Of as many deaths as were counted, or more; all at once, for a city has thousands of counts."""
    import numpy as np
    from scipy.stats import binom, hypergeom

    n, k, rest_n, rest_k = np.array([(c.trees, c.deaths, r.trees, r.deaths) for c, r in pairs]).T
    # Without a death the answer needs no test.
    p = np.ones(len(pairs))
    exact = np.array([test is Test.BINOMIAL for test in tests]) & (k > 0)
    p[exact] = binom.sf(k[exact] - 1, n[exact], rest_k[exact] / rest_n[exact])
    fisher = ~exact & (k > 0)
    drawn, dead, trees = n[fisher], (k + rest_k)[fisher], (n + rest_n)[fisher]
    p[fisher] = hypergeom.sf(k[fisher] - 1, trees, dead, drawn)
    return p.clip(0.0, 1.0)


def _ratio(count: Count, rest: Rest) -> tuple[float | None, float | None, float | None]:
    """Deaths over those expected at the rate elsewhere, with the bounds of its exact interval."""
    if rest.deaths == 0:
        return None, None, None
    low, high = (share / rest.rate for share in _share_interval(count.deaths, count.trees))
    return count.deaths / (count.trees * rest.rate), low, high


def _share_interval(deaths: int, trees: int) -> tuple[float, float]:
    from scipy.special import betaincinv

    tail = (1 - CONFIDENCE) / 2
    low = float(betaincinv(deaths, trees - deaths + 1, tail)) if deaths else 0.0
    high = float(betaincinv(deaths + 1, trees - deaths, 1 - tail)) if deaths < trees else 1.0
    return low, high
