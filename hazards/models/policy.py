"""What is stored of the city's own times, and of the ranking's filters that people keep."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from hazards.matrix import Rating
from hazards.policy import DEFAULT


def own_order() -> list[str]:
    """The program's own order of the ranking below imminent failure and rating."""
    return [criterion.value for criterion in DEFAULT.order]


class CityPolicy(models.Model):
    """The city's own times: one row, and none while the program's defaults hold. ``version`` counts its changes."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    version = models.PositiveIntegerField(default=0, editable=False)
    imminent_days = models.PositiveSmallIntegerField()
    extreme_days = models.PositiveSmallIntegerField()
    high_days = models.PositiveSmallIntegerField()
    moderate_days = models.PositiveSmallIntegerField(null=True, blank=True)
    low_days = models.PositiveSmallIntegerField(null=True, blank=True)
    constant_months = models.PositiveSmallIntegerField()
    frequent_months = models.PositiveSmallIntegerField()
    occasional_months = models.PositiveSmallIntegerField()
    rare_months = models.PositiveSmallIntegerField()
    dead_days = models.PositiveSmallIntegerField()
    extreme_look_days = models.PositiveSmallIntegerField(
        null=True, blank=True, default=DEFAULT.look_days[Rating.EXTREME]
    )
    high_look_days = models.PositiveSmallIntegerField(null=True, blank=True, default=DEFAULT.look_days[Rating.HIGH])
    moderate_look_days = models.PositiveSmallIntegerField(null=True, blank=True)
    low_look_days = models.PositiveSmallIntegerField(null=True, blank=True)
    order = ArrayField(models.CharField(max_length=20), default=own_order, blank=True)
    rerating_days = models.PositiveSmallIntegerField(default=28, db_default=28)

    class Meta:
        verbose_name_plural = "city policies"
        constraints: ClassVar = [models.CheckConstraint(condition=Q(id=1), name="city_policy_one")]

    def __str__(self) -> str:
        return f"policy, version {self.version}"


class SavedView(models.Model):
    """Filters of the ranking under a name, for one person, or for all when shared."""

    owner = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    name = models.CharField(max_length=60)
    query = models.CharField(max_length=300, help_text="the filters as an address carries them")
    shared = models.BooleanField("for everybody", default=False)

    class Meta:
        ordering: ClassVar = ["name", "pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["owner", "name"], name="saved_view_name"),
            models.CheckConstraint(condition=~Q(name="") & ~Q(query=""), name="saved_view_whole"),
        ]

    def __str__(self) -> str:
        return self.name
