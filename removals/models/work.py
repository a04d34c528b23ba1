"""What has to be done before and after the felling, how it went, and what was kept standing."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models import between, one_of
from removals.models.orders import RemovalOrder


class WorkKind(models.TextChoices):
    # Before the work; these block the scheduling.
    LOCATES = "utility locates"
    WIRES = "wires checked"
    NESTING = "nesting season"
    CLOSURES = "closures"
    NEIGHBOURS = "neighbours told"
    NOTICES = "notices posted"
    QUARANTINE = "regulated wood"
    # After it; these block the closing.
    STUMP = "stump"
    CLEAN_UP = "clean-up"
    READING = "stump reading"


# Nobody may waive these: a strike, a shock or a passer-by under the tree is not a matter of judgement.
NEVER_WAIVED = (WorkKind.LOCATES, WorkKind.WIRES, WorkKind.CLOSURES)


class WorkState(models.TextChoices):
    OPEN = "open"
    DONE = "done"
    WAIVED = "waived"


class WorkItem(models.Model):
    """One thing to be done for an order, done or waived by name."""

    order = models.ForeignKey(RemovalOrder, on_delete=models.CASCADE, related_name="work_items")
    kind = models.CharField(max_length=20, choices=WorkKind)
    state = models.CharField(max_length=6, choices=WorkState, default=WorkState.OPEN)
    reference = models.CharField(max_length=80, blank=True, help_text="the locate request's number, for instance")
    note = models.CharField(max_length=300, blank=True)
    settled_on = models.DateField(null=True, blank=True)
    settled_by = models.CharField(max_length=150, blank=True)

    class Meta:
        ordering: ClassVar = ["order", "pk"]
        constraints: ClassVar = [
            one_of("kind", WorkKind, name="work_kind"),
            one_of("state", WorkState, name="work_state"),
            models.UniqueConstraint(fields=["order", "kind"], name="work_once_an_order"),
            models.CheckConstraint(
                condition=Q(state=WorkState.OPEN, settled_on__isnull=True, settled_by="")
                | (~Q(state=WorkState.OPEN) & Q(settled_on__isnull=False) & ~Q(settled_by="")),
                name="work_settled_by_name",
            ),
            models.CheckConstraint(
                condition=~Q(state=WorkState.WAIVED) | (~Q(kind__in=NEVER_WAIVED) & ~Q(note="")),
                name="work_waived_with_reason_or_never",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.state}"


class FellingOutcome(models.Model):
    """How one felling went, and what was measured once the tree lay on the ground."""

    order = models.OneToOneField(RemovalOrder, on_delete=models.CASCADE, related_name="felling_outcome")
    as_planned = models.BooleanField()
    hinge_held = models.BooleanField(null=True, blank=True)
    actual_lay_deg = models.FloatField("bearing it fell on, degrees from true north", null=True, blank=True)
    hung_up = models.BooleanField(default=False)
    near_miss = models.TextField(blank=True)
    diameter_cm = models.FloatField("diameter at the cut, measured", null=True, blank=True)
    height_m = models.FloatField("length on the ground, measured", null=True, blank=True)
    plan_digest = models.CharField(max_length=64, blank=True, help_text="of the plan that the crew worked by")
    older_plan = models.BooleanField(default=False, help_text="a newer plan existed when this was reported")

    class Meta:
        ordering: ClassVar = ["-order"]
        indexes: ClassVar = [
            models.Index(fields=["-order"], condition=~Q(near_miss=""), name="outcome_near_miss"),
            models.Index(fields=["-order"], condition=Q(older_plan=True), name="outcome_older_plan"),
        ]
        constraints: ClassVar = [
            between("actual_lay_deg", 0, 360, name="outcome_lay"),
            between("diameter_cm", 1, 500, name="outcome_diameter"),
            between("height_m", 1, 120, name="outcome_height"),
        ]

    def __str__(self) -> str:
        return f"outcome of {self.order}"


class LodgedTree(models.Model):
    """A tree that hangs in another: an open hazard from the moment it is reported until somebody brings it down."""

    order = models.ForeignKey(RemovalOrder, on_delete=models.PROTECT, related_name="lodged")
    reported_at = models.DateTimeField()
    reported_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    marked = models.CharField("how the place is marked and kept clear", max_length=300)
    keep_clear_m = models.FloatField()
    cleared_at = models.DateTimeField(null=True, blank=True)
    cleared_by = models.CharField(max_length=150, blank=True)
    cleared_how = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["-reported_at"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["order"], condition=Q(cleared_at__isnull=True), name="lodged_one_open_an_order"
            ),
            models.CheckConstraint(
                condition=Q(cleared_at__isnull=True, cleared_by="", cleared_how="")
                | (Q(cleared_at__isnull=False) & ~Q(cleared_by="") & ~Q(cleared_how="")),
                name="lodged_cleared_by_name",
            ),
        ]

    def __str__(self) -> str:
        return f"lodged tree of {self.order}"


class KeptKind(models.TextChoices):
    SNAG = "standing snag"
    STUMP = "stump"


class KeptPlace(models.Model):
    """What an order left standing on purpose: a safe snag for wildlife, or a stump; a place with an inspection date."""

    order = models.OneToOneField(RemovalOrder, on_delete=models.PROTECT, related_name="kept_place")
    kind = models.CharField(max_length=15, choices=KeptKind)
    height_left_m = models.FloatField()
    reason = models.CharField("why it is kept", max_length=300)
    inspect_on = models.DateField(null=True, blank=True)
    inspected_on = models.DateField(null=True, blank=True)
    ended_on = models.DateField("gone, or taken away, on", null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["inspect_on", "pk"]
        indexes: ClassVar = [models.Index(fields=["inspect_on"], condition=Q(ended_on__isnull=True), name="kept_due")]
        constraints: ClassVar = [
            one_of("kind", KeptKind, name="kept_kind"),
            models.CheckConstraint(condition=Q(height_left_m__gt=0, height_left_m__lte=40), name="kept_height"),
            models.CheckConstraint(condition=~Q(reason=""), name="kept_with_reason"),
            models.CheckConstraint(
                condition=Q(ended_on__isnull=False) | Q(inspect_on__isnull=False), name="kept_has_inspection_date"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.order}"
