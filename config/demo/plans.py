"""Felling plans and briefings as a crew lead makes them: the page's own form filled in, for the orders and for the walk."""

import datetime as dt
from dataclasses import asdict, dataclass, replace

from inventory.models import Tree
from inventory.record import Actor
from removals import briefing, briefing_work, workflow
from removals.around import things_around
from removals.lay_finder import FallingTree, find_lays
from removals.models import CrewRole, FellingPlan, JobBriefing, RemovalOrder
from removals.order_place import falling_tree, lays_in, place_of
from removals.place_work import accept_thing
from removals.plan_fields import WINCH
from removals.plan_form import FellingPlanForm, prefilled
from removals.taking_down import taking_down
from removals.tree_plan import PlumbPoint, TreePlan, plan_for_tree

BRUSHED = "Only the edge of its crown is brushed; it is looked at afterwards."


@dataclass(frozen=True)
class Setting:
    """What the crew lead measured and chose: lay and lean, and the winch line. Named as in the form."""

    lay_deg: float
    plumb_offset_m: float
    lean_toward_deg: float
    plumb_height_m: float
    anchor_height_m: float
    line_distance_m: float
    winch_n: float
    working_load_limit_n: float
    gust_ms: float


@dataclass(frozen=True)
class Draft:
    """A plan computed but not yet kept."""

    form: FellingPlanForm
    computed: TreePlan


def lay_by_place(setting: Setting, order: RemovalOrder, manager: Actor) -> Setting:
    """Turned to the best open lay; where none is open, to the one with the least in its swath, accepted by the manager."""
    tree = _falling(order.tree)
    found = lays_in(place_of(order, tree.height_m), tree)
    if found.proposed:
        return turned(setting, found.proposed[0].bearing_deg)
    least = min(found.lays, key=lambda lay: len(lay.blocked_by))
    for seen in least.blocked_by:
        accept_thing(by=manager, order=order, name=seen.name, reason=BRUSHED)
    return turned(setting, least.bearing_deg)


def open_lay(tree: Tree) -> float | None:
    """The best lay of a tree that has no order yet; None when all are blocked."""
    falling = _falling(tree)
    found = find_lays(falling, things_around(tree, falling.height_m).things)
    return found.proposed[0].bearing_deg if found.proposed else None


def turned(setting: Setting, lay_deg: float) -> Setting:
    """The same tree turned as a whole: its lean turns with its lay."""
    lean_deg = (setting.lean_toward_deg + lay_deg - setting.lay_deg) % 360
    return replace(setting, lay_deg=lay_deg, lean_toward_deg=lean_deg)


def _falling(tree: Tree) -> FallingTree:
    falling = falling_tree(tree, None)
    if falling is None:
        raise ValueError(f"no lay for {tree}: its height is not known")
    return falling


def draft(tree: Tree, setting: Setting) -> Draft:
    """The plan; ValueError for a tree of which the form asks more than is known."""
    form = FellingPlanForm(_typed(tree, setting), tree=tree)
    if not form.is_valid():
        raise ValueError(f"no plan for {tree}: {form.errors.as_json()}")
    return Draft(form, plan_for_tree(form.standing_tree(), form.choices()))


def _typed(tree: Tree, setting: Setting) -> dict[str, object]:
    """What the page's form would send: its own starting values, what the inventory knows, and what was measured."""
    fields = FellingPlanForm.base_fields
    start = {name: field.initial for name, field in fields.items() if field.initial is not None}
    chosen = {"means": WINCH, "plumb_point": PlumbPoint.CROWN_CENTRE.value, "sheave": "bearing sheave"}
    values = {**start, **prefilled(tree, None), **asdict(setting), **chosen}
    return {name: value for name, value in values.items() if value is not None}


def keep(by: Actor, order: RemovalOrder, plan: Draft, at: dt.datetime | None = None) -> FellingPlan:
    inputs, assumptions = plan.computed.inp, plan.computed.assumed
    return workflow.make_plan(
        by=by, order=order, inputs=inputs, assumptions=assumptions, entered=plan.form.entered(), at=at
    )


def brief(by: Actor, plan: FellingPlan, at: dt.datetime | None = None) -> JobBriefing:
    """Every item of the checklist covered; signed by the lead, who fells, a puller and a spotter."""
    crew = ((by.name, CrewRole.FELLER), ("Ansel Brookwright", CrewRole.PULLER), ("Ida Fallowmere", CrewRole.SPOTTER))
    down = taking_down(plan.order, plan)
    checked = [item.key for item in briefing.checklist(pull_line=down.pull_line, method=down.method)]
    calm_ms = min(1.0, down.stop_wind_ms or 0.0)
    return briefing_work.hold_briefing(
        by=by,
        plan=plan,
        checked=checked,
        signatures=crew,
        gust_ms=calm_ms,
        weather="Dry, 6 °C",
        emergency_card=_card(by, plan),
        at=at,
    )


def _card(by: Actor, plan: FellingPlan) -> dict[str, str]:
    """What park and tree say, and over it what was confirmed on site."""
    park, tree = plan.order.park, plan.order.tree
    return {
        "phone": park.phone_coverage or "The lead’s phone; a call was tried",
        "address": park.dispatch_address or park.name,
        "position": f"{tree.lat}, {tree.lon}",
        "access": park.access_note or "From the street; Ida Fallowmere meets the rescuers there",
        "hospital": park.hospital or "Named by the dispatcher",
        "kit": "In the cab of the truck, doors open",
        "trained": f"{by.name}, Ida Fallowmere",
    }
