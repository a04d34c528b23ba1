"""The ways to take an order's tree down, compared at the city's rates, and the choice of one with its reason."""

from __future__ import annotations

import datetime as dt
from dataclasses import asdict, dataclass, replace

from django.db import transaction
from django.utils import timezone

from inventory import record
from inventory.access import Permission
from inventory.errors import Refused
from inventory.models import Tree
from inventory.record import Actor
from removals import felling
from removals.bounds import METHOD_BOUNDS
from removals.city_rules import city_rules, rates_of
from removals.felling_input import FellingInput
from removals.felling_result import FellingPlanResult
from removals.kept_plan import read_input
from removals.lay_finder import nearest_wire_m
from removals.methods import Access, MethodRow, Ruling, compare
from removals.models import FellingPlan, MethodChoice, RemovalOrder
from removals.order_place import falling_tree, lays_in, place_of, with_place
from removals.place_work import open_order
from removals.readiness import latest_plan
from removals.steps import said, short
from removals.tree_plan import Choices, StandingTree, input_for_tree

DAYS_A_MONTH = 365.25 / 12


@dataclass(frozen=True)
class Comparison:
    """``missing``: the sentence that says why nothing can be compared, or empty."""

    rows: tuple[MethodRow, ...]
    access: Access
    missing: str = ""


def compared(order: RemovalOrder, access: Access) -> Comparison:
    """All methods for this order's tree in its place, at today's rates; `open_lay` is what the lay finder knows."""
    plan = latest_plan(order)
    tree = falling_tree(order.tree, plan)
    dbh_cm = _dbh_cm(order.tree, plan)
    if tree is None or dbh_cm is None:
        return Comparison((), access, "The tree's height and diameter are needed before methods can be compared.")
    access = replace(access, open_lay=_open_lay(order, plan))
    inp = _input(order, plan, dbh_cm, tree.height_m)
    felled, pulled = _felling_plans(inp, plan)
    rates = rates_of(city_rules())
    return Comparison(compare(inp, dbh_cm=dbh_cm, felled=felled, pulled=pulled, access=access, rates=rates), access)


@transaction.atomic
def choose_method(
    *, by: Actor, order: RemovalOrder, method: str, reason: str, access: Access, at: dt.datetime | None = None
) -> MethodChoice:
    """Record how the tree is taken down, with the rows that were compared; one that is ruled out is refused."""
    order = open_order(order, by, Permission.PLAN_FELLING)
    comparison = compared(order, access)
    row = next((each for each in comparison.rows if each.method.value == method), None)
    if row is None:
        raise Refused(comparison.missing or f"“{method}” is no method; choose one of those compared.")
    if row.ruling is Ruling.RULED_OUT:
        raise Refused(f"{method.capitalize()} is ruled out: {row.against[0]}")
    chosen = MethodChoice.objects.create(
        order=order,
        method=method,
        reason=said(reason, "Say why this method is chosen.", 300),
        comparison={"access": asdict(comparison.access), "rows": [asdict(each) for each in comparison.rows]},
        chosen_by=by.user,
        chosen_at=at or timezone.now(),
    )
    summary = f"To be {method}: {chosen.reason}"
    record.write(by=by, verb="method chosen", subject=order, tree=order.tree, summary=short(summary, 300))
    return chosen


def _dbh_cm(tree: Tree, plan: FellingPlan | None) -> float | None:
    entered = plan.inputs.get("entered", {}) if plan else {}
    value = entered.get("dbh_cm") or tree.dbh_cm
    return float(value) if value else None


def _open_lay(order: RemovalOrder, plan: FellingPlan | None) -> bool | None:
    """None while nobody knows what stands around the tree."""
    tree = falling_tree(order.tree, plan)
    if tree is None:
        return None
    place = place_of(order, tree.height_m)
    if not place.located and not place.added:
        return None
    return bool(lays_in(place, tree).proposed)


def _input(order: RemovalOrder, plan: FellingPlan | None, dbh_cm: float, height_m: float) -> FellingInput:
    """The latest plan's input, else one from the inventory alone; the place as it is now in both."""
    inp = read_input(plan.inputs) if plan else _from_inventory(order.tree, dbh_cm, height_m)
    inp, _ = with_place(order, inp)
    placed_m, entered_m = nearest_wire_m(inp.site.things), inp.site.wire_distance_m
    # A wire that the whole tree could not reach stops nobody who takes it down piece by piece.
    reach_m = METHOD_BOUNDS.wire_heights.low * inp.height_m
    nearest_m = min((each for each in (placed_m, entered_m) if each is not None and each < reach_m), default=None)
    return replace(inp, site=replace(inp.site, wire_distance_m=nearest_m))


def _from_inventory(tree: Tree, dbh_cm: float, height_m: float) -> FellingInput:
    since = tree.dead_since
    standing = StandingTree(
        dbh_cm=dbh_cm,
        height_m=height_m,
        botanical=tree.species.botanical if tree.species else "",
        crown_spread_m=tree.crown_spread_m,
        dead=tree.is_dead,
        months_dead=(timezone.localdate() - since).days / DAYS_A_MONTH if since else None,
    )
    return input_for_tree(standing, Choices())


def _felling_plans(
    inp: FellingInput, plan: FellingPlan | None
) -> tuple[FellingPlanResult | None, FellingPlanResult | None]:
    """Without a line and with one; None for what nobody has planned."""
    if plan is None:
        return None, None
    pulled = felling.plan(inp) if inp.line else None
    return felling.plan(replace(inp, line=None)), pulled
