"""Every output of a plan is shown and opens: the line's gear, both ends of what is uncertain, where the top lands."""

import math
import re
from dataclasses import replace
from html import unescape

import pytest
from django.urls import reverse

from inventory.access import Role
from inventory.units import Units
from removals.felling import plan
from removals.felling_input import Refusal, Site, Wedges
from removals.ground_steps import ground_steps
from removals.plan_figures import at_both_ends, hinge_words
from tests.factories import TreeFactory
from tests.removals.builders import Story, inputs
from tests.removals.felling_cases import tree_with_health

SITED = inputs()


def opened(felling_input) -> dict[str, str]:
    return {step.key: step.numbers for step in ground_steps(felling_input, plan(felling_input))}


def last_number(words: str) -> float:
    return float(re.findall(r"= ([\d.]+)", words)[-1])


def test_the_ground_opens_to_the_figures_of_the_place():
    # H 15 m, cut at 0.8 m, crown 6 m, steering error 10°.
    want = {
        "top_distance_m": 14.2,
        "top_side_m": 14.2 * math.sin(math.radians(10)) + 3.0,
        "keep_clear_m": 16.5,
        "approach_m": 30.0,
        "puller_least_m": 22.5,
        "retreat_distance_m": 7.62,
    }
    found = {key: last_number(words) for key, words in opened(SITED).items() if key in want}
    assert found == {key: pytest.approx(value, rel=1e-3) for key, value in want.items()}


def test_the_ways_out_end_where_they_say():
    # 25 ft on 225° and 315°: 5.4 m along each axis.
    assert "225°: 5.4 m west, 5.4 m south; 315°: 5.4 m west, 5.4 m north" in opened(SITED)["retreat_distance_m"]


def test_the_gear_must_hold_the_largest_tension_and_the_redirect_twice_it_by_the_angle():
    line = replace(SITED.line, redirect_legs_deg=60.0, working_load_limit_n=40_000.0)
    words = opened(replace(SITED, line=line))
    assert last_number(words["least_working_load_n"]) == pytest.approx(line.largest_n)
    assert last_number(words["redirect_load_n"]) == pytest.approx(
        2 * line.largest_n * math.cos(math.radians(30)), rel=1e-5
    )
    assert "redirect_load_n" not in opened(SITED)
    assert "not entered" in opened(SITED)["least_working_load_n"]


def test_wedges_open_as_rated_and_have_no_gear():
    words = opened(replace(SITED, line=None, wedges=Wedges(rated_n=1e5)))
    assert last_number(words["available_n"]) == 1e5
    assert "least_working_load_n" not in words


def test_the_share_of_samples_is_counted():
    share = plan(SITED).forces.held_share
    assert last_number(opened(SITED)["held_share_pct"]) == pytest.approx(100 * share, rel=1e-3)


def test_without_a_lay_and_outside_the_method_nothing_is_opened_that_does_not_hold():
    assert not {"top_distance_m", "retreat_distance_m"} & set(opened(replace(SITED, site=Site())))
    assert "available_n" not in opened(tree_with_health(refusals=(Refusal.CRACK,)))


def test_both_ends_hold_the_nominal_between_them():
    result = plan(SITED)
    rows = {row.label: row for row in at_both_ends(result, Units.METRIC)}
    assert set(rows) == {"Green weight", "Pull needed", "Pull available"}
    assert rows["Pull needed"].high.startswith(f"{result.forces.needed_n.high:,.0f} N (")
    assert "lbf" in rows["Pull available"].low
    assert "a hinge 1 cm thicker needs" in hinge_words(result, Units.US)


def test_the_plan_page_shows_every_output(as_role, cast):
    story = Story(cast, TreeFactory(height_m=15.0))
    made = story.planned(replace(SITED, line=replace(SITED.line, redirect_legs_deg=60.0)))
    page = as_role(Role.READER).get(reverse("removals:felling_plan", args=[made.pk])).content.decode()
    said = re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", page)))
    for words in (
        "At both ends of what is uncertain",
        "Share of samples in which the pull holds",
        "Least working load limit of line and gear",
        "Load on the redirect and its sling",
        "The top lands this far out along the lay",
        "Each way out ends at least this far from the stump",
        "Stop wind for the crew",
        "Sideways moment and its limit",
        plan(SITED).butt,
    ):
        assert words in said
