"""Which replacements the queue shows, and which taxa a choice is offered."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import django_filters as filters
from django import forms
from django.db.models import Q, QuerySet
from django.utils import timezone

from inventory.models import Park, SizeClass, Species
from replanting.models import Planting, ReplacementTask, TaskState
from replanting.palette import Site, suits
from replanting.policy import DEFAULT
from replanting.site import traits_of

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


class CandidateFilter(filters.FilterSet):
    """Taxa of the palette; ``fits`` keeps those that nothing known of the place speaks against."""

    q = filters.CharFilter(method="by_name", label="Name", max_length=80)
    zone = filters.NumberFilter(method="by_zone", label="Hardiness zone", min_value=1, max_value=13)
    size = filters.ChoiceFilter(
        field_name="size_class", choices=words(SizeClass.values), label="Mature size", empty_label="Any size"
    )
    light = filters.ChoiceFilter(method="holds", choices=words(["full", "part", "shade"]), empty_label="Any light")
    moisture = filters.ChoiceFilter(
        method="holds", choices=words(["dry", "medium", "wet"]), label="Soil moisture", empty_label="Any moisture"
    )
    fits = filters.BooleanFilter(method="if_fits", label="Only what fits here", widget=forms.CheckboxInput)

    class Meta:
        model = Species
        fields: list[str] = []

    def __init__(self, data: Any, *, site: Site, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.site = site

    def if_fits(self, taxa: QuerySet[Species], name: str, wanted: bool) -> QuerySet[Species]:
        if not wanted:
            return taxa
        # The palette is a few hundred taxa; its rules are not written a second time for the database.
        return taxa.filter(pk__in=[taxon.pk for taxon in taxa if suits(self.site, traits_of(taxon))])

    def by_name(self, taxa: QuerySet[Species], name: str, text: str) -> QuerySet[Species]:
        return taxa.filter(Q(botanical__icontains=text) | Q(common__icontains=text) | Q(family__iexact=text))

    def by_zone(self, taxa: QuerySet[Species], name: str, zone: Any) -> QuerySet[Species]:
        return taxa.filter(zone_min__lte=zone, zone_max__gte=zone)

    def holds(self, taxa: QuerySet[Species], name: str, word: str) -> QuerySet[Species]:
        return taxa.filter(**{f"{name}__contains": [word]})
