"""What is stored of the promise that each removed tree comes back."""

from __future__ import annotations

import datetime as dt
from typing import ClassVar

from django.db import models
from django.db.models import Q

from inventory.models import Park, Species, Tree, one_of


class TaskState(models.TextChoices):
    OPEN = "open"
    SPECIES_CHOSEN = "species chosen"
    ORDERED = "ordered"
    PLANTED = "planted"
    ESTABLISHED = "established"
    WAIVED = "waived"


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


class ReplacementTask(models.Model):
    """The replacement owed for one removed tree: exactly one, held by the database."""

    removed_tree = models.OneToOneField(Tree, on_delete=models.PROTECT, related_name="replacement_task")
    park = models.ForeignKey(Park, on_delete=models.PROTECT, related_name="replacement_tasks")
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

    objects: ClassVar = TaskQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["due_on", "pk"]
        indexes: ClassVar = [
            models.Index(fields=["state", "due_on", "id"], name="task_state_due"),
            models.Index(fields=["park", "due_on", "id"], name="task_park_due"),
            models.Index(fields=["due_on", "id"], name="task_due"),
        ]
        constraints: ClassVar = [
            one_of("state", TaskState, name="task_state"),
            one_of("stock", Stock, name="task_stock", or_empty=True),
            models.CheckConstraint(
                condition=Q(state__in=[TaskState.OPEN, TaskState.WAIVED]) | Q(species__isnull=False),
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
                condition=(Q(state=TaskState.WAIVED, waived_on__isnull=False) & ~Q(waived_by="") & ~Q(waived_reason=""))
                | (~Q(state=TaskState.WAIVED) & Q(waived_by="", waived_reason="", waived_on__isnull=True)),
                name="task_waived_by_name_with_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"replacement of {self.removed_tree}"

    @property
    def is_waiting(self) -> bool:
        return self.state in WAITING

    @property
    def choice(self) -> str:
        """The chosen species in full; empty before the choice."""
        if self.species is None:
            return ""
        return f"{self.species.botanical} ‘{self.cultivar}’" if self.cultivar else self.species.botanical
