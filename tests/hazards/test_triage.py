"""The order of the ranking, and the sentence that says why."""

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hazards.matrix import Consequences, FailureAndImpact, Occupancy, Rating
from hazards.models import Part
from hazards.triage import MAX_KEY, Decline, Finding, reason, triage_key

dates = st.none() | st.dates(dt.date(1950, 1, 1), dt.date(2100, 1, 1))
findings = st.builds(
    Finding,
    rating=st.sampled_from(Rating),
    failure_and_impact=st.sampled_from(FailureAndImpact),
    consequences=st.sampled_from(Consequences),
    occupancy=st.sampled_from(Occupancy),
    imminent=st.booleans(),
    decline=st.sampled_from(Decline),
    dead_since=dates,
    weak_wooded=st.booleans(),
    due=dates,
)
LEVELS = ["rating", "failure_and_impact", "consequences", "occupancy", "decline"]


def documented_order(finding: Finding) -> tuple[Any, ...]:
    """The nine steps of the docstring, as a tuple that sorts the most urgent first."""
    dead = finding.decline is Decline.DEAD
    return (
        not finding.imminent,
        *(-getattr(finding, name).rank for name in LEVELS),
        (finding.dead_since or dt.date.min) if dead else dt.date.max,
        not finding.weak_wooded,
        finding.due or dt.date.max,
    )


@given(findings, findings)
def test_the_key_orders_as_documented(one, other):
    assert (triage_key(one) < triage_key(other)) == (documented_order(one) < documented_order(other))


@given(findings)
def test_the_key_fits_a_big_integer(finding):
    assert 0 <= triage_key(finding) <= MAX_KEY < 2**63


@given(findings, st.sampled_from(LEVELS), st.data())
def test_a_worse_level_never_comes_later(finding, name, data):
    level = getattr(finding, name)
    worse = data.draw(st.sampled_from(list(type(level))[level.rank :]))
    assert triage_key(replace(finding, **{name: worse})) <= triage_key(finding)


@given(findings, st.sampled_from(["imminent", "weak_wooded"]))
def test_a_raised_flag_never_comes_later(finding, name):
    assert triage_key(replace(finding, **{name: True})) <= triage_key(replace(finding, **{name: False}))


@given(findings, st.dates(dt.date(1950, 1, 1), dt.date(2099, 1, 1)), st.integers(0, 300))
def test_an_earlier_day_never_comes_later(finding, day, days):
    earlier, later = day, day + dt.timedelta(days=days)
    assert triage_key(replace(finding, due=earlier)) <= triage_key(replace(finding, due=later))
    assert triage_key(replace(finding, due=later)) < triage_key(replace(finding, due=None))
    dead = replace(finding, decline=Decline.DEAD)
    assert triage_key(replace(dead, dead_since=earlier)) <= triage_key(replace(dead, dead_since=later))
    assert triage_key(replace(dead, dead_since=None)) < triage_key(replace(dead, dead_since=earlier))


@given(findings)
def test_the_key_is_stable(finding):
    assert triage_key(finding) == triage_key(replace(finding))


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
        ({"decline": Decline.DEAD, "dead_since": dt.date(2025, 3, 1)}, "; the tree is dead since 1 Mar 2025;"),
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
