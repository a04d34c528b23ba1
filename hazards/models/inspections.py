"""What is stored of targets, inspections, defects and rated assessments."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from uuid_utils.compat import uuid7

from hazards.impact import Direction
from hazards.matrix import (
    LIKELIHOOD,
    RATING,
    Consequences,
    Exposure,
    Failure,
    FailureAndImpact,
    Impact,
    Occupancy,
    Rating,
)
from hazards.models.words import in_table, is_word, words
from inventory.models import AppendOnlyQuerySet, Condition, Park, Tree, between, one_of


class TargetKind(models.TextChoices):
    PATH = "path"
    ROAD = "road"
    BUILDING = "building"
    PLAYGROUND = "playground"
    SEATING = "seating"
    PARKING = "parking"
    PITCH = "pitch"
    SHELTER = "shelter"
    UTILITY = "utility"
    OTHER = "other"


class Target(models.Model):
    """What could be hit, and how often people or property are there."""

    park = models.ForeignKey(Park, on_delete=models.PROTECT, related_name="targets")
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=12, choices=TargetKind)
    occupancy = models.CharField(max_length=12, choices=words(Occupancy))
    movable = models.BooleanField(default=False, help_text="can be moved or closed")
    lon = models.FloatField(null=True, blank=True)
    lat = models.FloatField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["park", "name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["park", "name"], name="target_name_in_park"),
            one_of("kind", TargetKind, name="target_kind"),
            is_word("occupancy", Occupancy, name="target_occupancy"),
            between("lon", -180, 180, name="target_lon"),
            between("lat", -90, 90, name="target_lat"),
        ]

    def __str__(self) -> str:
        return self.name


class InspectionLevel(models.IntegerChoices):
    LIMITED_VISUAL = 1, "1 limited visual"
    BASIC = 2, "2 basic, all around from the ground"
    ADVANCED = 3, "3 advanced, with instruments"


class Part(models.TextChoices):
    ROOTS = "roots"
    ROOT_COLLAR = "root collar"
    TRUNK = "trunk"
    UNION = "union"
    LIMB = "limb"
    CROWN = "crown"
    WHOLE_TREE = "whole tree"


class Inspection(models.Model):
    """One look at one tree. Only ever added: a correction supersedes an earlier one, nothing is edited."""

    id = models.UUIDField(primary_key=True, default=uuid7)
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="inspections")
    level = models.PositiveSmallIntegerField(choices=InspectionLevel, default=InspectionLevel.BASIC)
    observed_at = models.DateTimeField()
    received_at = models.DateTimeField(auto_now_add=True)
    inspector = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    condition = models.CharField(max_length=10, choices=Condition)
    dieback_pct = models.PositiveSmallIntegerField("crown dieback, %", null=True, blank=True)
    dbh_cm = models.FloatField(null=True, blank=True)
    height_m = models.FloatField(null=True, blank=True)
    crown_spread_m = models.FloatField(null=True, blank=True)
    note = models.TextField(blank=True)
    supersedes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
    tree_was_removed = models.BooleanField(default=False, help_text="the tree was already removed when this arrived")

    objects: ClassVar = AppendOnlyQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-observed_at", "-id"]
        indexes: ClassVar = [models.Index(fields=["tree", "-observed_at", "-id"], name="inspection_tree_latest")]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(level__in=InspectionLevel.values), name="inspection_level"),
            one_of("condition", Condition, name="inspection_condition"),
            between("dieback_pct", 0, 100, name="inspection_dieback"),
            models.CheckConstraint(condition=~Q(supersedes=F("id")), name="inspection_supersedes_another"),
        ]

    def __str__(self) -> str:
        return f"inspection of {self.tree_id} on {self.observed_at:%Y-%m-%d}"


class Defect(models.Model):
    """Something found on a part of the tree, with its measure when there is one."""

    id = models.UUIDField(primary_key=True, default=uuid7)
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="defects")
    part = models.CharField(max_length=12, choices=Part)
    kind = models.CharField(max_length=60)
    value = models.FloatField(null=True, blank=True)
    unit = models.CharField(max_length=10, blank=True)
    note = models.CharField(max_length=200, blank=True)

    objects: ClassVar = AppendOnlyQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["inspection", "part"]
        constraints: ClassVar = [one_of("part", Part, name="defect_part")]

    def __str__(self) -> str:
        return f"{self.kind} ({self.part})"


class Mitigation(models.TextChoices):
    NONE = "", "none needed"
    REMOVE = "remove"
    PRUNE = "prune"
    CABLE_OR_BRACE = "cable or brace"
    MOVE_TARGET = "move or close the target"
    MONITOR = "monitor"
    ADVANCED = "advanced assessment"


class FallDirection(models.TextChoices):
    """Where the part would most likely fall, seen from the target."""

    UNSAID = "", "not said"
    TOWARDS = Direction.TOWARDS.value, "towards the target"
    ACROSS = Direction.ACROSS.value, "across, past the target"
    AWAY = Direction.AWAY.value, "away from the target"


class Assessment(models.Model):
    """One failure mode against one target: the three picks, and what both tables make of them."""

    id = models.UUIDField(primary_key=True, default=uuid7)
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="assessments")
    target = models.ForeignKey(Target, on_delete=models.PROTECT, related_name="assessments")
    part = models.CharField(max_length=12, choices=Part)
    failure_mode = models.CharField(max_length=120)
    time_frame_years = models.PositiveSmallIntegerField(default=1)
    distance_m = models.FloatField("distance to the target, m", null=True, blank=True)
    exposure = models.CharField(max_length=20, choices=words(Exposure))
    # Kept as it was on the day: a target's use may change later.
    occupancy = models.CharField(max_length=12, choices=words(Occupancy))
    failure = models.CharField("likelihood of failure", max_length=12, choices=words(Failure))
    impact = models.CharField("likelihood of impact", max_length=12, choices=words(Impact))
    # What the suggestion was made from beside use and exposure, and what it was on the day; empty before it was kept.
    direction = models.CharField("where it would fall", max_length=8, choices=FallDirection, blank=True, default="")
    zone_m = models.FloatField("how far its fall reaches, m", null=True, blank=True, editable=False)
    suggested_impact = models.CharField(max_length=12, choices=words(Impact), blank=True, default="", editable=False)
    impact_reason = models.CharField("why the suggestion was not taken", max_length=200, blank=True)
    consequences = models.CharField(max_length=12, choices=words(Consequences))
    failure_and_impact = models.CharField(max_length=20, choices=words(FailureAndImpact), editable=False)
    rating = models.CharField(max_length=10, choices=words(Rating), editable=False)
    # Of the option that is advised; all options stand in `MitigationOption`.
    mitigation = models.CharField(max_length=30, choices=Mitigation, blank=True)
    residual_rating = models.CharField(max_length=10, choices=words(Rating), blank=True)

    objects: ClassVar = AppendOnlyQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["inspection", "id"]
        constraints: ClassVar = [
            one_of("part", Part, name="assessment_part"),
            is_word("exposure", Exposure, name="assessment_exposure"),
            is_word("occupancy", Occupancy, name="assessment_occupancy"),
            one_of("direction", FallDirection, name="assessment_direction"),
            models.CheckConstraint(
                condition=Q(suggested_impact__in=["", *(impact.value for impact in Impact)]),
                name="assessment_suggested_impact",
            ),
            one_of("mitigation", Mitigation, name="assessment_mitigation"),
            models.CheckConstraint(condition=Q(time_frame_years__range=(1, 5)), name="assessment_time_frame"),
            between("distance_m", 0, 200, name="assessment_distance"),
            models.CheckConstraint(
                condition=in_table("failure", "impact", "failure_and_impact", LIKELIHOOD, Impact),  # type: ignore[arg-type]
                name="assessment_likelihood_from_table",
            ),
            models.CheckConstraint(
                condition=in_table("failure_and_impact", "consequences", "rating", RATING, Consequences),  # type: ignore[arg-type]
                name="assessment_rating_from_table",
            ),
            models.CheckConstraint(
                condition=Q(residual_rating__in=["", *(rating.value for rating in Rating)]),
                name="assessment_residual_rating",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.failure_mode} on {self.target}: {self.rating}"
