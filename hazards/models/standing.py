"""Where each standing tree stands in the ranking."""

from __future__ import annotations

import datetime as dt
from typing import ClassVar

from django.db import models
from django.db.models import Q

from hazards.matrix import Rating
from hazards.models.inspections import Assessment, Inspection
from hazards.models.words import words
from inventory.models import Park, Tree
from inventory.tags import TAG_MAX


class StandingQuerySet(models.QuerySet["Standing"]):
    def ranked(self) -> StandingQuerySet:
        """The rated trees, the most urgent first; walks an index."""
        return self.filter(triage_key__isnull=False).order_by("triage_key", "tag")

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
    # The tree's own, kept equal by the database: between equal keys the order follows it, sign by sign.
    tag = models.CharField(max_length=TAG_MAX, db_collation="C", editable=False)
    rating = models.CharField(max_length=10, choices=words(Rating), blank=True)
    imminent = models.BooleanField(default=False)
    triage_key = models.BigIntegerField(null=True, blank=True)
    reason = models.CharField(max_length=400, blank=True)
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, null=True, related_name="+")
    assessment = models.ForeignKey(Assessment, on_delete=models.PROTECT, null=True, related_name="+")
    declining_since = models.DateField(
        null=True, blank=True, help_text="the first of the last looks that found it dying"
    )
    inspected_on = models.DateField(null=True, blank=True)
    work_due = models.DateField(null=True, blank=True)
    inspect_due = models.DateField(null=True, blank=True)
    # Set by the database when what the row was worked out from is changed elsewhere: the tree's species, life or condition.
    stale = models.BooleanField(default=False, db_default=False)

    objects: ClassVar = StandingQuerySet.as_manager()

    class Meta:
        indexes: ClassVar = [
            models.Index(fields=["triage_key", "tag"], name="standing_triage"),
            models.Index(fields=["park", "triage_key", "tag"], name="standing_park_triage"),
            models.Index(fields=["rating", "triage_key", "tag"], name="standing_rating_triage"),
            models.Index(fields=["triage_key", "tag"], name="standing_imminent", condition=Q(imminent=True)),
            models.Index(fields=["inspect_due"], name="standing_inspect_due"),
            models.Index(fields=["park", "inspect_due"], name="standing_park_inspect_due"),
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
