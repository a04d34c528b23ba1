"""The place around the tree as a manager has drawn it, the method that was chosen, and the city's own rules."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from removals.models.orders import RemovalOrder


class SiteThing(models.Model):
    """Something near the tree that the inventory does not hold: a wire, a building, a path, an obstacle."""

    order = models.ForeignKey(RemovalOrder, on_delete=models.CASCADE, related_name="site_things")
    kind = models.CharField(max_length=12)
    name = models.CharField(max_length=80)
    points = models.JSONField(
        help_text="[[bearing in degrees, distance in metres] …] from the stump; two or more make a line"
    )

    class Meta:
        ordering: ClassVar = ["order", "name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["order", "name"], name="site_thing_named_once"),
            models.CheckConstraint(condition=~Q(name=""), name="site_thing_named"),
        ]

    def __str__(self) -> str:
        return self.name


class AcceptedThing(models.Model):
    """Something in the swath that a manager accepts by name, with the reason."""

    order = models.ForeignKey(RemovalOrder, on_delete=models.CASCADE, related_name="accepted_things")
    name = models.CharField(max_length=120)
    reason = models.CharField(max_length=300)
    accepted_by = models.CharField(max_length=150)
    accepted_on = models.DateField()

    class Meta:
        ordering: ClassVar = ["order", "name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["order", "name"], name="accepted_once"),
            models.CheckConstraint(
                condition=~Q(name="") & ~Q(reason="") & ~Q(accepted_by=""), name="accepted_by_name_with_reason"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} accepted by {self.accepted_by}"


class MethodChoice(models.Model):
    """How the tree is taken down, chosen from the comparison, with the reason. A new choice is a new row."""

    order = models.ForeignKey(RemovalOrder, on_delete=models.CASCADE, related_name="method_choices")
    method = models.CharField(max_length=40)
    reason = models.CharField(max_length=300)
    comparison = models.JSONField(help_text="the rows that were compared, as they stood")
    chosen_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    chosen_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-pk"]
        get_latest_by = "pk"
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(method="") & ~Q(reason=""), name="method_chosen_with_reason")
        ]

    def __str__(self) -> str:
        return f"{self.method} for {self.order}"


class CityRules(models.Model):
    """The city's own figures for removals: rates, crew hours, nesting season, intervals. One row."""

    rates = models.JSONField(
        default=dict, help_text="hourly and daily rates by name; what is missing takes the default"
    )
    effort = models.JSONField(
        default=dict, help_text="crew hours by size of tree, and of a week; what is missing takes the default"
    )
    nesting_from = models.CharField("nesting season from, MM-DD", max_length=5, default="03-01")
    nesting_to = models.CharField("nesting season to, MM-DD", max_length=5, default="08-31")
    snag_inspection_months = models.PositiveSmallIntegerField(default=12)
    stump_inspection_months = models.PositiveSmallIntegerField(default=36)

    class Meta:
        verbose_name_plural = "city rules"
        constraints: ClassVar = [models.CheckConstraint(condition=Q(pk=1), name="city_rules_one_row")]

    def __str__(self) -> str:
        return "the city's rules for removals"
