"""What distance and direction take from the published suggestion: never more than the table, never less for being nearer."""

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hazards.impact import Direction, Fall, suggest, target_zone_m
from hazards.matrix import SUGGESTED_IMPACT, Exposure, Impact, Occupancy

METRES = st.none() | st.floats(0.5, 200)
FALLS = st.builds(
    Fall,
    occupancy=st.sampled_from(Occupancy),
    exposure=st.sampled_from(Exposure),
    distance_m=METRES,
    height_m=METRES,
    scatters=st.booleans(),
    direction=st.none() | st.sampled_from(Direction),
)
PLAY_AREA = Fall(Occupancy.CONSTANT, Exposure.FULLY_EXPOSED, distance_m=10, height_m=18)


def worse(fall: Fall) -> list[Fall]:
    """The same with one thing made worse, or left where it cannot be."""
    way = fall.direction or Direction.TOWARDS
    return [
        replace(fall, occupancy=list(Occupancy)[min(fall.occupancy.rank + 1, 3)]),
        replace(fall, exposure=list(Exposure)[min(fall.exposure.rank + 1, 2)]),
        replace(fall, distance_m=None if fall.distance_m is None else fall.distance_m / 2),
        replace(fall, height_m=None if fall.height_m is None else fall.height_m * 2),
        replace(fall, scatters=True),
        replace(fall, direction=list(Direction)[min(way.rank + 1, 2)]),
    ]


@given(fall=FALLS)
def test_is_never_above_the_published_table(fall):
    published = SUGGESTED_IMPACT[fall.occupancy][fall.exposure.rank]
    said = suggest(fall)
    assert said.published is published
    assert said.impact.rank <= published.rank


@given(fall=FALLS)
def test_never_falls_when_anything_is_made_worse(fall):
    assert all(suggest(made_worse).impact.rank >= suggest(fall).impact.rank for made_worse in worse(fall))


def test_is_the_published_table_where_nothing_more_is_said():
    for use, exposure in product(Occupancy, Exposure):
        assert suggest(Fall(use, exposure)).impact is SUGGESTED_IMPACT[use][exposure.rank]


@pytest.mark.parametrize(
    ("facts", "suggested"),
    [
        ({}, Impact.HIGH),
        ({"direction": Direction.TOWARDS}, Impact.HIGH),
        ({"direction": Direction.ACROSS}, Impact.MEDIUM),
        ({"direction": Direction.AWAY}, Impact.LOW),
        ({"direction": Direction.AWAY, "scatters": True}, Impact.MEDIUM),
        ({"distance_m": 18.0}, Impact.HIGH),
        ({"distance_m": 18.1}, Impact.VERY_LOW),
        ({"distance_m": 27.0, "scatters": True}, Impact.HIGH),
        ({"distance_m": 27.1, "scatters": True}, Impact.VERY_LOW),
        ({"distance_m": 60.0, "height_m": None}, Impact.HIGH),
    ],
)
def test_over_a_play_area_beneath_a_tree_of_18_m(facts, suggested):
    assert suggest(replace(PLAY_AREA, **facts)).impact is suggested


def test_each_step_says_whose_it_is():
    assert suggest(replace(PLAY_AREA, direction=Direction.AWAY)).because == (
        "constant use, fully exposed: high (published table)",
        "falls away, two steps less (this program's own)",
    )


@given(fall=FALLS, picked=st.sampled_from(Impact))
def test_only_the_suggestion_and_the_table_need_no_reason(fall, picked):
    said = suggest(fall)
    assert said.explains(picked) is (picked in {said.impact, SUGGESTED_IMPACT[fall.occupancy][fall.exposure.rank]})


def test_debris_of_a_dead_or_brittle_tree_scatters_half_as_far_again():
    # Target zone on level ground: 1 × height, 1.5 × when dead or brittle (secondary text of the practice).
    assert [target_zone_m(20, scatters=scatters) for scatters in (False, True)] == [20, 30]
