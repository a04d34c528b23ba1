"""What is stored of the promise that each removed tree comes back, and of the plantings that keep it."""

from replanting.models.planting_day import PLANTABLE, PlannedPlanting, PlannedQuerySet, PlantingDay
from replanting.models.plantings import CareVisit, FailureCause, Planting, PlantingQuerySet, Pruning
from replanting.models.stock import Delivery, NurseryOrder, OrderLine, PlantingSeason, RejectReason
from replanting.models.tasks import WAITING, ReplacementTask, Stock, TaskQuerySet, TaskState
from replanting.models.weather import RAIN_MAX_MM, Rain

__all__ = [
    "PLANTABLE",
    "RAIN_MAX_MM",
    "WAITING",
    "CareVisit",
    "Delivery",
    "FailureCause",
    "NurseryOrder",
    "OrderLine",
    "PlannedPlanting",
    "PlannedQuerySet",
    "Planting",
    "PlantingDay",
    "PlantingQuerySet",
    "PlantingSeason",
    "Pruning",
    "Rain",
    "RejectReason",
    "ReplacementTask",
    "Stock",
    "TaskQuerySet",
    "TaskState",
]
