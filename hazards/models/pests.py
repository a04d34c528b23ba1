"""What is stored of the pests that the city watches for."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import F, Q

from hazards.pests import PESTS, Pest


class PestWatch(models.Model):
    """A pest that the city watches for, from a day on; which trees are its hosts follows from their genus."""

    pest = models.CharField(max_length=10, choices=[(pest.code, pest.name) for pest in PESTS.values()])
    since = models.DateField()
    note = models.CharField(max_length=300, blank=True, help_text="For example where it was found, or who warned.")
    ended_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["ended_on", "-since"]
        verbose_name_plural = "pest watches"
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(pest__in=list(PESTS)), name="pest_watch_pest"),
            models.UniqueConstraint(fields=["pest"], condition=Q(ended_on__isnull=True), name="pest_watched_once"),
            models.CheckConstraint(
                condition=Q(ended_on__isnull=True) | Q(ended_on__gte=F("since")), name="pest_watch_ends_after"
            ),
        ]

    def __str__(self) -> str:
        return self.kind.name

    @property
    def kind(self) -> Pest:
        return PESTS[self.pest]


DAY_OF_YEAR = r"^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$"


class PruningLimit(models.Model):
    """When the hosts of a watched pest must not be pruned here, and who says so. Days of the year as ``04-15``."""

    watch = models.ForeignKey(PestWatch, on_delete=models.CASCADE, related_name="limits")
    genus = models.CharField(max_length=60)
    region = models.CharField(max_length=120)
    first = models.CharField("first day", max_length=5)
    last = models.CharField("last day", max_length=5)
    rule = models.CharField(max_length=200)
    authority = models.CharField(max_length=200)

    class Meta:
        ordering: ClassVar = ["genus", "first"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(first__regex=DAY_OF_YEAR, last__regex=DAY_OF_YEAR), name="pruning_limit_days"
            ),
            models.CheckConstraint(condition=~Q(rule="") & ~Q(authority=""), name="pruning_limit_says_who"),
        ]

    def __str__(self) -> str:
        return f"{self.genus}: {self.rule}, {self.first} to {self.last} ({self.authority})"
