"""Felling plans and briefings as a crew lead makes them: the page's own form filled in, for the orders and for the walk."""

import datetime as dt
from dataclasses import asdict, dataclass

from inventory.models import Tree
from inventory.record import Actor
from removals import briefing, briefing_work, workflow
from removals.models import CrewRole, FellingPlan, JobBriefing, RemovalOrder
from removals.plan_fields import WINCH
from removals.plan_form import FellingPlanForm, prefilled
from removals.readiness import has_pull_line
from removals.tree_plan import PlumbPoint, TreePlan, plan_for_tree


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
    checked = [item.key for item in briefing.checklist(pull_line=has_pull_line(plan))]
    return briefing_work.hold_briefing(
        by=by,
        plan=plan,
        checked=checked,
        signatures=crew,
        gust_ms=1.5,
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
