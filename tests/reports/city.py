"""A small city in which every column of a report has something to count."""

import datetime as dt
import random

from hazards.matrix import Failure, Impact
from inventory.models import Park, Tree, TreeStatus
from inventory.record import COMMAND
from removals.models import OrderState, RemovalOrder
from replanting import workflow
from tests.factories import TODAY, ParkFactory, SpeciesFactory, TreeFactory
from tests.hazards.factories import TargetFactory, inspect, pick
from tests.replanting.walk import chosen, opened, planted

NAMES = [
    f"{genus} {epithet}"
    for genus in ("Quercus", "Acer", "Tilia", "Ulmus")
    for epithet in ("alba", "rubra", "nigra", "vera", "lutea")
]
SIZES = (None, 4.0, 14.99, 15.0, 29.9, 30.0, 59.9, 60.0, 89.9, 90.0, 140.0)


def plant_trees(park: Park, number: int, chance: random.Random) -> list[Tree]:
    species = [SpeciesFactory(botanical=name) for name in NAMES]
    return [
        TreeFactory(
            park=park,
            species=chance.choice([None, *species[: chance.randint(1, 20)]]),
            dbh_cm=chance.choice(SIZES),
            status=chance.choice([TreeStatus.STANDING] * 5 + [TreeStatus.DEAD_STANDING]),
            **chance.choice([{}, {"lon": 1.0, "lat": 50.0, "cell": 1}]),
        )
        for _ in range(number)
    ]


def look_at(trees: list[Tree], park: Park, chance: random.Random) -> None:
    target = TargetFactory(park=park)
    for tree in trees:
        picks = pick(
            target, failure=chance.choice(list(Failure)), impact=chance.choice(list(Impact)), impact_reason="seen"
        )
        seen = dt.datetime(2026, 5, 30, 9, tzinfo=dt.UTC) - dt.timedelta(days=chance.randint(0, 1500))
        inspect(tree, *chance.choice([(), (picks,), (picks,)]), observed_at=seen)


def order_removals(trees: list[Tree], chance: random.Random) -> None:
    for tree in trees:
        state = chance.choice([OrderState.PROPOSED, OrderState.APPROVED, OrderState.WITHDRAWN])
        facts = {
            OrderState.APPROVED: {"approved_on": TODAY},
            OrderState.WITHDRAWN: {"withdrawn_on": TODAY, "withdrawn_reason": "pruned instead"},
        }.get(state, {})
        due_on = TODAY + dt.timedelta(days=chance.randint(-20, 20))
        RemovalOrder.objects.create(
            tree=tree, park=tree.park, state=state, reason="hollow", proposed_on=TODAY, due_on=due_on, **facts
        )


def replace(trees: list[Tree], chance: random.Random) -> None:
    for tree in trees:
        on = TODAY - dt.timedelta(days=chance.randint(0, 700))
        match chance.randint(0, 5):
            case 0:
                opened(tree, on=on)
            case 1:
                chosen(tree, on=on)
            case 2:
                planted(tree, on=on)
            case 3:
                workflow.fail(by=COMMAND, task=planted(tree, on=on).task, on=TODAY, reason="drought")
            case 4:
                workflow.establish(by=COMMAND, task=planted(tree, on=on).task, on=TODAY)
            case 5:
                workflow.waive(by=COMMAND, task=opened(tree, on=on), reason="no room", on=TODAY)


def small_city(seed: int = 5) -> list[Park]:
    chance = random.Random(seed)
    parks = [ParkFactory(code=code, name=f"Park {code}") for code in ("ALB", "BRO", "CAS")]
    for park, number in zip(parks, (40, 16, 0), strict=True):
        trees = plant_trees(park, number, chance)
        look_at(trees[: number * 2 // 3], park, chance)
        order_removals(trees[: number // 5], chance)
        replace(trees[number * 3 // 4 :], chance)
    return parks
