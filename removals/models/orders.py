"""Removal orders: the file of one tree's removal, from the proposal to the closed file."""

from __future__ import annotations

import datetime as dt
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models import Park, Tree, one_of


class OrderState(models.TextChoices):
    PROPOSED = "proposed"
    APPROVED = "approved"
    SCHEDULED = "scheduled"
    FELLED = "felled"
    ALREADY_DOWN = "already down"
    CLOSED = "closed"
    WITHDRAWN = "withdrawn"


BEFORE_FELLING = (OrderState.PROPOSED, OrderState.APPROVED, OrderState.SCHEDULED)
DOWN = (OrderState.FELLED, OrderState.ALREADY_DOWN)
# One open order a tree: until it is withdrawn or the paperwork is done.
OPEN_STATES = (*BEFORE_FELLING, *DOWN)


class OrderQuerySet(models.QuerySet["RemovalOrder"]):
    def open(self) -> OrderQuerySet:
        return self.filter(state__in=OPEN_STATES)

    def before_felling(self) -> OrderQuerySet:
        return self.filter(state__in=BEFORE_FELLING)

    def overdue(self, today: dt.date) -> OrderQuerySet:
        return self.before_felling().filter(due_on__lt=today)


class RemovalOrder(models.Model):
    """The removal of one tree, from the proposal to the closed file."""

    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="removal_orders")
    park = models.ForeignKey(Park, on_delete=models.PROTECT, related_name="removal_orders")
    state = models.CharField(max_length=12, choices=OrderState, default=OrderState.PROPOSED)
    reason = models.CharField(max_length=400)
    rating = models.CharField("rating when proposed", max_length=10, blank=True)
    due_on = models.DateField(null=True, blank=True)
    proposed_on = models.DateField()
    proposed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    approved_on = models.DateField(null=True, blank=True)
    approved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    scheduled_for = models.DateField(null=True, blank=True)
    crew_lead = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    felled_on = models.DateField("felled, or found down, on", null=True, blank=True)
    found_down = models.BooleanField("was down already, not felled", default=False)
    outcome = models.CharField("how it went", max_length=400, blank=True)
    closed_on = models.DateField(null=True, blank=True)
    withdrawn_on = models.DateField(null=True, blank=True)
    withdrawn_reason = models.CharField(max_length=300, blank=True)

    objects: ClassVar = OrderQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["-pk"]
        indexes: ClassVar = [
            models.Index(fields=["state", "-id"], name="order_state"),
            models.Index(fields=["park", "-id"], name="order_park"),
        ]
        constraints: ClassVar = [
            one_of("state", OrderState, name="order_state_known"),
            models.UniqueConstraint(fields=["tree"], condition=Q(state__in=OPEN_STATES), name="order_one_open_a_tree"),
            models.CheckConstraint(
                condition=~Q(state__in=[OrderState.APPROVED, OrderState.SCHEDULED, OrderState.FELLED])
                | Q(approved_on__isnull=False),
                name="order_approved_has_date",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=[OrderState.SCHEDULED, OrderState.FELLED])
                | Q(scheduled_for__isnull=False, crew_lead__isnull=False),
                name="order_scheduled_whole",
            ),
            models.CheckConstraint(
                condition=(Q(state__in=[*DOWN, OrderState.CLOSED]) & Q(felled_on__isnull=False))
                | (~Q(state__in=[*DOWN, OrderState.CLOSED]) & Q(felled_on__isnull=True)),
                name="order_down_has_date",
            ),
            models.CheckConstraint(
                condition=(Q(found_down=True) & Q(state__in=[OrderState.ALREADY_DOWN, OrderState.CLOSED]))
                | (Q(found_down=False) & ~Q(state=OrderState.ALREADY_DOWN)),
                name="order_found_down",
            ),
            models.CheckConstraint(
                condition=(Q(state=OrderState.CLOSED) & Q(closed_on__isnull=False))
                | (~Q(state=OrderState.CLOSED) & Q(closed_on__isnull=True)),
                name="order_closed_has_date",
            ),
            models.CheckConstraint(
                condition=(Q(state=OrderState.WITHDRAWN, withdrawn_on__isnull=False) & ~Q(withdrawn_reason=""))
                | (~Q(state=OrderState.WITHDRAWN) & Q(withdrawn_on__isnull=True, withdrawn_reason="")),
                name="order_withdrawn_with_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"order {self.number}"

    @property
    def before_felling(self) -> bool:
        return self.state in BEFORE_FELLING

    @property
    def number(self) -> str:
        return f"{self.proposed_on:%Y}-{self.pk:04d}"
