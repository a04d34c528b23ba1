"""What is stored of the work that a finding asks for, other than removal: options, orders, closures, looks asked for."""

from __future__ import annotations

import datetime as dt
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from uuid_utils.compat import uuid7

from hazards.matrix import LIKELIHOOD, RATING, Consequences, Failure, FailureAndImpact, Impact, Rating
from hazards.models.inspections import Assessment, Inspection, InspectionLevel, Mitigation
from hazards.models.words import any_of, words
from inventory.models import AppendOnlyQuerySet, Park, Tree, TreeStatus, between, one_of

_RATINGS = [rating.value for rating in Rating]


def _residual_from_tables() -> Q:
    """All three picks with what both tables make of them; one condition a cell."""
    return any_of(
        Q(
            failure=failure.value,
            impact=impact.value,
            consequences=consequences.value,
            residual_rating=RATING[LIKELIHOOD[failure][impact.rank]][consequences.rank].value,
        )
        for failure in Failure
        for impact in Impact
        for consequences in Consequences
    )


class MitigationOption(models.Model):
    """One way to lower the rating of an assessment, with the rating that it would leave. One of them is advised.

    Where it was said what changes (how likely to fail, to hit, how bad), the residual rating comes from the two tables.
    """

    id = models.UUIDField(primary_key=True, default=uuid7)
    assessment = models.ForeignKey(Assessment, on_delete=models.PROTECT, related_name="options")
    mitigation = models.CharField(max_length=30, choices=[each for each in Mitigation.choices if each[0]])
    residual_rating = models.CharField(max_length=10, choices=words(Rating), blank=True)
    failure = models.CharField("failure after that", max_length=12, choices=words(Failure), blank=True)
    impact = models.CharField("impact after that", max_length=12, choices=words(Impact), blank=True)
    consequences = models.CharField("consequences after that", max_length=12, choices=words(Consequences), blank=True)
    note = models.CharField(max_length=200, blank=True)
    chosen = models.BooleanField("advised", default=False)

    objects: ClassVar = AppendOnlyQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["assessment", "-chosen", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(mitigation__in=[value for value in Mitigation.values if value]), name="option_mitigation"
            ),
            models.CheckConstraint(condition=Q(residual_rating__in=["", *_RATINGS]), name="option_residual_rating"),
            models.CheckConstraint(
                condition=Q(failure="", impact="", consequences="") | _residual_from_tables(),
                name="option_residual_from_tables",
            ),
            models.UniqueConstraint(fields=["assessment"], condition=Q(chosen=True), name="option_one_chosen"),
        ]

    def __str__(self) -> str:
        return f"{self.mitigation}, leaves {self.residual_rating or 'an unsaid rating'}"

    @property
    def failure_and_impact(self) -> str:
        """Of the picks after the work; empty where none were made."""
        if not self.failure:
            return ""
        likelihood: FailureAndImpact = LIKELIHOOD[Failure(self.failure)][Impact(self.impact).rank]
        return likelihood.value


class MitigationKind(models.TextChoices):
    PRUNE = Mitigation.PRUNE.value
    CABLE_OR_BRACE = Mitigation.CABLE_OR_BRACE.value
    MOVE_TARGET = Mitigation.MOVE_TARGET.value
    ADVANCED = Mitigation.ADVANCED.value


class MitigationState(models.TextChoices):
    PROPOSED = "proposed"
    SCHEDULED = "scheduled"
    DONE = "done"
    WITHDRAWN = "withdrawn"


OPEN_MITIGATIONS = (MitigationState.PROPOSED, MitigationState.SCHEDULED)


class MitigationQuerySet(models.QuerySet["MitigationOrder"]):
    def open(self) -> MitigationQuerySet:
        return self.filter(state__in=OPEN_MITIGATIONS)

    def overdue(self, today: dt.date) -> MitigationQuerySet:
        return self.open().filter(due_on__lt=today)


class MitigationOrder(models.Model):
    """Work on one tree that lets it stand: from the proposal to the work done. The rating changes by the next look only."""

    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="mitigation_orders")
    park = models.ForeignKey(Park, on_delete=models.PROTECT, related_name="mitigation_orders")
    kind = models.CharField(max_length=30, choices=MitigationKind)
    state = models.CharField(max_length=12, choices=MitigationState, default=MitigationState.PROPOSED)
    assessment = models.ForeignKey(
        Assessment, on_delete=models.PROTECT, null=True, blank=True, related_name="mitigation_orders"
    )
    reason = models.CharField("what is to be done, and why", max_length=400)
    rating = models.CharField("rating when proposed", max_length=10, choices=words(Rating), blank=True)
    due_on = models.DateField(null=True, blank=True)
    estimated_hours = models.FloatField("estimate, crew hours", null=True, blank=True)
    actual_hours = models.FloatField("taken, crew hours", null=True, blank=True)
    proposed_on = models.DateField()
    proposed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    scheduled_for = models.DateField(null=True, blank=True)
    assigned_to = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    done_on = models.DateField(null=True, blank=True)
    done_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    outcome = models.CharField("how it went", max_length=400, blank=True)
    withdrawn_on = models.DateField(null=True, blank=True)
    withdrawn_reason = models.CharField(max_length=300, blank=True)

    objects: ClassVar = MitigationQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-pk"]
        indexes: ClassVar = [
            models.Index(fields=["state", "-id"], name="mitigation_state"),
            models.Index(fields=["park", "-id"], name="mitigation_park"),
            models.Index(fields=["-id"], name="mitigation_open", condition=Q(state__in=OPEN_MITIGATIONS)),
            models.Index(fields=["due_on", "id"], name="mitigation_due", condition=Q(state__in=OPEN_MITIGATIONS)),
        ]
        constraints: ClassVar = [
            one_of("kind", MitigationKind, name="mitigation_kind"),
            one_of("state", MitigationState, name="mitigation_state_known"),
            models.CheckConstraint(condition=Q(rating__in=["", *_RATINGS]), name="mitigation_rating"),
            models.UniqueConstraint(
                fields=["tree", "kind"], condition=Q(state__in=OPEN_MITIGATIONS), name="mitigation_one_open"
            ),
            between("estimated_hours", 0, 2000, name="mitigation_estimated_hours"),
            between("actual_hours", 0, 2000, name="mitigation_actual_hours"),
            models.CheckConstraint(
                condition=~Q(state=MitigationState.SCHEDULED)
                | Q(scheduled_for__isnull=False, assigned_to__isnull=False),
                name="mitigation_scheduled_whole",
            ),
            models.CheckConstraint(
                condition=(Q(state=MitigationState.DONE, done_on__isnull=False) & ~Q(outcome=""))
                | (~Q(state=MitigationState.DONE) & Q(done_on__isnull=True, outcome="")),
                name="mitigation_done_whole",
            ),
            models.CheckConstraint(
                condition=(Q(state=MitigationState.WITHDRAWN, withdrawn_on__isnull=False) & ~Q(withdrawn_reason=""))
                | (~Q(state=MitigationState.WITHDRAWN) & Q(withdrawn_on__isnull=True, withdrawn_reason="")),
                name="mitigation_withdrawn_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"order {self.number} to {self.kind}"

    @property
    def number(self) -> str:
        """``M2026-0007``: an M, so that it is never taken for a removal."""
        return f"M{self.proposed_on:%Y}-{self.pk:04d}"

    @property
    def is_open(self) -> bool:
        return self.state in OPEN_MITIGATIONS


class ClosureQuerySet(models.QuerySet["Closure"]):
    def open(self) -> ClosureQuerySet:
        return self.filter(lifted_at__isnull=True)

    def tree_gone(self) -> ClosureQuerySet:
        """Closed for a tree that stands no longer."""
        return self.filter(tree__status=TreeStatus.REMOVED)


class Closure(models.Model):
    """An area shut to people: by whom, with what barrier, for what reason; and who opened it again."""

    id = models.UUIDField(primary_key=True, default=uuid7)
    park = models.ForeignKey(Park, on_delete=models.PROTECT, related_name="closures")
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, null=True, blank=True, related_name="closures")
    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, null=True, blank=True, related_name="closures")
    area = models.CharField("what is closed", max_length=200)
    barrier = models.CharField(max_length=200)
    reason = models.CharField(max_length=300)
    closed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    closed_at = models.DateTimeField()
    lifted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    lifted_at = models.DateTimeField(null=True, blank=True)
    lifted_reason = models.CharField(max_length=300, blank=True)

    objects: ClassVar = ClosureQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-closed_at", "-id"]
        indexes: ClassVar = [
            models.Index(fields=["-closed_at", "-id"], name="closure_latest"),
            models.Index(fields=["-closed_at", "-id"], name="closure_open", condition=Q(lifted_at__isnull=True)),
            models.Index(fields=["tree"], name="closure_open_tree", condition=Q(lifted_at__isnull=True)),
        ]
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(area="") & ~Q(barrier="") & ~Q(reason=""), name="closure_says_what"),
            models.CheckConstraint(
                condition=Q(lifted_at__isnull=True, lifted_by__isnull=True, lifted_reason="")
                | (Q(lifted_at__gte=F("closed_at")) & ~Q(lifted_reason="")),
                name="closure_lifted_whole",
            ),
        ]

    def __str__(self) -> str:
        return f"closure of {self.area}"


class AskedLookQuerySet(models.QuerySet["AskedLook"]):
    def open(self) -> AskedLookQuerySet:
        return self.filter(met_by__isnull=True)


class AskedLook(models.Model):
    """A look at a tree that was asked for beyond the policy's rounds: after work, a storm, a concern.

    Met by the first inspection of at least that level that was observed at or after ``since``.
    """

    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="asked_looks")
    due_on = models.DateField()
    why = models.CharField(max_length=300)
    level = models.PositiveSmallIntegerField("at least level", choices=InspectionLevel, default=InspectionLevel.BASIC)
    since = models.DateTimeField("observed no earlier than")
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    asked_at = models.DateTimeField(auto_now_add=True)
    met_by = models.ForeignKey(Inspection, on_delete=models.PROTECT, null=True, blank=True, related_name="asked_looks")

    objects: ClassVar = AskedLookQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["due_on", "pk"]
        indexes: ClassVar = [
            models.Index(fields=["tree", "due_on"], name="asked_look_open", condition=Q(met_by__isnull=True)),
        ]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(level__in=InspectionLevel.values), name="asked_look_level"),
            models.CheckConstraint(condition=~Q(why=""), name="asked_look_says_why"),
        ]

    def __str__(self) -> str:
        return f"look at {self.tree_id} by {self.due_on}: {self.why}"
