"""What is stored of the promise that each removed tree comes back."""

from __future__ import annotations

import datetime as dt
from typing import ClassVar

from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.db.models.functions import Coalesce

from inventory.models import Park, PlantingPlace, Species, Tree, one_of


class TaskState(models.TextChoices):
    OPEN = "open"
    SPECIES_CHOSEN = "species chosen"
    ORDERED = "ordered"
    PLANTED = "planted"
    ESTABLISHED = "established"
    WAIVED = "waived"
    MERGED = "merged"


class WaiverKind(models.TextChoices):
    LET_GO = "let go"
    FUND = "fund in lieu"


class Stock(models.TextChoices):
    BARE_ROOT = "bare root"
    BALLED = "balled and burlapped"
    CONTAINER = "container"


WAITING = (TaskState.OPEN, TaskState.SPECIES_CHOSEN, TaskState.ORDERED)


class TaskQuerySet(models.QuerySet["ReplacementTask"]):
    def waiting(self) -> TaskQuerySet:
        """Not yet in the ground, not waived: what the ledger calls open."""
        return self.filter(state__in=WAITING)

    def overdue(self, today: dt.date) -> TaskQuerySet:
        return self.waiting().filter(due_on__lt=today)

    def held_up(self, kind: str = "") -> TaskQuerySet:
        """Something stands in the way of them; of one kind when it is given."""
        open_ones = Obstacle.objects.filter(task=OuterRef("pk"), cleared_on__isnull=True)
        return self.filter(Exists(open_ones.filter(kind=kind) if kind else open_ones))

    def free(self) -> TaskQuerySet:
        """Nothing that is known stands in the way."""
        return self.filter(~Exists(Obstacle.objects.filter(task=OuterRef("pk"), cleared_on__isnull=True)))


class ReplacementTask(models.Model):
    """Trees owed for one removed tree that go one way together: ``units`` while they wait, one from the planting on.

    The removed tree's ``first`` task opens with the felling. Together its tasks hold what is owed for it, always; a task that
    was merged into another stays, with none. ``park`` is the park that owes; it is planted there unless moved.
    """

    removed_tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="replacement_tasks")
    first = models.BooleanField(default=True, editable=False)
    units = models.PositiveSmallIntegerField("trees", default=1)
    park = models.ForeignKey(Park, on_delete=models.PROTECT, related_name="replacement_tasks")
    moved_to = models.ForeignKey(
        Park, on_delete=models.PROTECT, null=True, blank=True, related_name="+", help_text="planted in this other park"
    )
    place = models.ForeignKey(PlantingPlace, on_delete=models.PROTECT, null=True, blank=True, related_name="tasks")
    # The park in which it is planted, for the queue of a park; read it anew after a move.
    stands_in = models.GeneratedField(
        expression=Coalesce("moved_to_id", "park_id"), output_field=models.BigIntegerField(), db_persist=True
    )
    state = models.CharField(max_length=15, choices=TaskState, default=TaskState.OPEN)
    opened_on = models.DateField()
    due_on = models.DateField(help_text="planted by this day, by the city's promise")
    species = models.ForeignKey(Species, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    cultivar = models.CharField(max_length=80, blank=True)
    species_reason = models.CharField(max_length=300, blank=True)
    stock = models.CharField(max_length=22, choices=Stock, blank=True)
    ordered_on = models.DateField(null=True, blank=True)
    nursery = models.CharField(max_length=120, blank=True)
    order_line = models.ForeignKey(
        "replanting.OrderLine", on_delete=models.PROTECT, null=True, blank=True, related_name="tasks"
    )
    established_on = models.DateField(null=True, blank=True)
    failures = models.PositiveSmallIntegerField(default=0)
    waived_by = models.CharField(max_length=150, blank=True)
    waived_reason = models.CharField(max_length=300, blank=True)
    waived_on = models.DateField(null=True, blank=True)
    waived_kind = models.CharField(max_length=12, choices=WaiverKind, blank=True)
    merged_into = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="merged")

    objects: ClassVar = TaskQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["due_on", "pk"]
        indexes: ClassVar = [
            models.Index(fields=["state", "due_on", "id"], name="task_state_due"),
            models.Index(fields=["stands_in", "due_on", "id"], name="task_stands_in_due"),
            models.Index(fields=["due_on", "id"], name="task_due"),
        ]
        constraints: ClassVar = [
            one_of("state", TaskState, name="task_state"),
            one_of("stock", Stock, name="task_stock", or_empty=True),
            one_of("waived_kind", WaiverKind, name="task_waived_kind", or_empty=True),
            models.UniqueConstraint(fields=["removed_tree"], condition=Q(first=True), name="task_first_once_a_tree"),
            models.UniqueConstraint(
                fields=["place"], condition=~Q(state__in=[TaskState.WAIVED, TaskState.MERGED]), name="task_place_once"
            ),
            models.CheckConstraint(
                condition=Q(state=TaskState.MERGED, units=0, merged_into__isnull=False)
                | (~Q(state=TaskState.MERGED) & Q(units__gte=1, merged_into__isnull=True)),
                name="task_units",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=[TaskState.PLANTED, TaskState.ESTABLISHED]) | Q(units=1),
                name="task_one_in_the_ground",
            ),
            models.CheckConstraint(condition=Q(place__isnull=True) | Q(units=1), name="task_place_takes_one"),
            models.CheckConstraint(
                condition=Q(state__in=[TaskState.OPEN, TaskState.WAIVED, TaskState.MERGED]) | Q(species__isnull=False),
                name="task_species_chosen",
            ),
            models.CheckConstraint(
                condition=~Q(state=TaskState.ORDERED) | (Q(ordered_on__isnull=False) & ~Q(stock="")),
                name="task_ordered_whole",
            ),
            models.CheckConstraint(
                condition=(Q(state=TaskState.ESTABLISHED) & Q(established_on__isnull=False))
                | (~Q(state=TaskState.ESTABLISHED) & Q(established_on__isnull=True)),
                name="task_established_has_date",
            ),
            models.CheckConstraint(
                condition=(
                    Q(state=TaskState.WAIVED, waived_on__isnull=False)
                    & ~Q(waived_by="")
                    & ~Q(waived_reason="")
                    & ~Q(waived_kind="")
                )
                | (
                    ~Q(state=TaskState.WAIVED)
                    & Q(waived_by="", waived_reason="", waived_kind="", waived_on__isnull=True)
                ),
                name="task_waived_by_name_with_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"replacement of {self.removed_tree}"

    @property
    def site_park(self) -> Park:
        """Where it is planted."""
        return self.moved_to or self.park

    @property
    def on_the_old_spot(self) -> bool:
        """It comes to stand where the removed tree stood."""
        return self.first and self.place_id is None and self.moved_to_id is None

    @property
    def is_waiting(self) -> bool:
        return self.state in WAITING

    @property
    def choice(self) -> str:
        """The chosen species in full; empty before the choice."""
        if self.species is None:
            return ""
        return f"{self.species.botanical} ‘{self.cultivar}’" if self.cultivar else self.species.botanical


class ObstacleKind(models.TextChoices):
    STUMP = "stump still in"
    WATER = "no water"
    UTILITIES = "utilities"
    DESIGN = "design pending"
    OTHER = "other"


# What belongs to the spot and stays behind when the replacement moves to another.
OF_THE_SPOT = (ObstacleKind.STUMP, ObstacleKind.WATER, ObstacleKind.UTILITIES)


class Obstacle(models.Model):
    """What stands in the way of planting, from the day somebody said so to the day somebody cleared it."""

    task = models.ForeignKey(ReplacementTask, on_delete=models.CASCADE, related_name="obstacles")
    kind = models.CharField(max_length=15, choices=ObstacleKind)
    note = models.CharField(max_length=300, blank=True)
    put_on = models.DateField()
    put_by = models.CharField(max_length=150)
    cleared_on = models.DateField(null=True, blank=True)
    cleared_by = models.CharField(max_length=150, blank=True)
    cleared_note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["cleared_on", "put_on", "pk"]
        indexes: ClassVar = [
            models.Index(fields=["task", "kind"], condition=Q(cleared_on__isnull=True), name="obstacle_open"),
        ]
        constraints: ClassVar = [
            one_of("kind", ObstacleKind, name="obstacle_kind"),
            models.UniqueConstraint(
                fields=["task", "kind"], condition=Q(cleared_on__isnull=True), name="obstacle_open_once"
            ),
            models.CheckConstraint(condition=~Q(put_by=""), name="obstacle_put_by_name"),
            models.CheckConstraint(
                condition=Q(cleared_on__isnull=True, cleared_by="", cleared_note="")
                | (Q(cleared_on__isnull=False) & ~Q(cleared_by="")),
                name="obstacle_cleared_by_name",
            ),
            models.CheckConstraint(condition=~Q(kind=ObstacleKind.OTHER) | ~Q(note=""), name="obstacle_other_is_said"),
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.task}"
