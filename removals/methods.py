"""The ways to take one tree down, side by side: what rules each out, its crew, its hours and its cost.

Whether a tree may be felled is what its two felling plans say, with a line and without. The hours are this program's own
rough estimate by size class, not from a source: taking down and cutting up, without travel, stump, haulage or closures.
Reaches, limits and rates are the city's; the defaults are placeholders until it sets its own, in its own money.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from removals import wording
from removals.bounds import METHOD_BOUNDS, TOLERANCE, Bounds, approach_distance_m, counts_as_dead
from removals.felling_input import FellingInput, Refusal
from removals.felling_result import FellingPlanResult, Verdict

HOURS_A_DAY = 8.0
DAY_PARTS = 2
"""Lifts, cranes and machines are hired by the half day."""


class Method(StrEnum):
    FELLED = "felled in one piece"
    PULLED = "felled with a pull line"
    CLIMBED = "dismantled by a climber"
    LIFT = "dismantled from a lift"
    CRANE = "taken down with a crane"
    MACHINE = "taken down by a machine holding the stem"


NOT_FELLED = frozenset({Method.CLIMBED, Method.LIFT, Method.CRANE, Method.MACHINE})
"""What takes a tree down without a notch, a hinge and a lay: no felling plan is carried out."""


class Ruling(StrEnum):
    POSSIBLE = "possible"
    TO_SETTLE = "to be settled"
    RULED_OUT = "ruled out"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """What a city pays and what it can hire, in its own money. Every default is a placeholder to be set by the city."""

    person_hour: float = 50.0
    climber_hour: float = 65.0
    lift_day: float = 400.0
    crane_day: float = 1500.0
    machine_day: float = 900.0
    lift_reach_m: float = 20.0
    machine_most_cm: float = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Access:
    """What the place allows; None is what nobody has looked at.

    `open_lay`: the lay finder knows one. `lift`, `crane`, `machine`: it can be brought to the tree. `wires_isolated`:
    their owner has said so.
    """

    open_lay: bool | None = None
    lift: bool | None = None
    crane: bool | None = None
    machine: bool | None = None
    wires_isolated: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodRow:
    """One way. `against` rules it out, `to_settle` must be answered first, `conditions` hold when it is chosen."""

    method: Method
    ruling: Ruling
    against: tuple[str, ...]
    to_settle: tuple[str, ...]
    conditions: tuple[str, ...]
    crew: int
    hours: float
    cost: float
    cheapest: bool = False


CREWS = {
    Method.FELLED: 2,
    Method.PULLED: 3,
    Method.CLIMBED: 3,
    Method.LIFT: 3,
    Method.CRANE: 4,
    Method.MACHINE: 2,
}
"""People of the city's crew; operators of hired plant come with the day rate. Two or more, three with a line."""

SIZE_LIMITS = ((30.0, 10.0), (60.0, 20.0), (90.0, 30.0))
"""Greatest dbh in cm and height in m of a small, medium and large tree; beyond them it is very large."""

HOURS = {
    Method.FELLED: (1.0, 2.0, 4.0, 7.0),
    Method.PULLED: (1.5, 3.0, 5.5, 9.0),
    Method.CLIMBED: (3.0, 8.0, 16.0, 28.0),
    Method.LIFT: (2.5, 6.0, 12.0, 20.0),
    Method.CRANE: (2.5, 4.0, 7.0, 10.0),
    Method.MACHINE: (1.0, 1.5, 3.0, 5.0),
}

STOPS_ALL = (Refusal.LIGHTNING, Refusal.DARKNESS, Refusal.SNOW)
STOPS_CLIMBING = (Refusal.HUNG, Refusal.CRACK)


def size_class(dbh_cm: float, height_m: float) -> int:
    """0 small, 1 medium, 2 large, 3 very large: the greater of what diameter and height say."""
    return sum(1 for widest_cm, highest_m in SIZE_LIMITS if dbh_cm > widest_cm or height_m > highest_m)


def compare(
    inp: FellingInput,
    *,
    dbh_cm: float,
    felled: FellingPlanResult | None,
    pulled: FellingPlanResult | None,
    access: Access | None = None,
    rates: Rates | None = None,
    bounds: Bounds = METHOD_BOUNDS,
) -> tuple[MethodRow, ...]:
    """One row for each method, in the order of `Method`; the cheapest of the possible ones is marked.

    `felled` and `pulled` are the plans of this tree without and with a line, None while they are not made.
    """
    access, rates = access or Access(), rates or Rates()
    rows = [
        _felled_row(Method.FELLED, felled),
        _felled_row(Method.PULLED, pulled),
        _row(Method.CLIMBED, against=(*_stops(inp, access), *_no_climbing(inp, bounds)), conditions=CLIMBED_CONDITIONS),
        _row(Method.LIFT, against=(*_stops(inp, access), *_lift(inp, rates)), conditions=LIFT_CONDITIONS),
        _row(Method.CRANE, against=_stops(inp, access), conditions=_crane_conditions(inp, bounds)),
        _row(Method.MACHINE, against=(*_stops(inp, access), *_machine(dbh_cm, rates)), conditions=MACHINE_CONDITIONS),
    ]
    size = size_class(dbh_cm, inp.height_m)
    return _cheapest_marked(tuple(_priced(_asked(row, access), size, rates) for row in rows))


CLIMBED_CONDITIONS = (
    "A qualified climber judges the tree before leaving the ground, and a second one is there for a rescue.",
    "A drop zone for each piece, kept clear by the ground crew.",
)
LIFT_CONDITIONS = (
    "Ground that is level and firm enough for the lift, as its maker and operator say.",
    "A person on the ground who can lower the platform.",
)
MACHINE_CONDITIONS = ("The operator says that the machine holds this stem on this ground.",)
CRANE_CONDITIONS = (
    "The operator plans each pick by the crane's load chart, with the weight at its heavy end.",
    "Firm ground for the outriggers; nobody under a load.",
)
MARGINAL = "The plan is marginal: it holds at the nominal values only."
NO_PLAN = "No felling plan of this kind has been made."
ROOM = ("Is there an open lay?", "No lay is open.")
VEHICLE = ("Can it be brought to the tree?", "It cannot be brought to the tree.")


def _row(
    method: Method,
    *,
    against: tuple[str, ...] = (),
    to_settle: tuple[str, ...] = (),
    conditions: tuple[str, ...] = (),
) -> MethodRow:
    return MethodRow(
        method=method,
        ruling=_ruling(against, to_settle),
        against=against,
        to_settle=to_settle,
        conditions=conditions,
        crew=CREWS[method],
        hours=0.0,
        cost=0.0,
    )


def _ruling(against: tuple[str, ...], to_settle: tuple[str, ...]) -> Ruling:
    if against:
        return Ruling.RULED_OUT
    return Ruling.TO_SETTLE if to_settle else Ruling.POSSIBLE


def _felled_row(method: Method, plan: FellingPlanResult | None) -> MethodRow:
    """A plan that is outside or not adequate rules felling out, with the plan's own reasons."""
    if plan is None:
        return _row(method, to_settle=(NO_PLAN,))
    if plan.verdict is Verdict.MARGINAL:
        return _row(method, to_settle=(MARGINAL, *plan.changes), conditions=plan.conditions)
    if plan.verdict is Verdict.ADEQUATE:
        return _row(method, conditions=plan.conditions)
    return _row(method, against=plan.reasons)


def _stops(inp: FellingInput, access: Access) -> tuple[str, ...]:
    """What stops work in the tree or beside it by any means: the weather of the hour, and wires."""
    weather = (f"There is {refusal}." for refusal in inp.health.refusals if refusal in STOPS_ALL)
    return (*weather, *(() if access.wires_isolated else _wires(inp)))


def _wires(inp: FellingInput) -> Iterator[str]:
    """The approach distance holds for crown, ropes, lift and boom alike (29 CFR 1910.333(c)(3))."""
    gap_m, kilovolts = inp.site.wire_gap_m, inp.site.wire_kv
    if gap_m is None:
        if inp.site.wire_distance_m is not None:
            yield "A wire is noted and its gap to the crown is not measured: measure it, or have the wire isolated."
    elif kilovolts is None:
        yield "A wire is near the crown and its voltage is not known: stop until its owner isolates it."
    elif gap_m < (least_m := approach_distance_m(kilovolts)) - TOLERANCE:
        yield (
            f"The crown comes within {wording.length(gap_m)} of a wire; {wording.length(least_m)} is the least: "
            "stop until its owner isolates it, or call a line-clearance crew."
        )


def _no_climbing(inp: FellingInput, bounds: Bounds) -> Iterator[str]:
    health = inp.health
    if _dead_past_policy(inp, bounds):
        yield "Dead past the policy, or not known since when: no climbing."
    yield from (f"The tree has {refusal}: no climbing." for refusal in health.refusals if refusal in STOPS_CLIMBING)
    shell = health.sound_shell_share
    if health.hinge_decayed or (shell is not None and not bounds.sound_shell_share.holds(shell)):
        yield "The stem is decayed near the ground: no climbing."


def _dead_past_policy(inp: FellingInput, bounds: Bounds) -> bool:
    months = inp.health.months_dead
    return counts_as_dead(inp) and (months is None or not bounds.months_dead.holds(months))


def _lift(inp: FellingInput, rates: Rates) -> Iterator[str]:
    if inp.height_m > rates.lift_reach_m:
        yield f"The tree is {wording.length(inp.height_m)} high; the city's lift reaches {wording.length(rates.lift_reach_m)}."


def _crane_conditions(inp: FellingInput, bounds: Bounds) -> tuple[str, ...]:
    if _dead_past_policy(inp, bounds):
        return (*CRANE_CONDITIONS, "The slings are set from a lift, not by a climber.")
    return CRANE_CONDITIONS


def _machine(dbh_cm: float, rates: Rates) -> Iterator[str]:
    most_cm = rates.machine_most_cm
    if dbh_cm > most_cm:
        yield f"The stem is {wording.length(dbh_cm / 100)} thick; the machine holds {wording.length(most_cm / 100)}."


def _asked(row: MethodRow, access: Access) -> MethodRow:
    """Rule a way out where its answer is no, and ask where nobody has looked."""
    answers = {
        Method.FELLED: access.open_lay,
        Method.PULLED: access.open_lay,
        Method.LIFT: access.lift,
        Method.CRANE: access.crane,
        Method.MACHINE: access.machine,
    }
    answer = answers.get(row.method, True)
    if answer:
        return row
    question, refusal = ROOM if row.method in (Method.FELLED, Method.PULLED) else VEHICLE
    against = row.against if answer is None else (*row.against, refusal)
    to_settle = (*row.to_settle, question) if answer is None else row.to_settle
    return replace(row, against=against, to_settle=to_settle, ruling=_ruling(against, to_settle))


def _priced(row: MethodRow, size: int, rates: Rates) -> MethodRow:
    hours = HOURS[row.method][size]
    day_rates = {Method.LIFT: rates.lift_day, Method.CRANE: rates.crane_day, Method.MACHINE: rates.machine_day}
    climbers = 1 if row.method is Method.CLIMBED else 0
    people = (row.crew - climbers) * rates.person_hour + climbers * rates.climber_hour
    return replace(row, hours=hours, cost=hours * people + _hire_days(hours) * day_rates.get(row.method, 0.0))


def _hire_days(hours: float) -> float:
    return math.ceil(DAY_PARTS * hours / HOURS_A_DAY) / DAY_PARTS


def _cheapest_marked(rows: tuple[MethodRow, ...]) -> tuple[MethodRow, ...]:
    """At equal cost the first of them."""
    possible = [row for row in rows if row.ruling is Ruling.POSSIBLE]
    if not possible:
        return rows
    cheapest = min(possible, key=lambda row: row.cost)
    return tuple(replace(row, cheapest=row is cheapest) for row in rows)
