"""What is stored of inspections, targets, ratings, and where each standing tree stands in the ranking."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from enum import Enum
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from uuid_utils.compat import uuid7

from hazards.matrix import (
    LIKELIHOOD,
    RATING,
    Consequences,
    Exposure,
    Failure,
    FailureAndImpact,
    Impact,
    Level,
    Occupancy,
    Rating,
)
from hazards.pests import PESTS, Pest
from inventory.models import AppendOnlyQuerySet, Condition, Park, Tree, between, one_of


def words(levels: type[Enum]) -> list[tuple[str, str]]:
    """Choices of a field, from the trade's own enum."""
    return [(level.value, level.value) for level in levels]


def is_word(field: str, levels: type[Enum], *, name: str) -> models.CheckConstraint:
    return models.CheckConstraint(condition=Q(**{f"{field}__in": [level.value for level in levels]}), name=name)


def any_of(conditions: Iterable[Q]) -> Q:
    first, *rest = conditions
    for condition in rest:
        first |= condition
    return first


def in_table(row: str, column: str, result: str, cells: dict[Level, tuple[Level, ...]], columns: type[Level]) -> Q:
    """Only what the table holds: one condition a cell."""
    return any_of(
        Q(**{row: key.value, column: pick.value, result: cells[key][pick.rank].value})
        for key in cells
        for pick in columns
    )


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
    impact_reason = models.CharField("why the suggestion was not taken", max_length=200, blank=True)
    consequences = models.CharField(max_length=12, choices=words(Consequences))
    failure_and_impact = models.CharField(max_length=20, choices=words(FailureAndImpact), editable=False)
    rating = models.CharField(max_length=10, choices=words(Rating), editable=False)
    mitigation = models.CharField(max_length=30, choices=Mitigation, blank=True)
    residual_rating = models.CharField(max_length=10, choices=words(Rating), blank=True)

    objects: ClassVar = AppendOnlyQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["inspection", "id"]
        constraints: ClassVar = [
            one_of("part", Part, name="assessment_part"),
            is_word("exposure", Exposure, name="assessment_exposure"),
            is_word("occupancy", Occupancy, name="assessment_occupancy"),
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


class StandingQuerySet(models.QuerySet["Standing"]):
    def ranked(self) -> StandingQuerySet:
        """The rated trees, the most urgent first; walks an index."""
        return self.filter(triage_key__isnull=False).order_by("triage_key", "tree_id")

    def inspection_overdue(self, today: dt.date) -> StandingQuerySet:
        return self.filter(inspect_due__lt=today)

    def work_overdue(self, today: dt.date) -> StandingQuerySet:
        return self.filter(work_due__lt=today)

    def never_inspected(self) -> StandingQuerySet:
        return self.filter(inspected_on__isnull=True)


class Standing(models.Model):
    """Where one standing tree stands: its current rating, its place in the ranking, what is due.

    The database keeps exactly one row a standing tree (a trigger adds it with the tree and takes it away on removal), so
    that lists and rankings read this table alone.
    """

    tree = models.OneToOneField(Tree, on_delete=models.CASCADE, primary_key=True, related_name="standing")
    park = models.ForeignKey(Park, on_delete=models.PROTECT, related_name="+")
    rating = models.CharField(max_length=10, choices=words(Rating), blank=True)
    imminent = models.BooleanField(default=False)
    triage_key = models.BigIntegerField(null=True, blank=True)
    reason = models.CharField(max_length=400, blank=True)
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, null=True, related_name="+")
    assessment = models.ForeignKey(Assessment, on_delete=models.PROTECT, null=True, related_name="+")
    inspected_on = models.DateField(null=True, blank=True)
    work_due = models.DateField(null=True, blank=True)
    inspect_due = models.DateField(null=True, blank=True)
    # Set by the database when what the row was worked out from is changed elsewhere: the tree's species, life or condition.
    stale = models.BooleanField(default=False, db_default=False)

    objects: ClassVar = StandingQuerySet.as_manager()

    class Meta:
        indexes: ClassVar = [
            models.Index(fields=["triage_key", "tree"], name="standing_triage"),
            models.Index(fields=["park", "triage_key", "tree"], name="standing_park_triage"),
            models.Index(fields=["rating", "triage_key", "tree"], name="standing_rating_triage"),
            models.Index(fields=["triage_key", "tree"], name="standing_imminent", condition=Q(imminent=True)),
            models.Index(fields=["inspect_due"], name="standing_inspect_due"),
            models.Index(fields=["work_due"], name="standing_work_due"),
            models.Index(fields=["tree"], name="standing_stale", condition=Q(stale=True)),
        ]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(rating="", triage_key__isnull=True, assessment__isnull=True)
                | (
                    Q(rating__in=[rating.value for rating in Rating])
                    & Q(triage_key__isnull=False, assessment__isnull=False, inspection__isnull=False)
                ),
                name="standing_rated_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.tree_id}: {self.rating or 'not rated'}"


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
