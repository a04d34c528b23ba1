"""Which rated trees a list shows."""

from __future__ import annotations

from typing import Any

import django_filters as filters
from django import forms
from django.utils import timezone

from hazards.matrix import Rating
from hazards.models import Standing
from inventory.models import Park, Tree


def parks(request: Any) -> Any:
    return Park.objects.only("code", "name").order_by("name")


class ParkFilter(filters.FilterSet):
    park = filters.ModelChoiceFilter(queryset=parks, to_field_name="code", empty_label="Any park")

    class Meta:
        model = Standing
        fields: list[str] = []


class RankingFilter(ParkFilter):
    rating = filters.ChoiceFilter(
        choices=[(rating.value, rating.value.capitalize()) for rating in reversed(Rating)], empty_label="Any rating"
    )
    species = filters.CharFilter(method="of_species", label="Species, genus or tag", max_length=80)
    imminent = filters.BooleanFilter(method="if_imminent", label="Imminent only", widget=forms.CheckboxInput)
    overdue = filters.BooleanFilter(method="if_overdue", label="Work overdue", widget=forms.CheckboxInput)

    def of_species(self, standings: Any, name: str, text: str) -> Any:
        return standings.filter(tree__in=Tree.objects.named(text.strip()).order_by().values("pk"))

    def if_imminent(self, standings: Any, name: str, wanted: bool) -> Any:
        return standings.filter(imminent=True) if wanted else standings

    def if_overdue(self, standings: Any, name: str, wanted: bool) -> Any:
        return standings.work_overdue(timezone.localdate()) if wanted else standings
