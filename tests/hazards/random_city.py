"""A made-up city in which inspectors have been busy."""

import datetime as dt
import random
from itertools import product

from hazards.asked import ask_look
from hazards.matrix import Consequences, Exposure, Failure, Occupancy, suggest_impact
from inventory.models import Condition
from inventory.record import Actor
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory
from tests.hazards.factories import MORNING, TargetFactory, inspect, pick


def random_city() -> None:
    """Forty trees with up to four looks of any level, some corrected, some after the tree was gone, some asked for."""
    dice = random.Random(20260504)
    park = ParkFactory()
    targets = [TargetFactory(park=park, occupancy=use.value) for use in Occupancy]
    species = [SpeciesFactory(), SpeciesFactory(botanical="Acer saccharinum", flag="weak wood")]
    picks = list(product(Failure, Exposure, Consequences, targets))
    for number in range(40):
        tree = TreeFactory(park=park, species=dice.choice(species), removed=number % 13 == 0)
        wrong = None
        for _ in range(dice.randrange(5)):
            chosen = [
                pick(
                    target,
                    failure=failure,
                    exposure=exposure,
                    consequences=consequences,
                    impact=suggest_impact(Occupancy(target.occupancy), exposure),
                )
                for failure, exposure, consequences, target in dice.sample(picks, dice.randrange(4))
            ]
            wrong = inspect(
                tree,
                *chosen,
                level=dice.choice([1, 1, 2, 3]),
                observed_at=MORNING - dt.timedelta(days=dice.randrange(900)),
                condition=dice.choice(Condition.values),
                supersedes=wrong if wrong and dice.random() < 0.2 else None,
            )
        if tree.stands and dice.random() < 0.5:
            since = MORNING - dt.timedelta(days=dice.randrange(900))
            due_on = since.date() + dt.timedelta(days=dice.randrange(600))
            ask_look(by=Actor(), tree=tree, due_on=due_on, why="A storm", level=dice.choice([1, 2, 3]), since=since)
