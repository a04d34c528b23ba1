"""What is stored of the promise that each removed tree comes back, and of the plantings that keep it."""

from replanting.models.plantings import CareVisit, Planting, PlantingQuerySet
from replanting.models.tasks import WAITING, ReplacementTask, Stock, TaskQuerySet, TaskState

__all__ = [
    "WAITING",
    "CareVisit",
    "Planting",
    "PlantingQuerySet",
    "ReplacementTask",
    "Stock",
    "TaskQuerySet",
    "TaskState",
]
