"""What is stored of the planting plan: a crew's day, and the replacements that it is to plant then."""

from __future__ import annotations

import datetime as dt
from typing import ClassVar

from django.db import models
from django.db.models import Q

from replanting.models.tasks import ReplacementTask, TaskState

PLANTABLE = (TaskState.SPECIES_CHOSEN, TaskState.ORDERED)


class PlantingDay(models.Model):
    """One crew on one day, and how many trees it can plant."""

    day = models.DateField()
    crew = models.CharField(max_length=120)
    capacity = models.PositiveSmallIntegerField()
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["day", "crew"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["day", "crew"], name="planting_day_once_a_crew"),
            models.CheckConstraint(condition=~Q(crew=""), name="planting_day_names_crew"),
            models.CheckConstraint(condition=Q(capacity__range=(1, 200)), name="planting_day_capacity"),
        ]

    def __str__(self) -> str:
        return f"{self.day} with {self.crew}"


class PlannedQuerySet(models.QuerySet["PlannedPlanting"]):
    def waiting(self) -> PlannedQuerySet:
        """Still to be planted: a choice that was set aside falls out by itself."""
        return self.filter(task__state__in=PLANTABLE)

    def overdue(self, today: dt.date) -> PlannedQuerySet:
        return self.waiting().filter(planting_day__day__lt=today)


class PlannedPlanting(models.Model):
    """A replacement on a crew's day; it leaves the plan when it is planted."""

    task = models.OneToOneField(ReplacementTask, on_delete=models.PROTECT, related_name="planned")
    planting_day = models.ForeignKey(PlantingDay, on_delete=models.PROTECT, related_name="planned")

    objects: ClassVar = PlannedQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["planting_day", "pk"]

    def __str__(self) -> str:
        return f"{self.task} on {self.planting_day}"
