"""Which replacements the queue shows, and which young trees the care list."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import django_filters as filters
from django import forms
from django.utils import timezone

from inventory.models import Park
from replanting.models import Planting, ReplacementTask, TaskState
from replanting.policy import DEFAULT

WAITING, ALL = "waiting", "all"


def words(values: list[str]) -> list[tuple[str, str]]:
    return [(value, value.capitalize()) for value in values]


class ParkFilter(filters.ModelChoiceFilter):
    def __init__(self, **kwargs: Any) -> None:
        parks = Park.objects.only("code", "name").order_by("name")
        super().__init__(queryset=parks, to_field_name="code", label="Park", empty_label="All parks", **kwargs)


class TaskFilter(filters.FilterSet):
    """Without a state: those that wait for planting, which is what a queue is."""

    state = filters.ChoiceFilter(
        method="by_state",
        choices=[(WAITING, "Waiting for planting"), *words(TaskState.values), (ALL, "All")],
        label="State",
        empty_label=None,
    )
    park = ParkFilter()
    overdue = filters.BooleanFilter(method="if_overdue", label="Overdue only", widget=forms.CheckboxInput)

    class Meta:
        model = ReplacementTask
        fields: list[str] = []

    def __init__(self, data: Any, **kwargs: Any) -> None:
        data = data.copy()
        data.setdefault("state", WAITING)
        super().__init__(data, **kwargs)

    def by_state(self, tasks: Any, name: str, state: str) -> Any:
        if state == ALL:
            return tasks
        return tasks.waiting() if state == WAITING else tasks.filter(state=state)

    def if_overdue(self, tasks: Any, name: str, wanted: bool) -> Any:
        return tasks.overdue(timezone.localdate()) if wanted else tasks


class CareFilter(filters.FilterSet):
    """Young trees not seen for a number of days; without one, the policy's."""

    days = filters.NumberFilter(method="unseen", label="Not seen for days", min_value=0, max_value=3650)
    park = ParkFilter(field_name="task__park")

    class Meta:
        model = Planting
        fields: list[str] = []

    def __init__(self, data: Any, **kwargs: Any) -> None:
        data = data.copy()
        data.setdefault("days", DEFAULT.visit_every_days)
        super().__init__(data, **kwargs)

    def unseen(self, plantings: Any, name: str, days: Any) -> Any:
        return plantings.unseen_since(timezone.localdate() - timedelta(days=int(days)))
