"""Forms of a removal order's steps and of the job briefing."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.utils import timezone

from inventory.access import ROLE_PERMISSIONS, Permission
from removals.models import RemovalOrder
from replanting.owing import was_dead

SIGNATURE_ROWS = 5


def day_field(label: str, **kwargs: Any) -> forms.DateField:
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(label=label, initial=timezone.localdate, widget=widget, **kwargs)


def words_field(label: str, limit: int, **kwargs: Any) -> forms.CharField:
    widget = forms.Textarea(attrs={"rows": 3})
    return forms.CharField(label=label, max_length=limit, widget=widget, **kwargs)


class CrewLeadField(forms.ModelChoiceField[User]):
    def label_from_instance(self, obj: User) -> str:
        return obj.get_full_name() or obj.get_username()


def crew_leads() -> Any:
    """People whose role lets them hold a briefing."""
    roles = [role.value for role, grants in ROLE_PERMISSIONS.items() if Permission.BRIEF_CREW in grants]
    return User.objects.filter(is_active=True, groups__name__in=roles).distinct().order_by("last_name", "username")


class OrderForm(forms.Form):
    """A step of an order; every step's form takes the order that it is about."""

    def __init__(self, *args: Any, order: RemovalOrder | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.order = order


class ProposeForm(OrderForm):
    reason = words_field(
        "Why it has to come down", 400, help_text="What was found, and why pruning, bracing or waiting will not do."
    )


class ApproveForm(OrderForm):
    """Nothing to fill in: the page shows what is approved."""


class ScheduleForm(OrderForm):
    scheduled_for = day_field("Day of the work")
    crew_lead = CrewLeadField(label="Crew lead", queryset=User.objects.none())

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["crew_lead"].queryset = crew_leads()  # type: ignore[attr-defined]
        if self.order and self.order.scheduled_for:
            self.initial.update(scheduled_for=self.order.scheduled_for, crew_lead=self.order.crew_lead_id)


class WithdrawForm(OrderForm):
    reason = words_field("Why the order is withdrawn", 300)


class AlreadyDownForm(OrderForm):
    on = day_field("Found down on")
    cause = words_field("What brought it down", 400, help_text="For example: storm, a vehicle, a utility.")


class CloseForm(OrderForm):
    on = day_field("Paperwork done on")
    dead = forms.BooleanField(label="It was dead before it came down", required=False)
    diseased = forms.BooleanField(
        label="It was diseased",
        required=False,
        help_text="The number of trees owed is fixed with the closing; a city may not count dead or diseased ones.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.order:
            self.initial.setdefault("dead", was_dead(self.order.tree))
