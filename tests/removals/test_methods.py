"""Ways to take a tree down, side by side."""

from dataclasses import replace

import pytest

from removals.felling import plan
from removals.felling_input import FellingInput, Health, Refusal, Site
from removals.felling_result import FellingPlanResult, Verdict
from removals.lines import line_by_force
from removals.methods import HOURS, SIZE_LIMITS, Access, Method, MethodRow, Rates, Ruling, compare, size_class
from tests.removals.felling_cases import STRAIGHT, tree, tree_with_health, tree_with_site

PULLED = plan(tree(line=line_by_force(12_000.0, 10.0, 25.0)))
FELLED = replace(PULLED, verdict=Verdict.ADEQUATE, conditions=("Crew of two or more; nobody saws alone.",))
OUTSIDE = plan(tree_with_site(slope_pct=40.0))
OPEN = Access(open_lay=True, lift=True, crane=True, machine=True)


def rows(inp: FellingInput = STRAIGHT, dbh_cm: float = 33.0, **changes) -> dict[Method, MethodRow]:
    values = {"felled": FELLED, "pulled": PULLED, "access": OPEN, **changes}
    return {row.method: row for row in compare(inp, dbh_cm=dbh_cm, **values)}


def rulings(**changes) -> dict[Method, Ruling]:
    return {method: row.ruling for method, row in rows(**changes).items()}


def test_every_method_has_its_row_in_order():
    compared = compare(STRAIGHT, dbh_cm=33.0, felled=FELLED, pulled=PULLED, access=OPEN)
    assert [row.method for row in compared] == list(Method)
    assert {row.ruling for row in compared} == {Ruling.POSSIBLE}


# --- what rules felling in or out


def test_the_plans_used_here_are_what_they_are_taken_for():
    assert (PULLED.verdict, OUTSIDE.verdict) == (Verdict.ADEQUATE, Verdict.OUTSIDE)


@pytest.mark.parametrize(("method", "name"), [(Method.FELLED, "felled"), (Method.PULLED, "pulled")])
def test_a_plan_outside_the_method_rules_felling_out_with_its_reasons(method, name):
    row = rows(**{name: OUTSIDE})[method]
    assert (row.ruling, row.against) == (Ruling.RULED_OUT, OUTSIDE.reasons)


def test_a_plan_that_is_not_adequate_rules_it_out_too():
    weak = plan(tree(line=line_by_force(300.0, 10.0, 25.0)))
    row = rows(pulled=weak)[Method.PULLED]
    assert weak.verdict is Verdict.NOT_ADEQUATE
    assert (row.ruling, row.against) == (Ruling.RULED_OUT, weak.reasons)


def test_a_marginal_plan_is_to_be_settled_with_what_would_change_it():
    marginal: FellingPlanResult = replace(PULLED, verdict=Verdict.MARGINAL, changes=("Still air would need less.",))
    row = rows(pulled=marginal)[Method.PULLED]
    assert row.ruling is Ruling.TO_SETTLE
    assert row.to_settle == (
        "The plan is marginal: it holds at the nominal values only.",
        "Still air would need less.",
    )


def test_without_a_plan_nothing_is_said_for_felling():
    assert rows(felled=None)[Method.FELLED].to_settle == ("No felling plan of this kind has been made.",)


@pytest.mark.parametrize("method", [Method.FELLED, Method.PULLED])
def test_felling_needs_an_open_lay(method):
    assert rows(access=replace(OPEN, open_lay=False))[method].against == ("No lay is open.",)
    assert rows(access=replace(OPEN, open_lay=None))[method].to_settle == ("Is there an open lay?",)


def test_conditions_of_the_plan_go_with_the_row():
    assert rows()[Method.PULLED].conditions == PULLED.conditions


# --- climbing


@pytest.mark.parametrize(
    "health",
    [
        Health(dead=True, months_dead=13.0),
        Health(dead=True),
        Health(genus="Fraxinus", dieback_share=0.6),
        Health(refusals=(Refusal.CRACK,)),
        Health(refusals=(Refusal.HUNG,)),
        Health(sound_shell_share=0.2),
        Health(hinge_decayed=True),
    ],
)
def test_nobody_climbs_a_tree_that_may_not_hold(health):
    found = rows(inp=tree(health=health))
    assert found[Method.CLIMBED].ruling is Ruling.RULED_OUT
    assert found[Method.CLIMBED].against[0].endswith("no climbing.")
    assert found[Method.LIFT].ruling is Ruling.POSSIBLE


def test_a_tree_dead_within_the_policy_may_be_climbed():
    assert rows(inp=tree_with_health(dead=True, months_dead=11.0))[Method.CLIMBED].ruling is Ruling.POSSIBLE
    assert rows(inp=tree_with_health(sound_shell_share=0.4))[Method.CLIMBED].ruling is Ruling.POSSIBLE


def test_a_crane_s_slings_are_not_set_by_climbing_a_tree_long_dead():
    assert any("from a lift" in words for words in rows(inp=tree_with_health(dead=True))[Method.CRANE].conditions)
    assert not any("from a lift" in words for words in rows()[Method.CRANE].conditions)


# --- wires and weather stop them all


IN_THE_TREE = (Method.CLIMBED, Method.LIFT, Method.CRANE, Method.MACHINE)


@pytest.mark.parametrize(
    ("site", "stopped"),
    [
        (Site(), False),
        (Site(wire_distance_m=8.0), True),  # its gap to the crown is not known
        (Site(wire_gap_m=6.0), True),  # its voltage is not known
        (Site(wire_gap_m=3.0, wire_kv=11.0), True),
        (Site(wire_gap_m=3.048, wire_kv=11.0), False),  # 10 ft to 50 kV: 29 CFR 1910.333(c)(3)
        (Site(wire_gap_m=3.2, wire_kv=72.5), True),  # 10 ft 9 in
        (Site(wire_gap_m=3.28, wire_kv=72.5), False),
    ],
)
def test_a_wire_within_the_approach_distance_stops_work_in_the_tree(site, stopped):
    found = rows(inp=tree(site=site))
    assert {found[method].ruling is Ruling.RULED_OUT for method in IN_THE_TREE} == {stopped}


def test_an_isolated_wire_stops_it_no_longer():
    found = rows(inp=tree_with_site(wire_gap_m=1.0, wire_kv=11.0), access=replace(OPEN, wires_isolated=True))
    assert {found[method].ruling for method in IN_THE_TREE} == {Ruling.POSSIBLE}


@pytest.mark.parametrize("refusal", [Refusal.LIGHTNING, Refusal.DARKNESS, Refusal.SNOW])
def test_what_the_hour_forbids_is_forbidden_to_all(refusal):
    found = rows(inp=tree_with_health(refusals=(refusal,)))
    assert all(found[method].against == (f"There is {refusal}.",) for method in IN_THE_TREE)


# --- what can be brought to the tree


@pytest.mark.parametrize(
    ("method", "name"), [(Method.LIFT, "lift"), (Method.CRANE, "crane"), (Method.MACHINE, "machine")]
)
def test_a_vehicle_must_come_to_the_tree(method, name):
    barred, unknown = (rows(access=replace(OPEN, **{name: answer}))[method] for answer in (False, None))
    assert (barred.ruling, barred.against) == (Ruling.RULED_OUT, ("It cannot be brought to the tree.",))
    assert (unknown.ruling, unknown.to_settle) == (Ruling.TO_SETTLE, ("Can it be brought to the tree?",))
    assert unknown.conditions


def test_a_lift_reaches_as_far_as_the_city_says():
    assert rows(rates=Rates(lift_reach_m=15.0))[Method.LIFT].ruling is Ruling.POSSIBLE
    (words,) = rows(rates=Rates(lift_reach_m=14.0))[Method.LIFT].against
    assert words == "The tree is 15 m (49.2 ft) high; the city's lift reaches 14 m (45.9 ft)."


def test_a_machine_holds_a_stem_as_thick_as_the_city_says():
    assert rows(dbh_cm=60.0)[Method.MACHINE].ruling is Ruling.POSSIBLE
    (words,) = rows(dbh_cm=61.0)[Method.MACHINE].against
    assert words == "The stem is 61 cm (24 in) thick; the machine holds 60 cm (23.6 in)."


# --- crew, hours, cost


@pytest.mark.parametrize(
    ("dbh_cm", "height_m", "size"),
    [(30, 10, 0), (31, 10, 1), (20, 11, 1), (60, 20, 1), (50, 20.5, 2), (91, 8, 3), (20, 31, 3)],
)
def test_size_is_the_greater_of_diameter_and_height(dbh_cm, height_m, size):
    assert size_class(dbh_cm, height_m) == size


def test_hours_grow_with_size_and_cover_each_class():
    for hours in HOURS.values():
        assert list(hours) == sorted(set(hours))
        assert len(hours) == len(SIZE_LIMITS) + 1


def test_two_people_at_least_and_three_with_a_line_or_aloft():
    crews = {method: row.crew for method, row in rows().items()}
    assert min(crews.values()) == 2
    assert crews[Method.PULLED] == crews[Method.CLIMBED] == crews[Method.LIFT] == 3


def test_cost_is_people_by_the_hour_and_plant_by_the_half_day():
    rates = Rates(person_hour=10.0, climber_hour=20.0, lift_day=100.0, crane_day=1000.0, machine_day=500.0)
    costs = {method: (row.hours, row.cost) for method, row in rows(rates=rates).items()}
    assert costs == {
        Method.FELLED: (2.0, 2.0 * 20),
        Method.PULLED: (3.0, 3.0 * 30),
        Method.CLIMBED: (8.0, 8.0 * (20 + 20)),
        Method.LIFT: (6.0, 6.0 * 30 + 100.0),
        Method.CRANE: (4.0, 4.0 * 40 + 500.0),
        Method.MACHINE: (1.5, 1.5 * 20 + 250.0),
    }


@pytest.mark.parametrize(
    ("access", "felled", "cheapest"),
    [
        (OPEN, FELLED, Method.FELLED),
        (OPEN, OUTSIDE, Method.PULLED),
        (Access(open_lay=False, lift=True), OUTSIDE, Method.LIFT),
        (Access(open_lay=False), OUTSIDE, Method.CLIMBED),
    ],
)
def test_the_cheapest_of_the_possible_ones_is_marked(access, felled, cheapest):
    found = rows(access=access, felled=felled, rates=Rates(climber_hour=150.0))
    assert [method for method, row in found.items() if row.cheapest] == [cheapest]


def test_none_is_marked_when_none_is_possible():
    dead = tree_with_health(dead=True)
    found = compare(dead, dbh_cm=33.0, felled=plan(dead), pulled=None)
    assert not any(row.cheapest for row in found)
    assert Ruling.POSSIBLE not in {row.ruling for row in found}


def test_of_two_equal_costs_the_first_is_marked():
    free = Rates(person_hour=0.0, climber_hour=0.0, lift_day=0.0, crane_day=0.0, machine_day=0.0)
    assert [method for method, row in rows(rates=free).items() if row.cheapest] == [Method.FELLED]
