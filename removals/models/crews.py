"""People who work on removals, their tickets, and who is on which order."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models import one_of
from removals.models.orders import RemovalOrder
from removals.models.plans import CrewRole


class Worker(models.Model):
    """Somebody who works in a crew; need not be able to sign in."""

    name = models.CharField(max_length=120, unique=True)
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="worker"
    )
    first_aid_until = models.DateField("first-aid training valid until", null=True, blank=True)
    active = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [models.CheckConstraint(condition=~Q(name=""), name="worker_named")]

    def __str__(self) -> str:
        return self.name


class TicketKind(models.TextChoices):
    FELLER = "feller"
    CLIMBER = "climber"
    OPERATOR = "operator"


class Ticket(models.Model):
    """A certificate of competence, with the day it ends."""

    worker = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="tickets")
    kind = models.CharField(max_length=10, choices=TicketKind)
    number = models.CharField(max_length=60, blank=True)
    expires_on = models.DateField()

    class Meta:
        ordering: ClassVar = ["worker", "kind", "-expires_on"]
        constraints: ClassVar = [
            one_of("kind", TicketKind, name="ticket_kind"),
            models.UniqueConstraint(fields=["worker", "kind"], name="ticket_one_a_kind"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} ticket of {self.worker}, until {self.expires_on}"


class CrewMember(models.Model):
    """One worker's place in the crew of one order."""

    order = models.ForeignKey(RemovalOrder, on_delete=models.CASCADE, related_name="crew")
    worker = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="orders")
    role = models.CharField(max_length=10, choices=CrewRole)

    class Meta:
        ordering: ClassVar = ["order", "pk"]
        constraints: ClassVar = [
            one_of("role", CrewRole, name="crew_role"),
            models.UniqueConstraint(fields=["order", "worker"], name="crew_once_an_order"),
        ]

    def __str__(self) -> str:
        return f"{self.worker}, {self.role}"
