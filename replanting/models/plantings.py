"""What is stored of the plantings that keep the promise, and of the visits to them."""

from __future__ import annotations

import datetime as dt
from typing import Any, ClassVar

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Exists, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce
from uuid_utils.compat import uuid7

from inventory.models import Tree, one_of
from replanting.models.stock import OrderLine
from replanting.models.tasks import ReplacementTask, Stock, TaskState
from replanting.planting_checks import Finding, review


class FailureCause(models.TextChoices):
    DROUGHT = "drought"
    WATERLOGGING = "waterlogging"
    DEPTH = "planting depth"
    STOCK = "stock"
    VANDALS = "vandals"
    MOWER = "mower or trimmer"
    ANIMALS = "animals"
    PEST = "pest or disease"
    UNKNOWN = "unknown"


class PlantingQuerySet(models.QuerySet["Planting"]):
    def in_care(self) -> PlantingQuerySet:
        """In the ground, neither lost nor established."""
        return self.filter(failed_on__isnull=True, task__state=TaskState.PLANTED)

    def with_last_visit(self) -> PlantingQuerySet:
        """Adds ``last_visit`` and ``last_alive`` (None before the first), and ``last_seen``: that day, or the planting's."""
        visits = CareVisit.objects.filter(planting=OuterRef("pk")).order_by("-visited_on", "-id")
        seen = self.annotate(
            last_visit=Subquery(visits.values("visited_on")[:1]), last_alive=Subquery(visits.values("alive")[:1])
        )
        return seen.annotate(last_seen=Coalesce("last_visit", "planted_on"))

    def with_care_given(self) -> PlantingQuerySet:
        """Adds ``last_watered`` (None when never), ``unstaked`` and ``pruned_on`` to what `with_last_visit` adds."""
        visits = CareVisit.objects.filter(planting=OuterRef("pk"))
        # A ball found saturated has its water: the next is due as after a watering.
        wet = visits.filter(Q(watered_l__gt=0) | Q(saturated=True))
        watered = wet.order_by("-visited_on").values("visited_on")[:1]
        prunings = Pruning.objects.filter(planting=OuterRef("pk")).order_by("-on")
        given: Any = self.with_last_visit()
        known: PlantingQuerySet = given.annotate(
            last_watered=Subquery(watered),
            unstaked=Exists(visits.filter(stakes_off=True)),
            pruned_on=Subquery(prunings.values("on")[:1]),
        )
        return known

    def unseen_since(self, day: dt.date) -> PlantingQuerySet:
        """In care, and nobody has looked at them after ``day``."""
        seen: Any = self.in_care().with_last_visit()
        young: PlantingQuerySet = seen.filter(last_seen__lte=day)
        return young


class Planting(models.Model):
    """One attempt: a young tree in the ground for a task. A failed one stays, with its reason; the task reopens."""

    task = models.ForeignKey(ReplacementTask, on_delete=models.PROTECT, related_name="plantings")
    tree = models.OneToOneField(Tree, on_delete=models.PROTECT, related_name="planting")
    stock = models.CharField(max_length=22, choices=Stock)
    caliper_cm = models.FloatField(null=True, blank=True)
    nursery = models.CharField(max_length=120, blank=True, help_text="as ordered; the task forgets it when it reopens")
    planted_on = models.DateField()
    sent_id = models.UUIDField(null=True, blank=True, unique=True, help_text="the number that a tablet gave it")
    line = models.ForeignKey(OrderLine, on_delete=models.PROTECT, null=True, blank=True, related_name="plantings")
    crew = models.CharField(max_length=120, blank=True)
    ball_cm = models.FloatField(null=True, blank=True, help_text="diameter of the root ball")
    checks = models.JSONField(default=dict, blank=True, help_text="answers to the planting checks, by key")
    season_reason = models.CharField(max_length=300, blank=True, help_text="why it was planted outside its window")
    failed_on = models.DateField(null=True, blank=True)
    failure_reason = models.CharField(max_length=300, blank=True)
    failure_causes = ArrayField(models.CharField(max_length=20, choices=FailureCause), default=list, blank=True)

    objects: ClassVar = PlantingQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["task", "planted_on"]
        constraints: ClassVar = [
            one_of("stock", Stock, name="planting_stock"),
            models.UniqueConstraint(
                fields=["task"], condition=Q(failed_on__isnull=True), name="planting_one_alive_a_task"
            ),
            models.CheckConstraint(
                condition=Q(failed_on__isnull=True, failure_reason="")
                | (Q(failed_on__isnull=False) & ~Q(failure_reason="")),
                name="planting_failure_has_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"planting of {self.tree}"

    @property
    def found_at_planting(self) -> list[Finding]:
        """The planting checks that somebody answered."""
        return [found for found in review(self.checks, self.ball_cm) if found.answer is not None]


class CareVisit(models.Model):
    """A visit to a young tree: watered, checked, how it does."""

    id = models.UUIDField(primary_key=True, default=uuid7)
    planting = models.ForeignKey(Planting, on_delete=models.PROTECT, related_name="visits")
    visited_on = models.DateField()
    alive = models.BooleanField(default=True)
    watered_l = models.FloatField(null=True, blank=True)
    stakes_off = models.BooleanField(default=False)
    saturated = models.BooleanField(default=False, help_text="the root ball was wet through: no water was given")
    note = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["-visited_on", "-id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(watered_l__isnull=True) | Q(watered_l__gte=0), name="visit_water"),
            models.CheckConstraint(
                condition=Q(saturated=False) | Q(watered_l__isnull=True) | Q(watered_l=0), name="visit_saturated_dry"
            ),
        ]

    def __str__(self) -> str:
        return f"visit on {self.visited_on}"


class Pruning(models.Model):
    """Formative pruning of a planted tree, in care or established."""

    id = models.UUIDField(primary_key=True, default=uuid7)
    planting = models.ForeignKey(Planting, on_delete=models.PROTECT, related_name="prunings")
    on = models.DateField()
    note = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["-on", "-id"]

    def __str__(self) -> str:
        return f"pruning on {self.on}"
