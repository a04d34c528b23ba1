"""What is stored of how many trees a city owes for a removed one: its policy, and the number fixed for each tree."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from inventory.models import Tree, one_of


class CountForm(models.TextChoices):
    """The forms in print; the words name a way of counting, not a place that has it."""

    ONE = "one for one"
    CLASSES = "trees by diameter class"
    TABLE = "trees by a table of inches"
    RATIO = "inches by diameter class"
    INCH = "inch for inch"
    HALF = "half of the inches"
    BASAL = "units of basal area"


class ReplantingPolicy(models.Model):
    """The city's own policy of replacement: one row, and none while the program's defaults hold."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    version = models.PositiveIntegerField(default=0, editable=False)
    form = models.CharField(max_length=30, choices=CountForm)
    section = models.CharField("code section", max_length=80, blank=True)
    counted_cm = models.FloatField(help_text="caliper of the trees that the rows count")
    stock_cm = models.FloatField(help_text="caliper of the trees that the city plants")
    dead_counted = models.BooleanField()
    diseased_counted = models.BooleanField()
    plant_within_months = models.PositiveSmallIntegerField()
    replant_within_months = models.PositiveSmallIntegerField()
    guarantee_months = models.PositiveSmallIntegerField()
    visit_every_days = models.PositiveSmallIntegerField()
    water_rule = models.CharField(max_length=20)

    class Meta:
        verbose_name_plural = "replanting policies"
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(id=1), name="replanting_policy_one"),
            one_of("form", CountForm, name="replanting_policy_form"),
            models.CheckConstraint(condition=Q(counted_cm__gt=0, stock_cm__gt=0), name="replanting_policy_calipers"),
        ]

    def __str__(self) -> str:
        return f"replanting policy, version {self.version}"


class PolicyRow(models.Model):
    """A row of the city's table: from this diameter on, so much is owed, by this section of its code."""

    policy = models.ForeignKey(ReplantingPolicy, on_delete=models.CASCADE, related_name="rows")
    from_cm = models.FloatField()
    amount = models.FloatField()
    section = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering: ClassVar = ["from_cm"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["policy", "from_cm"], name="policy_row_once"),
            models.CheckConstraint(condition=Q(from_cm__gte=0, amount__gte=0), name="policy_row_figures"),
        ]

    def __str__(self) -> str:
        return f"from {self.from_cm:g} cm: {self.amount:g}"


class Owed(models.Model):
    """The number owed for one removed tree, fixed once; a later policy leaves it alone."""

    removed_tree = models.OneToOneField(Tree, on_delete=models.PROTECT, related_name="owed")
    trees = models.PositiveSmallIntegerField()
    cm = models.FloatField(help_text="the same as a sum of calipers")
    rule = models.CharField(max_length=30)
    section = models.CharField(max_length=80, blank=True)
    words = models.CharField(max_length=300)
    fixed_on = models.DateField()
    fixed_by = models.CharField(max_length=150)

    class Meta:
        verbose_name_plural = "owed"
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(trees__gte=1), name="owed_one_or_more"),
            models.CheckConstraint(condition=Q(cm__gt=0), name="owed_cm"),
        ]

    def __str__(self) -> str:
        return f"{self.trees} owed for {self.removed_tree}"
