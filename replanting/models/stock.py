"""What is stored of nursery stock: orders with their lines, what was delivered in parts, what was rejected."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Coalesce
from uuid_utils.compat import uuid7

from inventory.models import Species, one_of
from replanting.models.tasks import ReplacementTask, Stock, TaskState


class PlantingSeason(models.TextChoices):
    SPRING = "spring"
    AUTUMN = "autumn"


class NurseryOrder(models.Model):
    """What one nursery is to deliver for one season."""

    nursery = models.CharField(max_length=120)
    season = models.CharField(max_length=6, choices=PlantingSeason)
    year = models.PositiveSmallIntegerField()
    ordered_on = models.DateField()
    season_reason = models.CharField(max_length=300, blank=True, help_text="why stock is taken outside its window")

    class Meta:
        ordering: ClassVar = ["-ordered_on", "-pk"]
        indexes: ClassVar = [models.Index(fields=["-ordered_on", "-id"], name="nursery_order_day")]
        constraints: ClassVar = [
            one_of("season", PlantingSeason, name="nursery_order_season"),
            models.CheckConstraint(condition=~Q(nursery=""), name="nursery_order_names_it"),
        ]

    def __str__(self) -> str:
        return f"order {self.pk} at {self.nursery}"

    @property
    def planting_season(self) -> str:
        return f"{self.season} {self.year}"


class LineQuerySet(models.QuerySet["OrderLine"]):
    def with_used(self) -> LineQuerySet:
        """Adds ``planted`` (trees of the line in the ground, lost ones too) and ``reserved`` (trees that tasks wait for)."""
        planted = models.Count("plantings", distinct=True)
        waits = ReplacementTask.objects.filter(order_line=models.OuterRef("pk"), state=TaskState.ORDERED)
        trees = waits.order_by().values("order_line").annotate(n=models.Sum("units")).values("n")
        reserved = Coalesce(models.Subquery(trees), 0)
        return self.annotate(planted=planted, reserved=reserved)


class OrderLine(models.Model):
    """So many of one taxon, stock and size. What was ordered is received, rejected or outstanding, always."""

    order = models.ForeignKey(NurseryOrder, on_delete=models.PROTECT, related_name="lines")
    species = models.ForeignKey(Species, on_delete=models.PROTECT, related_name="+")
    cultivar = models.CharField(max_length=80, blank=True)
    stock = models.CharField(max_length=22, choices=Stock)
    caliper_cm = models.FloatField()
    ordered = models.PositiveIntegerField(help_text="with the spares, and with what was ordered again")
    spares = models.PositiveIntegerField(default=0)
    received = models.PositiveIntegerField(default=0)
    rejected = models.PositiveIntegerField(default=0)
    written_off = models.PositiveIntegerField(default=0, help_text="received, and lost before it was planted")

    objects: ClassVar = LineQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["order", "species__botanical", "cultivar", "stock", "caliper_cm"]
        constraints: ClassVar = [
            one_of("stock", Stock, name="order_line_stock"),
            models.UniqueConstraint(
                fields=["order", "species", "cultivar", "stock", "caliper_cm"], name="order_line_once"
            ),
            models.CheckConstraint(condition=Q(ordered__gte=1, spares__lte=F("ordered")), name="order_line_count"),
            models.CheckConstraint(condition=Q(ordered__gte=F("received") + F("rejected")), name="order_line_balance"),
            models.CheckConstraint(condition=Q(written_off__lte=F("received")), name="order_line_written_off"),
            models.CheckConstraint(condition=Q(caliper_cm__gt=0, caliper_cm__lte=30), name="order_line_caliper"),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.stock}"

    @property
    def name(self) -> str:
        return f"{self.species.botanical} ‘{self.cultivar}’" if self.cultivar else self.species.botanical

    @property
    def outstanding(self) -> int:
        return self.ordered - self.received - self.rejected


class RejectReason(models.TextChoices):
    GIRDLING_ROOTS = "girdling roots"
    BALL_BROKEN = "ball broken"
    DRIED_OUT = "roots dried out"
    WRONG_SIZE = "wrong size"
    WRONG_TAXON = "wrong species or cultivar"
    BARK = "bark damaged"
    PESTS = "pest or disease"
    FORM = "poor form"


class Delivery(models.Model):
    """Trees of one line as they came on one day: taken into the yard, or rejected with the reason."""

    id = models.UUIDField(primary_key=True, default=uuid7)
    line = models.ForeignKey(OrderLine, on_delete=models.PROTECT, related_name="deliveries")
    on = models.DateField()
    received = models.PositiveIntegerField(default=0)
    rejected = models.PositiveIntegerField(default=0)
    reason = models.CharField(max_length=30, choices=RejectReason, blank=True)
    note = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["-on", "-id"]
        constraints: ClassVar = [
            one_of("reason", RejectReason, name="delivery_reason", or_empty=True),
            models.CheckConstraint(condition=Q(received__gt=0) | Q(rejected__gt=0), name="delivery_of_something"),
            models.CheckConstraint(
                condition=Q(rejected=0, reason="") | (Q(rejected__gt=0) & ~Q(reason="")),
                name="delivery_rejection_has_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.received} received, {self.rejected} rejected on {self.on}"
