"""A plan is refused for what stands in its place; what stood there is kept with it."""

import pytest

from removals.felling import plan
from removals.felling_input import Site
from removals.felling_result import Verdict
from removals.in_the_way import WIRES_NOT_PLACED
from removals.kept_plan import computed, read_input, read_result
from removals.place import point_m
from removals.things import FeatureKind, Thing
from tests.removals.builders import inputs

LAY_DEG = 90.0
BENCH = Thing(kind=FeatureKind.OBSTACLE, name="bench", points=(point_m(LAY_DEG, 10.0),))


def sited(*things: Thing, accepted=(), **site):
    return inputs(site=Site(lay_deg=LAY_DEG, things=things, accepted=accepted, **site))


def wire(distance_m: float) -> Thing:
    """A wire across the way behind the tree, out of the swath."""
    return Thing(kind=FeatureKind.WIRE, name="drop", points=((-distance_m, -60.0), (-distance_m, 60.0)))


def reasons(felling_input) -> str:
    result = plan(felling_input)
    assert result.verdict is Verdict.OUTSIDE
    assert result.forces is None
    return " ".join(result.reasons)


def test_what_stands_beside_the_swath_changes_nothing():
    beside = Thing(kind=FeatureKind.TREE, name="T-9", points=(point_m(LAY_DEG + 90, 12.0),), radius_m=2.0)
    assert plan(sited(beside)).verdict == plan(sited()).verdict == Verdict.ADEQUATE


def test_a_thing_in_the_swath_takes_the_lay_out_of_the_method():
    said = reasons(sited(BENCH))
    assert "The swath holds what nobody has accepted by name: bench (obstacle) at 90°, 10 m" in said


def test_accepted_by_name_it_becomes_a_condition_of_the_plan():
    result = plan(sited(BENCH, accepted=("bench",)))
    assert result.verdict is Verdict.ADEQUATE
    assert any("bench (obstacle)" in each and "accepted by name" in each for each in result.conditions)


def test_another_name_accepts_nothing():
    assert "bench" in reasons(sited(BENCH, accepted=("bin",)))


def test_a_spotter_in_the_swath_is_never_accepted():
    spotter = Thing(kind=FeatureKind.SPOTTER, name="Ida", points=(point_m(LAY_DEG, 14.0),))
    assert "Ida (spotter)" in reasons(sited(spotter, accepted=("Ida",)))


@pytest.mark.parametrize(("distance_m", "refused"), [(22.4, True), (22.6, False)])
def test_a_wire_of_the_place_stops_the_felling_within_one_and_a_half_heights(distance_m, refused):
    verdict = plan(sited(wire(distance_m), accepted=("drop",))).verdict
    assert (verdict is Verdict.OUTSIDE) is refused


def test_the_nearer_of_the_entered_and_the_placed_wire_counts_and_is_said_once():
    assert reasons(sited(wire(20.0), wire_distance_m=60.0)).count("stop until its owner isolates it") == 1
    assert reasons(sited(wire(20.0), wire_distance_m=18.0)).count("stop until its owner isolates it") == 1


def test_noted_lines_must_be_placed_or_measured():
    assert WIRES_NOT_PLACED in reasons(sited(wires_noted=True))
    assert plan(sited(wires_noted=True, wire_distance_m=40.0)).verdict is Verdict.ADEQUATE
    assert plan(sited(wire(40.0), wires_noted=True)).verdict is Verdict.ADEQUATE


def test_both_ways_out_barred_is_a_refusal_and_one_is_not():
    right, left = (
        Thing(kind=FeatureKind.OBSTACLE, name=name, points=(point_m(bearing, 5.0),))
        for name, bearing in (("wall", 225.0), ("pond", 315.0))
    )
    assert "Both ways out are barred: at 225° by wall; at 315° by pond." in reasons(sited(right, left))
    assert plan(sited(right)).verdict is Verdict.ADEQUATE


def test_a_kept_plan_holds_the_place_as_it_was():
    felling_input = sited(BENCH, wire(40.0), accepted=("bench",))
    kept = computed(felling_input, [], {})
    assert read_input(kept.inputs) == felling_input
    assert read_result(kept.results) == plan(felling_input)


def test_a_plan_kept_before_places_were_known_can_still_be_read():
    kept = computed(sited(), [], {})
    for name in ("things", "accepted", "wires_noted"):
        del kept.inputs["site"][name]
    assert read_input(kept.inputs) == sited()
