"""Indices of diversity against a worked example and against scipy."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import entropy

from replanting.diversity import GUIDE_PCT, diversity

COUNTS = st.lists(st.integers(1, 10_000), min_size=1, max_size=60)


def test_the_worked_example():
    """120, 80, 60, 40, 20 trees of five species, worked by hand from Shannon (1948) and Simpson (1949)."""
    found = diversity([120, 80, 60, 40, 20])
    assert found.shannon == pytest.approx(1.461472, abs=5e-7)
    assert found.effective == pytest.approx(4.312303, abs=5e-7)
    assert found.evenness == pytest.approx(0.908064, abs=5e-7)
    assert found.simpson == pytest.approx(0.742188, abs=5e-7)
    assert found.inverse_simpson == pytest.approx(3.878788, abs=5e-7)


@given(counts=COUNTS)
def test_shannon_is_the_entropy_that_scipy_computes(counts):
    """Reference library: scipy.stats.entropy, natural logarithm."""
    assert diversity(counts).shannon == pytest.approx(entropy(counts), abs=1e-9)


@given(kinds=st.integers(1, 200), each=st.integers(1, 500))
def test_equally_common_species_count_as_many_as_they_are(kinds, each):
    """Hill (1973): e^H and 1/D of S equally common species are both S."""
    found = diversity([each] * kinds)
    assert found.effective == pytest.approx(kinds)
    assert found.inverse_simpson == pytest.approx(kinds)
    assert found.evenness == pytest.approx(1)


def test_the_guide_is_ten_twenty_thirty():
    """Santamour (1990), Trees for urban planting: diversity, uniformity, and common sense, METRIA 7; from memory."""
    assert GUIDE_PCT == {"species": 10, "genus": 20, "family": 30}
