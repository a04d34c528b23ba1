"""What is stored of the weather: rain by day, for the city or for one park."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from inventory.models import Park

RAIN_MAX_MM = 2000.0


class Rain(models.Model):
    """Rain of one day; without a park it is the city's gauge."""

    park = models.ForeignKey(Park, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    day = models.DateField()
    mm = models.FloatField()

    class Meta:
        ordering: ClassVar = ["-day", "park"]
        verbose_name_plural = "rain"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["day", "park"], name="rain_once_a_day_and_park"),
            models.UniqueConstraint(fields=["day"], condition=Q(park__isnull=True), name="rain_once_a_day"),
            models.CheckConstraint(condition=Q(mm__range=(0, RAIN_MAX_MM)), name="rain_mm"),
        ]

    def __str__(self) -> str:
        return f"{self.mm} mm on {self.day}"
