"""Felling plans and job briefings: what was computed, and what the crew went through and signed."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from uuid_utils.compat import uuid7

from inventory.models import one_of
from removals.models.orders import RemovalOrder


class FellingPlan(models.Model):
    """A plan as computed: inputs, results, and the version of the method. A change is a new plan; the latest holds."""

    order = models.ForeignKey(RemovalOrder, on_delete=models.PROTECT, related_name="plans")
    inputs = models.JSONField()
    results = models.JSONField()
    assumptions = models.JSONField(default=list, help_text="sentences: what was assumed, not measured")
    verdict = models.CharField(max_length=20)
    method_version = models.CharField(max_length=20)
    digest = models.CharField(max_length=64, help_text="SHA-256 of inputs and results; signatures name it")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    made_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-pk"]
        get_latest_by = "pk"

    def __str__(self) -> str:
        return f"plan for {self.order}: {self.verdict}"


class JobBriefing(models.Model):
    """What the crew went through on site before the first cut."""

    id = models.UUIDField(primary_key=True, default=uuid7)
    plan = models.ForeignKey(FellingPlan, on_delete=models.PROTECT, related_name="briefings")
    checked = models.JSONField(default=list, help_text="keys of the checklist items that were covered")
    weather = models.CharField(max_length=200, blank=True)
    gust_ms = models.FloatField("gust measured, m/s", null=True, blank=True)
    crew = models.JSONField(default=list, help_text="names and roles the briefing was held for; another crew voids it")
    signals = models.JSONField(default=list, help_text="[kind, signal, meaning] rows agreed on site")
    emergency = models.JSONField(default=dict, help_text="phone, kit, who is trained: what was said on site")
    held_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    held_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-held_at", "-id"]

    def __str__(self) -> str:
        return f"briefing at {self.held_at:%Y-%m-%d %H:%M}"


class CrewRole(models.TextChoices):
    FELLER = "feller"
    PULLER = "puller"
    SPOTTER = "spotter"
    CREW_LEAD = "crew lead"


class BriefingSignature(models.Model):
    """One person's name under one briefing; it carries the digest of the plan that was read."""

    id = models.UUIDField(primary_key=True, default=uuid7)
    briefing = models.ForeignKey(JobBriefing, on_delete=models.PROTECT, related_name="signatures")
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=10, choices=CrewRole)
    plan_digest = models.CharField(max_length=64)
    signed_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["signed_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["briefing", "name"], name="signature_once_a_person"),
            one_of("role", CrewRole, name="signature_role"),
            models.CheckConstraint(condition=~Q(name=""), name="signature_named"),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.role}"
