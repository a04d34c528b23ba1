"""A planting season in Alderquay: more than one tree owed and split up, an order at a nursery that came in parts, and rain."""

import datetime as dt
from collections.abc import Mapping

from django.db import transaction

from config.demo import crews
from config.demo.files import Calendar
from inventory.models import Species
from inventory.record import Actor
from removals import workflow as removals
from removals.models import OrderState, RemovalOrder
from replanting import parting, stock_work
from replanting import workflow as replanting
from replanting.city_policy import change_policy
from replanting.models import NurseryOrder, Rain, RejectReason, ReplacementTask, ReplantingPolicy, Stock, TaskState
from replanting.owed import PRINTED, TABLE, Rule
from replanting.policy import Policy
from replanting.season import season_name
from replanting.stock_list import Wanted
from replanting.weather import Fallen, load_rain

SEVERAL_OWED, TAXON = "AQ-01981", "Tilia tomentosa"
CLOSED_DAYS, SPLIT_DAYS, ORDERED_DAYS, CAME_DAYS = "50", "45", "40", "12"
# Millimetres a day, the last of them yesterday's: a dry week, a wet one, drizzle, and dry again.
RAIN_MM = (0, 0, 1.2, 0, 0, 0, 0.4, 6.1, 14.8, 9.0, 0, 3.3, 0, 0, 2.0, 1.6, 0.8, 0, 2.4, 0, 1.1, 0, 0, 0, 0.6, 0, 0, 0)


@transaction.atomic
def load_season(by: Mapping[str, Actor], calendar: Calendar) -> int:
    """Trees ordered from the nursery; none when it was done before, or somebody has set a policy or closed the order."""
    if not _untouched():
        return 0
    _owe_several(by, calendar)
    _split(by["linnea"], calendar)
    return _order(by["linnea"], calendar)


def _untouched() -> bool:
    felled = RemovalOrder.objects.filter(tree__tag=SEVERAL_OWED, state=OrderState.FELLED)
    return felled.exists() and not ReplantingPolicy.objects.exists() and not NurseryOrder.objects.exists()


def _owe_several(by: Mapping[str, Actor], calendar: Calendar) -> None:
    """The city begins to count trees by a table of inches, and the next order that closes is counted by it."""
    change_policy(by=by["selma"], policy=Policy(rule=Rule(form=TABLE, rows=PRINTED[TABLE])), seen=0)
    order = RemovalOrder.objects.get(tree__tag=SEVERAL_OWED)
    on = calendar.on(CLOSED_DAYS)
    crews.clean_up(by["rufus"], order, on)
    removals.close(by=by["selma"], order=order, on=on)


def _split(by: Actor, calendar: Calendar) -> None:
    """Of what is owed beyond the old spot, one gets its species now; the others wait for a place."""
    further = ReplacementTask.objects.get(removed_tree__tag=SEVERAL_OWED, first=False)
    on = calendar.on(SPLIT_DAYS)
    one = parting.split(by=by, task=further, units=1, reason="one fits beside the gate, the others do not", on=on)
    species = Species.objects.get(botanical=TAXON)
    replanting.choose_species(by=by, task=one, species=species, reason="wide crown for the gate; no ash again", on=on)


def _order(by: Actor, calendar: Calendar) -> int:
    waiting = ReplacementTask.objects.filter(state=TaskState.SPECIES_CHOSEN, species__botanical=TAXON, cultivar="")
    tasks = tuple(waiting.order_by("pk").values_list("pk", flat=True))
    species = Species.objects.get(botanical=TAXON)
    came = calendar.on(CAME_DAYS)
    season, year = season_name(came).split()
    order = stock_work.order_from_nursery(
        by=by,
        nursery="Saltmarsh Nursery",
        season=season,
        year=int(year),
        lines=[Wanted(species.pk, "", Stock.CONTAINER, 5.0, tasks, spares=3)],
        on=calendar.on(ORDERED_DAYS),
    )
    line = order.lines.get()
    stock_work.receive(
        by=by,
        line=line,
        on=came,
        received=line.ordered - 2,
        rejected=1,
        reason=RejectReason.GIRDLING_ROOTS,
        note="Roots around the trunk under the topmost layer; one more is to come.",
    )
    return line.ordered


@transaction.atomic
def load_weeks_of_rain(by: Mapping[str, Actor], calendar: Calendar) -> int:
    """Days of the city's gauge; none when rain is there already."""
    if Rain.objects.exists():
        return 0
    first = calendar.today - dt.timedelta(days=len(RAIN_MM))
    fallen = [Fallen(first + dt.timedelta(days=day), mm) for day, mm in enumerate(RAIN_MM)]
    return load_rain(by=by["linnea"], rows=fallen)
