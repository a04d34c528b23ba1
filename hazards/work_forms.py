"""Forms of work other than removal, of closures, and of a look that is asked for."""

from __future__ import annotations

import datetime as dt
from typing import Any, ClassVar

from django import forms
from django.contrib.auth.models import User
from django.utils import timezone
from uuid_utils.compat import uuid7

from hazards.mitigation import HOURS_MAX
from hazards.models import AskedLook, InspectionLevel, MitigationKind, MitigationOrder
from inventory.access import ROLE_PERMISSIONS, Permission
from inventory.models import Park
from inventory.steps import name_of


def day_field(label: str, **kwargs: Any) -> forms.DateField:
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(label=label, initial=timezone.localdate, widget=widget, **kwargs)


def words_field(label: str, limit: int, **kwargs: Any) -> forms.CharField:
    return forms.CharField(label=label, max_length=limit, widget=forms.Textarea(attrs={"rows": 3}), **kwargs)


def hours_field(label: str) -> forms.FloatField:
    return forms.FloatField(label=label, min_value=0, max_value=HOURS_MAX, required=False)


def workers() -> Any:
    """People whose role lets them report such work done."""
    roles = [role.value for role, grants in ROLE_PERMISSIONS.items() if Permission.REPORT_MITIGATION in grants]
    return User.objects.filter(is_active=True, groups__name__in=roles).distinct().order_by("last_name", "username")


class PersonField(forms.ModelChoiceField[User]):
    def label_from_instance(self, obj: User) -> str:
        return name_of(obj)


class ProposeWorkForm(forms.Form):
    kind = forms.ChoiceField(
        label="What is to be done",
        choices=[("", "Choose the work"), *((kind, kind.capitalize()) for kind in MitigationKind.values)],
    )
    reason = words_field(
        "How much of it, and why", 400, help_text="For example: take off the dead limb over the bench, at the collar."
    )
    estimated_hours = hours_field("Estimate, crew hours")


class WorkForm(forms.Form):
    """A step of an order; every step's form takes the order that it is about."""

    def __init__(self, *args: Any, order: MitigationOrder, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.order = order


class ScheduleWorkForm(WorkForm):
    scheduled_for = day_field("Day of the work")
    assigned_to = PersonField(label="Who sees to it", queryset=User.objects.none())
    estimated_hours = hours_field("Estimate, crew hours")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["assigned_to"].queryset = workers()  # type: ignore[attr-defined]
        self.initial["estimated_hours"] = self.order.estimated_hours
        if self.order.scheduled_for:
            self.initial.update(scheduled_for=self.order.scheduled_for, assigned_to=self.order.assigned_to_id)


class WorkDoneForm(WorkForm):
    on = day_field("Done on")
    actual_hours = hours_field("Taken, crew hours")
    outcome = words_field("What was done", 400, help_text="And what was seen meanwhile that the next look should know.")


class WithdrawWorkForm(WorkForm):
    reason = words_field("Why the order is withdrawn", 300)


class CloseAreaForm(forms.Form):
    """``id`` is made with the form, so that sending it twice closes the area once."""

    id = forms.UUIDField(widget=forms.HiddenInput)
    park = forms.ModelChoiceField(queryset=Park.objects.none(), to_field_name="code", empty_label="Choose a park")
    area = forms.CharField(
        label="What is closed", max_length=200, help_text="For example: the path from the east gate to the pond."
    )
    barrier = forms.CharField(
        label="What keeps people out",
        max_length=200,
        help_text="For example: fence on three sides, tape and two signs.",
    )
    reason = words_field("Why", 300)

    def __init__(self, data: Any, *, park: Park | None, initial: dict[str, Any]) -> None:
        super().__init__(data, initial={"id": uuid7(), **initial})
        if park:
            del self.fields["park"]
        else:
            self.fields["park"].queryset = Park.objects.defer("boundary").order_by("name")  # type: ignore[attr-defined]


class LiftForm(forms.Form):
    reason = words_field(
        "Why the area can be opened again", 300, help_text="For example: the tree is down and cleared."
    )


class AskLookForm(forms.ModelForm[AskedLook]):
    due_on = day_field("By")
    level = forms.TypedChoiceField(
        label="At least level", choices=InspectionLevel.choices, coerce=int, initial=InspectionLevel.BASIC.value
    )
    why = words_field("Why", 300, help_text="For example: roots were cut for the new kerb.")

    class Meta:
        model = AskedLook
        fields: ClassVar = ["due_on", "level", "why"]

    def clean_due_on(self) -> dt.date:
        due_on: dt.date = self.cleaned_data["due_on"]
        if due_on < timezone.localdate():
            raise forms.ValidationError("That day has passed; give today or a later day.")
        return due_on
