"""How far a falling tree reaches, and what may be left after a mitigation, against the published practice.

Source: ANSI A300 Part 9 practice; Smiley, Matheny & Lilly, Best Management Practices: Tree Risk Assessment, 2nd ed. 2017, as
a secondary text retells it: the target zone on level ground is the height of the tree, one and a half times for a dead or
brittle one. The cells of the tables are those of ``test_rating_matrices``, read in a council's published plan.
"""

import pytest

from hazards.advice import Situation, out_of_reach
from hazards.impact import Direction, Fall, suggest, target_zone_m
from hazards.matrix import Consequences, Exposure, Failure, Impact, Occupancy, rate
from hazards.options import OptionPick, residual_of
from tests.published.test_rating_matrices import PUBLISHED_LIKELIHOOD, PUBLISHED_RATING, PUBLISHED_SUGGESTION, cells

PUBLISHED_FACTOR = {"alive": 1.0, "dead or brittle": 1.5}


@pytest.mark.parametrize(("tree", "factor"), PUBLISHED_FACTOR.items())
@pytest.mark.parametrize("height_m", [4.0, 12.5, 30.0])
def test_the_target_zone_is_that_of_the_practice(tree, factor, height_m):
    assert target_zone_m(height_m, scatters=tree != "alive") == pytest.approx(factor * height_m)


@pytest.mark.parametrize(("tree", "factor"), PUBLISHED_FACTOR.items())
def test_a_target_just_beyond_the_zone_is_out_of_reach_and_one_just_within_is_not(tree, factor):
    dead = tree != "alive"
    for distance_m, beyond in ((20 * factor - 0.1, False), (20 * factor + 0.1, True)):
        fall = Fall(Occupancy.CONSTANT, Exposure.FULLY_EXPOSED, distance_m, 20.0, scatters=dead)
        assert (suggest(fall).impact is Impact.VERY_LOW) is beyond
        seen = Situation(dead=dead, dead_since=None, on=None, height_m=20.0, distance_m=distance_m)
        assert out_of_reach(seen) is beyond


@pytest.mark.parametrize(("met", "suggested"), PUBLISHED_SUGGESTION.items())
def test_where_nothing_lowers_it_the_suggestion_is_the_published_one(met, suggested):
    use, exposure = Occupancy(met[0]), Exposure(met[1])
    within = Fall(use, exposure, 5.0, 20.0, direction=Direction.TOWARDS)
    assert suggest(within).impact.value == suggest(Fall(use, exposure)).impact.value == suggested


@pytest.mark.parametrize("failure", Failure)
@pytest.mark.parametrize("consequences", Consequences)
def test_what_a_mitigation_leaves_goes_through_the_published_tables(failure, consequences):
    class Now:
        failure, impact, consequences = Failure.IMMINENT, Impact.HIGH, Consequences.SEVERE
        rated = rate(Failure.IMMINENT, Impact.HIGH, Consequences.SEVERE)

    after = residual_of(OptionPick("prune", failure=failure, consequences=consequences), Now)
    likelihood = cells(PUBLISHED_LIKELIHOOD)[failure.value, "high"]
    assert after.rated.failure_and_impact.value == likelihood
    assert after.rated.rating.value == cells(PUBLISHED_RATING)[likelihood, consequences.value]
