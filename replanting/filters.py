"""Which replacements the queue shows."""

from __future__ import annotations

from typing import Any

import django_filters as filters
from django import forms
from django.utils import timezone

from inventory.models import Park
from replanting.models import ReplacementTask, TaskState

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
