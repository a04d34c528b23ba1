"""The order of the ranking, and the sentence that says why."""

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hazards.matrix import Consequences, FailureAndImpact, Occupancy, Rating
from hazards.models import Part
from hazards.triage import (
    MAX_KEY,
    ORDER,
    Criterion,
    Decline,
    Finding,
    order_faults,
    reason,
    triage_key,
    triage_place,
    weights,
)

dates = st.none() | st.dates(dt.date(1950, 1, 1), dt.date(2100, 1, 1))
findings = st.builds(
    Finding,
    rating=st.sampled_from(Rating),
    failure_and_impact=st.sampled_from(FailureAndImpact),
    consequences=st.sampled_from(Consequences),
    occupancy=st.sampled_from(Occupancy),
    imminent=st.booleans(),
    decline=st.sampled_from(Decline),
    since=dates,
    weak_wooded=st.booleans(),
    due=dates,
)
LEVELS = ["rating", "failure_and_impact", "consequences", "occupancy", "decline"]
# Every order that a city may set: some of the criteria, or all, each once.
orders = st.permutations(list(Criterion)).flatmap(
    lambda whole: st.integers(0, len(whole)).map(lambda kept: tuple(whole[:kept]))
)


def how_long(finding: Finding) -> dt.date:
    return dt.date.max if finding.decline is Decline.NONE else finding.since or dt.date.min


SAYS: dict[Criterion, Any] = {
    Criterion.FAILURE_AND_IMPACT: lambda finding: -finding.failure_and_impact.rank,
    Criterion.CONSEQUENCES: lambda finding: -finding.consequences.rank,
    Criterion.OCCUPANCY: lambda finding: -finding.occupancy.rank,
    Criterion.DECLINE: lambda finding: (-finding.decline.rank, how_long(finding)),
    Criterion.WEAK_WOOD: lambda finding: not finding.weak_wooded,
    Criterion.DUE: lambda finding: finding.due or dt.date.max,
}


def documented_order(finding: Finding, order: tuple[Criterion, ...]) -> tuple[Any, ...]:
    """The steps of the docstring, as a tuple that sorts the most urgent first."""
    return (not finding.imminent, -finding.rating.rank, *(SAYS[criterion](finding) for criterion in order))


@given(findings, findings, orders)
def test_the_key_orders_as_documented(one, other, order):
    ours = triage_key(one, order) < triage_key(other, order)
    assert ours == (documented_order(one, order) < documented_order(other, order))


def test_the_programs_own_order_is_the_documented_one():
    assert [criterion.name for criterion in ORDER] == [
        "FAILURE_AND_IMPACT",
        "CONSEQUENCES",
        "OCCUPANCY",
        "DECLINE",
        "WEAK_WOOD",
        "DUE",
    ]


@given(findings, orders)
def test_the_key_fits_a_big_integer(finding, order):
    assert 0 <= triage_key(finding, order) <= MAX_KEY < 2**63


@given(findings, orders, st.sampled_from(LEVELS), st.data())
def test_a_worse_level_never_comes_later(finding, order, name, data):
    level = getattr(finding, name)
    worse = data.draw(st.sampled_from(list(type(level))[level.rank :]))
    assert triage_key(replace(finding, **{name: worse}), order) <= triage_key(finding, order)


@given(findings, orders, st.sampled_from(["imminent", "weak_wooded"]))
def test_a_raised_flag_never_comes_later(finding, order, name):
    raised, lowered = (triage_key(replace(finding, **{name: value}), order) for value in (True, False))
    assert raised <= lowered


@given(findings, orders, st.dates(dt.date(1950, 1, 1), dt.date(2099, 1, 1)), st.integers(0, 300))
def test_an_earlier_day_never_comes_later(finding, order, day, days):
    earlier, later = day, day + dt.timedelta(days=days)
    for name, lasting in (("due", None), ("since", later)):
        first, second, last = (
            triage_key(replace(finding, **{name: value}), order) for value in (earlier, later, lasting)
        )
        assert first <= second <= last


@given(findings, st.sampled_from([Decline.DYING, Decline.DEAD]), st.dates(dt.date(1950, 1, 1), dt.date(2099, 1, 1)))
def test_unknown_since_when_counts_as_longest_and_no_day_as_last(finding, decline, day):
    gone = replace(finding, decline=decline)
    assert triage_key(replace(gone, since=None)) < triage_key(replace(gone, since=day))
    assert triage_key(replace(finding, due=day)) < triage_key(replace(finding, due=None))


@given(findings, findings, orders)
def test_no_order_moves_what_safety_fixes(one, other, order):
    graver = (not one.imminent, -one.rating.rank) < (not other.imminent, -other.rating.rank)
    assert not graver or triage_key(one, order) < triage_key(other, order)


CHANGES: dict[Criterion, dict[str, Any]] = {
    Criterion.FAILURE_AND_IMPACT: {"failure_and_impact": FailureAndImpact.LIKELY},
    Criterion.CONSEQUENCES: {"consequences": Consequences.MINOR},
    Criterion.OCCUPANCY: {"occupancy": Occupancy.RARE},
    Criterion.DECLINE: {"decline": Decline.DYING, "since": dt.date(2026, 1, 1)},
    Criterion.WEAK_WOOD: {"weak_wooded": True},
    Criterion.DUE: {"due": dt.date(2026, 1, 1)},
}


@given(findings, orders, st.sampled_from(Criterion))
def test_what_is_left_out_does_not_count(finding, order, criterion):
    left_out = tuple(each for each in order if each is not criterion)
    assert weights(left_out)[criterion] == 0
    assert triage_key(replace(finding, **CHANGES[criterion]), left_out) == triage_key(finding, left_out)


@given(findings, st.text(min_size=1, max_size=5), st.text(min_size=1, max_size=5), orders)
def test_equal_keys_follow_the_tag_and_no_two_trees_share_a_place(finding, tag, other, order):
    first, second = triage_place(finding, tag, order), triage_place(finding, other, order)
    assert (first < second) == (tag < other)
    assert (first == second) == (tag == other)


@given(findings, orders)
def test_the_key_is_stable(finding, order):
    assert triage_key(finding, order) == triage_key(replace(finding), order)


def test_a_criterion_stands_once_in_an_order():
    assert order_faults(ORDER) == order_faults(()) == []
    assert order_faults((*ORDER, Criterion.OCCUPANCY)) == ["Occupancy stands twice in the order; give each place once."]


HIGH = Finding(Rating.HIGH, FailureAndImpact.LIKELY, Consequences.SEVERE, Occupancy.CONSTANT, due=dt.date(2026, 12, 12))


def said(finding: Finding, **words: str) -> str:
    usual = {"part": "union", "failure_mode": "splitting at the included bark", "target": "play area"}
    return reason(finding, **{**usual, **words})


def test_the_reason_reads_as_a_sentence():
    assert said(HIGH) == (
        "High: the union (splitting at the included bark) is likely to fail and hit the play area, in constant use, "
        "with severe consequences; work due by 12 Dec 2026."
    )


def test_what_is_about_to_fail_leads_the_reason():
    assert said(replace(HIGH, imminent=True)).startswith(
        "Imminent failure, rated high: the union (splitting at the included bark) is about to fail and likely to hit"
    )


def test_what_is_about_to_fail_may_be_unlikely_to_hit():
    mild = replace(HIGH, imminent=True, rating=Rating.LOW, failure_and_impact=FailureAndImpact.UNLIKELY)
    assert "is about to fail, though unlikely to hit the play area" in said(mild)


def test_another_part_that_is_about_to_fail_leads_the_reason():
    assert said(replace(HIGH, imminent=True), imminent_part="limb").startswith(
        "Imminent failure of a limb; the tree is rated high: the union (splitting at the included bark) is likely to fail"
    )


@pytest.mark.parametrize(
    ("state", "words"),
    [
        ({"decline": Decline.DEAD}, "; the tree is dead;"),
        ({"decline": Decline.DEAD, "since": dt.date(2025, 3, 1)}, "; the tree is dead since 1 Mar 2025;"),
        ({"decline": Decline.DYING, "since": dt.date(2025, 3, 1)}, "; the tree is dying since 1 Mar 2025;"),
        ({"decline": Decline.DYING, "weak_wooded": True}, "; the tree is dying and of a weak-wooded species;"),
        ({"weak_wooded": True}, "; the tree is of a weak-wooded species;"),
        ({"due": None}, "; no work due before the next inspection."),
    ],
)
def test_the_reason_names_what_moves_the_tree(state, words):
    assert words in said(replace(HIGH, **state))


def test_a_named_place_keeps_its_capital_and_takes_no_article():
    assert "hit Mill Road, in" in said(HIGH, target="Mill Road")


@given(findings, st.sampled_from(Part.values), st.text(max_size=120), st.text(max_size=120))
def test_the_reason_is_one_sentence_that_fits_its_column(finding, part, failure_mode, target):
    sentence = reason(finding, part=part, failure_mode=failure_mode, target=target, imminent_part="root collar")
    assert len(sentence) <= 400
    assert sentence.endswith(".")
