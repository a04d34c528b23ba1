"""What a crew lead takes along and brings back: the orders of a park, and the briefing and the felling done without signal.

Both kinds of record go through the same workflow as the pages, under the same rules: an offline signature binds the plan and
the crew that it was given for, and a plan, crew or method that changed meanwhile refuses it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.urls import reverse

from hazards.field.packs import Asked, Part, Table, closed
from inventory.record import Actor
from inventory.sent import DAY, KEY, YES_OR_NO, Faulty, Kind, Sent, Stored, group, many, number, or_null, text, word
from inventory.units import Units
from removals import briefing_work, workflow
from removals.briefing import Chapter, checklist
from removals.briefing_forms import CARD, GUST_MOST_MS, SIGNALS_MOST, first_card, first_signals
from removals.emergency import LINES, LONGEST
from removals.kept_plan import read_input, read_result
from removals.models import CrewRole, FellingPlan, JobBriefing, OrderState, RemovalOrder
from removals.outcome import Went
from removals.plan_figures import at_a_glance
from removals.plan_views import drawings_of
from removals.procedure import procedure
from removals.readiness import felling_gaps, latest_plan, named_crew
from removals.signals import Signal, SignalKind
from removals.states import Action, permission
from removals.taking_down import TakingDown, taking_down

BRIEF, FELL = permission(Action.BRIEF), permission(Action.FELL)

# ---- Orders taken along ----------------------------------------------------------------------------------------------

COLUMNS = (
    "id",
    "number",
    "tree",
    "title",
    "state",
    "scheduled_for",
    "rating",
    "facts",
    "emergency",
    "drawings",
    "procedure",
    "conditions",
    "caution",
    "gaps",
    "crew",
    "roles",
    "signals",
    "signal_kinds",
    "checklist",
    "card",
    "stop_wind",
    "stop_wind_ms",
    "plan",
    "digest",
    "may_brief",
    "may_fell",
    "felled_in_one",
)


def orders(asked: Asked) -> Table:
    """Those of the park with a day, whoever leads them: a crew may be handed over. Few, so they come whole every time."""
    of_park = RemovalOrder.objects.filter(park=asked.park, state=OrderState.SCHEDULED)
    rows = of_park.select_related("tree__species", "park").order_by("scheduled_for", "pk")
    return Table(COLUMNS, [_row(order, asked) for order in rows], closed(asked, RemovalOrder, of_park))


def _row(order: RemovalOrder, asked: Asked) -> list[Any]:
    plan = latest_plan(order)
    down = taking_down(order, plan)
    told = {**_head(order), **_on_site(order, down), **_planned(plan, down)}
    told |= {"may_brief": plan is not None and BRIEF in asked.granted, "may_fell": FELL in asked.granted}
    return [told[name] for name in COLUMNS]


def _head(order: RemovalOrder) -> dict[str, Any]:
    return {
        "id": order.pk,
        "number": order.number,
        "tree": order.tree_id,
        "title": f"Remove {order.tree.tag}",
        "state": order.state,
        "scheduled_for": order.scheduled_for,
        "rating": order.rating,
        "gaps": list(felling_gaps(order)),
        "crew": named_crew(order),
    }


def _on_site(order: RemovalOrder, down: TakingDown) -> dict[str, Any]:
    """What the briefing goes through: card, signals, checklist, each as the page of the briefing begins with it."""
    earlier = JobBriefing.objects.filter(plan__order=order).order_by("-held_at").first()
    card = {name.removeprefix(CARD): value for name, value in first_card(order, earlier).items()}
    return {
        "emergency": [[line.label, card.get(line.key) or "not kept: settle it on site"] for line in LINES],
        "card": [
            {"key": each.key, "label": each.label, "hint": each.hint, "value": card.get(each.key, "")} for each in LINES
        ],
        "signals": [list(row.values()) for row in first_signals(earlier)],
        "signal_kinds": [kind.value for kind in SignalKind],
        "roles": CrewRole.values,
        "checklist": [{"chapter": chapter.value, "items": _items(chapter, down)} for chapter in Chapter],
        "felled_in_one": down.felled,
        "stop_wind_ms": down.stop_wind_ms,
        "stop_wind": _stop_wind(down),
    }


def _items(chapter: Chapter, down: TakingDown) -> list[dict[str, str]]:
    every = checklist(pull_line=down.pull_line, method=down.method)
    return [{"key": each.key, "words": each.words} for each in every if each.chapter is chapter]


def _stop_wind(down: TakingDown) -> str:
    if down.stop_wind_ms is None:
        return "The plan holds in still air only."
    whose = "The plan’s stop wind" if down.felled else "The most wind in which a tree is taken down"
    return f"{whose} is {down.stop_wind_ms:.1f} m/s, held at 2 m."


def _planned(plan: FellingPlan | None, down: TakingDown) -> dict[str, Any]:
    """The kept plan in the city's words: both units stand in every figure, so that it reads the same to everybody."""
    if plan is None:
        nothing = {"facts": [], "drawings": [], "procedure": [], "conditions": list(down.conditions), "caution": ""}
        return {**nothing, "plan": None, "digest": ""}
    inp, result = read_input(plan.inputs), read_result(plan.results)
    method = [["Method", down.method.capitalize()]] if down.method else []
    felled = [[each.label, each.both] for each in at_a_glance(result, Units.METRIC)] if down.felled else []
    drawn = drawings_of(inp, result, Units.METRIC) if down.felled else []
    return {
        "facts": [*method, ["Verdict", plan.verdict.capitalize()], *felled],
        "drawings": [{"title": each.title, "svg": each.markup()} for each in drawn],
        "procedure": list(procedure(inp, result)) if down.felled else [],
        "conditions": [*(result.conditions if down.felled else ()), *down.conditions],
        "caution": result.caution,
        "plan": plan.pk,
        "digest": plan.digest,
    }


PARTS = (Part("orders", orders, BRIEF),)

# ---- Records brought back --------------------------------------------------------------------------------------------

BRIEFING = group(
    {
        "order": KEY,
        "plan": KEY,
        "digest": text(64, needed=True),
        "checked": many(text(60), 100),
        "signals": many(
            {
                "type": "array",
                "prefixItems": [word(*(kind.value for kind in SignalKind)), text(80), text(120)],
                "minItems": 3,
                "maxItems": 3,
            },
            SIGNALS_MOST,
        ),
        "gust_ms": number(0, GUST_MOST_MS),
        "weather": text(200),
        "emergency": {
            "type": "object",
            "properties": {line.key: text(LONGEST) for line in LINES},
            "additionalProperties": False,
        },
        "signatures": many(group({"name": text(120, needed=True), "role": word(*CrewRole.values)}), 30),
    },
    "weather",
)
FELLED = group(
    {
        "order": KEY,
        "plan_digest": text(64),
        "on": DAY,
        "outcome": text(workflow.OUTCOME_MOST, needed=True),
        "as_planned": YES_OR_NO,
        "hinge_held": or_null(YES_OR_NO),
        "hung_up": YES_OR_NO,
        "actual_lay_deg": or_null(number(0, 360)),
        "diameter_cm": or_null(number(1, 500)),
        "height_m": or_null(number(1, 120)),
        "near_miss": text(1000),
    },
    "hinge_held",
    "hung_up",
    "actual_lay_deg",
    "diameter_cm",
    "height_m",
    "near_miss",
)
WENT = ("as_planned", "hinge_held", "actual_lay_deg", "hung_up", "near_miss", "diameter_cm", "height_m")


def _order(told: Mapping[str, Any]) -> RemovalOrder:
    if order := RemovalOrder.objects.select_related("tree").filter(pk=told["order"]).first():
        return order
    raise Faulty({"order": "The server knows no such order; refresh the park."})


def _stored(sent: Sent, order: RemovalOrder, url: str) -> Stored:
    return Stored(f"order {order.number}", url, sent.clock_flags(), {"tree": order.tree})


def store_briefing(by: Actor, sent: Sent) -> Stored:
    """Held when the tablet says, on the plan that the tablet showed: another plan since then refuses it."""
    told = sent.payload
    order = _order(told)
    plan = order.plans.filter(pk=told["plan"], digest=told["digest"]).first()
    if plan is None:
        raise Faulty(
            {"plan": "This briefing names a plan that the order never had: refresh the park and brief on its plan."}
        )
    held = briefing_work.hold_briefing(
        by=by,
        plan=plan,
        checked=told["checked"],
        gust_ms=told["gust_ms"],
        emergency_card=told["emergency"],
        agreed=[Signal(*row) for row in told["signals"]],
        signatures=[(each["name"], each["role"]) for each in told["signatures"]],
        weather=told.get("weather", ""),
        at=sent.happened_at,
    )
    return _stored(sent, order, reverse("removals:held_briefing", args=[held.pk]))


def store_felled(by: Actor, sent: Sent) -> Stored:
    told = sent.payload
    order = _order(told)
    went = Went(**{name: told[name] for name in WENT if name in told})
    on = dt.date.fromisoformat(told["on"])
    workflow.fell(
        by=by, order=order, on=on, outcome=told["outcome"], plan_digest=told.get("plan_digest", ""), went=went
    )
    return _stored(sent, order, reverse("removals:order", args=[order.pk]))


KINDS = (Kind("briefing", BRIEFING, BRIEF, store_briefing), Kind("felled", FELLED, FELL, store_felled))
