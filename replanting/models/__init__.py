"""What is stored of the promise that each removed tree comes back, and of the plantings that keep it."""

from replanting.models.accounts import Account, LedgerLine
from replanting.models.owed import CountForm, Owed, PolicyRow, ReplantingPolicy
from replanting.models.planting_day import PLANTABLE, PlannedPlanting, PlannedQuerySet, PlantingDay
from replanting.models.plantings import CareVisit, FailureCause, Planting, PlantingQuerySet, Pruning
from replanting.models.stock import Delivery, NurseryOrder, OrderLine, PlantingSeason, RejectReason
from replanting.models.tasks import (
    OF_THE_SPOT,
    WAITING,
    Obstacle,
    ObstacleKind,
    ReplacementTask,
    Stock,
    TaskQuerySet,
    TaskState,
    WaiverKind,
)
from replanting.models.weather import RAIN_MAX_MM, Rain

__all__ = [
    "OF_THE_SPOT",
    "PLANTABLE",
    "RAIN_MAX_MM",
    "WAITING",
    "Account",
    "CareVisit",
    "CountForm",
    "Delivery",
    "FailureCause",
    "LedgerLine",
    "NurseryOrder",
    "Obstacle",
    "ObstacleKind",
    "OrderLine",
    "Owed",
    "PlannedPlanting",
    "PlannedQuerySet",
    "Planting",
    "PlantingDay",
    "PlantingQuerySet",
    "PlantingSeason",
    "PolicyRow",
    "Pruning",
    "Rain",
    "RejectReason",
    "ReplacementTask",
    "ReplantingPolicy",
    "Stock",
    "TaskQuerySet",
    "TaskState",
    "WaiverKind",
]
