"""The two rating tables against the published ones, written out here a second time.

Source: ANSI A300 Part 9 practice; Smiley, Matheny & Lilly, Best Management Practices: Tree Risk Assessment, 2nd ed. 2017.
The sixteen cells of the first table are as a council's published tree plan reprints them; the placement in the second is
from memory of the practice, its counts as published.
"""

import json
from collections import Counter
from io import StringIO
from itertools import product

import pytest
from django.core.management import call_command
from django.db import IntegrityError, transaction

from hazards.matrix import (
    Consequences,
    Exposure,
    Failure,
    FailureAndImpact,
    Impact,
    Occupancy,
    Rating,
    rate,
    suggest_impact,
)
from hazards.models import Assessment
from tests.factories import TreeFactory
from tests.hazards.factories import TargetFactory, inspect, pick

PUBLISHED_LIKELIHOOD = """
             very low   low              medium           high
imminent     unlikely   somewhat likely  likely           very likely
probable     unlikely   unlikely         somewhat likely  likely
possible     unlikely   unlikely         unlikely         somewhat likely
improbable   unlikely   unlikely         unlikely         unlikely
"""
PUBLISHED_RATING = """
                 negligible  minor     significant  severe
very likely      low         moderate  high         extreme
likely           low         moderate  high         high
somewhat likely  low         low       moderate     moderate
unlikely         low         low       low          low
"""
# The same practice, retold in a secondary text; constant use exposed and partly protected, and frequent use exposed, from
# memory of it. Cells that this program filled by itself are not here.
PUBLISHED_SUGGESTION = {
    ("constant", "fully exposed"): "high",
    ("constant", "partly protected"): "medium",
    ("constant", "well protected"): "low",
    ("frequent", "fully exposed"): "medium",
    ("frequent", "partly protected"): "low",
    ("occasional", "fully exposed"): "low",
    ("occasional", "partly protected"): "very low",
    ("rare", "fully exposed"): "very low",
}


def cells(table: str) -> dict[tuple[str, str], str]:
    """(row, column) -> cell; columns stand two or more spaces apart."""
    split = [[cell.strip() for cell in line.split("  ") if cell.strip()] for line in table.strip("\n").splitlines()]
    head, *rows = split
    return {(row[0], column): cell for row in rows for column, cell in zip(head, row[1:], strict=True)}


LIKELIHOOD, RATING = cells(PUBLISHED_LIKELIHOOD), cells(PUBLISHED_RATING)
ALL_PICKS = list(product(Failure, Impact, Consequences))


def test_the_tables_are_whole():
    assert len(LIKELIHOOD) == len(RATING) == 16
    assert len(ALL_PICKS) == 64


@pytest.mark.parametrize(("failure", "impact", "consequences"), ALL_PICKS)
def test_every_combination_equals_the_published_tables(failure, impact, consequences):
    likelihood = LIKELIHOOD[failure.value, impact.value]
    rated = rate(failure, impact, consequences)
    assert rated.failure_and_impact.value == likelihood
    assert rated.rating.value == RATING[likelihood, consequences.value]


def test_the_command_says_the_same_for_every_combination():
    for picks in ALL_PICKS:
        out = StringIO()
        call_command("rate", *(each.value for each in picks), "--json", stdout=out)
        likelihood = LIKELIHOOD[picks[0].value, picks[1].value]
        rating = RATING[likelihood, picks[2].value]
        assert json.loads(out.getvalue()) == {"failure_and_impact": likelihood, "rating": rating}


def test_counts_of_the_second_table_are_as_published():
    counted = Counter(
        rate(failure, impact, consequences).rating
        for failure, impact, consequences in ALL_PICKS
        if failure is Failure.IMMINENT  # its row of the first table holds each likelihood once
    )
    assert counted == {Rating.LOW: 8, Rating.MODERATE: 4, Rating.HIGH: 3, Rating.EXTREME: 1}


def test_exactly_one_way_leads_to_extreme():
    extreme = [picks for picks in ALL_PICKS if rate(*picks).rating is Rating.EXTREME]
    assert extreme == [(Failure.IMMINENT, Impact.HIGH, Consequences.SEVERE)]


@pytest.mark.parametrize("picks", ALL_PICKS)
def test_a_worse_pick_never_lowers_the_rating(picks):
    rated = rate(*picks)
    for place, level in enumerate(picks):
        for worse in list(type(level))[level.rank :]:
            more = rate(*picks[:place], worse, *picks[place + 1 :])
            assert more.rating.rank >= rated.rating.rank
            assert more.failure_and_impact.rank >= rated.failure_and_impact.rank


@pytest.mark.parametrize(
    "always_low",
    [(0, Failure.IMPROBABLE), (1, Impact.VERY_LOW), (2, Consequences.NEGLIGIBLE)],
    ids=lambda each: each[1].value,
)
def test_the_mildest_pick_always_ends_low(always_low):
    place, mildest = always_low
    ends = {rate(*picks).rating for picks in ALL_PICKS if picks[place] is mildest}
    assert ends == {Rating.LOW}


@pytest.mark.parametrize(("met", "suggested"), PUBLISHED_SUGGESTION.items())
def test_suggested_impact_equals_the_practice(met, suggested):
    occupancy, exposure = met
    assert suggest_impact(Occupancy(occupancy), Exposure(exposure)).value == suggested


def test_suggested_impact_never_falls_with_more_use_or_more_exposure():
    for occupancy, exposure in product(Occupancy, Exposure):
        for busier, barer in product(list(Occupancy)[occupancy.rank :], list(Exposure)[exposure.rank :]):
            assert suggest_impact(busier, barer).rank >= suggest_impact(occupancy, exposure).rank


@pytest.fixture
def stored(db) -> Assessment:
    tree = TreeFactory()
    return inspect(tree, pick(TargetFactory(park=tree.park))).assessments.get()


def accepts(stored: Assessment, **words: str) -> bool:
    """Does the database itself take these words, past every form and workflow?"""
    values = {field.attname: getattr(stored, field.attname) for field in Assessment._meta.fields if field.name != "id"}
    try:
        with transaction.atomic():
            Assessment.objects.bulk_create([Assessment(**{**values, **words})])
    except IntegrityError:
        return False
    return True


def test_the_database_holds_the_first_table(stored):
    taken = {
        (failure.value, impact.value): likelihood.value
        for failure, impact, likelihood in product(Failure, Impact, FailureAndImpact)
        # Negligible always ends low, so that the second table has no say here.
        if accepts(
            stored,
            failure=failure.value,
            impact=impact.value,
            failure_and_impact=likelihood.value,
            consequences="negligible",
            rating="low",
        )
    }
    assert taken == LIKELIHOOD


def test_the_database_holds_the_second_table(stored):
    by_likelihood = {likelihood: picks for picks, likelihood in LIKELIHOOD.items()}
    taken = {
        (likelihood.value, consequences.value): rating.value
        for likelihood, consequences, rating in product(FailureAndImpact, Consequences, Rating)
        if accepts(
            stored,
            failure=by_likelihood[likelihood.value][0],
            impact=by_likelihood[likelihood.value][1],
            failure_and_impact=likelihood.value,
            consequences=consequences.value,
            rating=rating.value,
        )
    }
    assert taken == RATING
