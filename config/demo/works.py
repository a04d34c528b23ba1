"""Removal orders in every state and what became of their replacements, step by step as it would have happened."""

from collections.abc import Mapping
from dataclasses import fields

from django.db import transaction

from config.demo import crews, outcomes, plans
from config.demo.files import Calendar, Row, number, table
from inventory.models import Species, Tree
from inventory.record import Actor
from removals import workflow as removals
from removals.models import KeptKind, OrderState, RemovalOrder
from replanting import workflow as replanting
from replanting.models import ReplacementTask, TaskState

Actors = Mapping[str, Actor]


@transaction.atomic
def load_orders(by: Actors, calendar: Calendar) -> int:
    """All of them or, when the first is there already, none; how many were made."""
    rows = table("orders.csv")
    if RemovalOrder.objects.filter(tree__tag=rows[0]["tag"]).exists():
        return 0
    trees = Tree.objects.select_related("species").in_bulk({row["tag"] for row in rows}, field_name="tag")
    for row in rows:
        _order(row, trees[row["tag"]], by, calendar)
    return len(rows)


def _kept(row: Row) -> str:
    """A few of the closed orders left something standing, told by the tag so that the demo is the same every time."""
    return {"4": KeptKind.SNAG.value, "7": KeptKind.STUMP.value}.get(row["tag"][-1], "")


def _order(row: Row, tree: Tree, by: Actors, calendar: Calendar) -> None:
    if row["state"] == OrderState.ALREADY_DOWN:
        lead, on = by[row["crew_lead"]], calendar.on(row["felled_days"])
        removals.already_down(by=lead, order_or_tree=tree, on=on, cause=row["outcome"])
        return
    proposed = calendar.on(row["proposed_days"])
    order = removals.propose(by=by[row["proposed_by"]], tree=tree, reason=row["reason"], on=proposed)
    if row["state"] == OrderState.WITHDRAWN:
        on = calendar.on(row["withdrawn_days"])
        removals.withdraw(by=by[row["withdrawn_by"]], order=order, reason=row["withdrawn_reason"], on=on)
    elif row["approved_by"]:
        removals.approve(by=by[row["approved_by"]], order=order, on=calendar.on(row["approved_days"]))
        _work(row, order, by, calendar)


def _work(row: Row, order: RemovalOrder, by: Actors, calendar: Calendar) -> None:
    if not row["crew_lead"]:
        return
    lead, manager = by[row["crew_lead"]], by[row["approved_by"]]
    day = calendar.on(row["scheduled_days"])
    decided = calendar.on(row["approved_days"])
    crews.prepare(lead, order, decided)
    removals.schedule(by=manager, order=order, scheduled_for=day, crew_lead=lead.user, on=decided)
    setting = plans.lay_by_place(_setting(row), order, manager)
    plan = plans.keep(lead, order, plans.draft(order.tree, setting), at=calendar.at(row["plan_days"], "15:30"))
    if not row["felled_days"]:
        return
    felled = calendar.on(row["felled_days"])
    crews.look_again(lead, order, felled)
    plans.brief(lead, plan, at=calendar.at(row["felled_days"], "07:40"))
    measured = outcomes.went(row["tag"], row["outcome"], plan)
    removals.fell(by=lead, order=order, on=felled, outcome=row["outcome"], went=measured)
    if row["closed_days"]:
        crews.clean_up(lead, order, felled, _kept(row))
        removals.close(by=manager, order=order, on=calendar.on(row["closed_days"]))


def _setting(row: Row) -> plans.Setting:
    return plans.Setting(**{field.name: float(row[field.name]) for field in fields(plans.Setting)})


@transaction.atomic
def load_replacements(by: Actors, calendar: Calendar) -> int:
    """All of them or, when any task of theirs has moved on already, none; how many there are."""
    rows = table("replacements.csv")
    tasks = {task.removed_tree.tag: task for task in ReplacementTask.objects.select_related("removed_tree")}
    if tasks[rows[0]["tag"]].state != TaskState.OPEN:
        return 0
    for row in rows:
        _replace(row, tasks[row["tag"]], by[row["by"]], calendar)
    return len(rows)


def _replace(row: Row, task: ReplacementTask, by: Actor, calendar: Calendar) -> None:
    if row["waived_days"]:
        on = calendar.on(row["waived_days"])
        replanting.waive(by=by, task=task, reason=row["waived_reason"], on=on)
    if not row["species"]:
        return
    species = Species.objects.get(botanical=row["species"])
    replanting.choose_species(
        by=by,
        task=task,
        species=species,
        cultivar=row["cultivar"],
        reason=row["species_reason"],
        on=calendar.on(row["chosen_days"]),
    )
    if row["ordered_days"]:
        on = calendar.on(row["ordered_days"])
        replanting.order_stock(by=by, task=task, stock=row["stock"], nursery=row["nursery"], on=on)
    if row["planted_days"]:
        _grow(row, task, by, calendar)


def _grow(row: Row, task: ReplacementTask, by: Actor, calendar: Calendar) -> None:
    planted = calendar.on(row["planted_days"])
    planting = replanting.plant(by=by, task=task, on=planted, caliper_cm=number(row["caliper_cm"]))
    for days in row["visit_days"].split():
        replanting.visit(by=by, planting=planting, on=calendar.on(days), watered_l=60.0)
    if row["established_days"]:
        replanting.establish(by=by, task=task, on=calendar.on(row["established_days"]))
    if row["failed_days"]:
        replanting.fail(by=by, task=task, on=calendar.on(row["failed_days"]), reason=row["failed_reason"])
