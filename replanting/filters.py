"""Which replacements the queue shows."""

from __future__ import annotations

from typing import Any

import django_filters as filters
from django import forms
from django.utils import timezone

from inventory.models import Park
from replanting.due_seasons import seasons_from
from replanting.models import ObstacleKind, ReplacementTask, TaskState

WAITING, ALL = "waiting", "all"
ANY, NONE = "any", "none"
SEASONS_AHEAD = 5


def words(values: list[str]) -> list[tuple[str, str]]:
    return [(value, value.capitalize()) for value in values]


class ParkFilter(filters.ModelChoiceFilter):
    def __init__(self, **kwargs: Any) -> None:
        parks = Park.objects.only("code", "name").order_by("name")
        super().__init__(queryset=parks, to_field_name="code", label="Park", empty_label="All parks", **kwargs)


def seasons_ahead() -> tuple[Any, ...]:
    return seasons_from(timezone.localdate(), SEASONS_AHEAD)


def season_choices() -> list[tuple[str, str]]:
    return [(season.key, f"{season.name.capitalize()} at the latest") for season in seasons_ahead()]


class TaskFilter(filters.FilterSet):
    """Without a state: those that wait for planting, which is what a queue is."""

    state = filters.ChoiceFilter(
        method="by_state",
        choices=[(WAITING, "Waiting for planting"), *words(TaskState.values), (ALL, "All")],
        label="State",
        empty_label=None,
    )
    park = ParkFilter(method="by_site")
    season = filters.ChoiceFilter(
        method="by_season", choices=lambda: season_choices(), label="To be planted in", empty_label="Any season"
    )
    obstacle = filters.ChoiceFilter(
        method="by_obstacle",
        choices=[(NONE, "Nothing"), (ANY, "Anything"), *words(ObstacleKind.values)],
        label="In the way",
        empty_label="Whatever it is",
    )
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

    def by_site(self, tasks: Any, name: str, park: Park | None) -> Any:
        """Where it is planted, which may be another park than the one that owes it."""
        return tasks.filter(stands_in=park.pk) if park else tasks

    def by_season(self, tasks: Any, name: str, first: str) -> Any:
        wanted = [season for season in seasons_ahead() if season.key == first]
        return tasks.filter(due_on__range=(wanted[0].first, wanted[0].last)) if wanted else tasks

    def by_obstacle(self, tasks: Any, name: str, kind: str) -> Any:
        if kind == NONE:
            return tasks.free()
        return tasks.held_up("" if kind == ANY else kind)

    def if_overdue(self, tasks: Any, name: str, wanted: bool) -> Any:
        return tasks.overdue(timezone.localdate()) if wanted else tasks
