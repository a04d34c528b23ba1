"""Which rated trees a list shows."""

from __future__ import annotations

from typing import Any

import django_filters as filters
from django import forms
from django.utils import timezone

from hazards.matrix import Rating
from hazards.models import Closure, Concern, ConcernSource, MitigationKind, MitigationOrder, MitigationState, Standing
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


OPEN, ALL = "", "all"


class MitigationFilter(filters.FilterSet):
    """Give it the open orders unless a state is asked for."""

    text = filters.CharFilter(label="Tag or species", method="by_text", max_length=80)
    # Picked by the links above the list; kept here while the rest is filtered.
    state = filters.ChoiceFilter(
        choices=[*((state, state) for state in MitigationState.values), (ALL, ALL)],
        method="by_state",
        widget=forms.HiddenInput,
    )
    kind = filters.ChoiceFilter(
        label="Work", empty_label="Any work", choices=[(kind, kind.capitalize()) for kind in MitigationKind.values]
    )
    park = filters.ModelChoiceFilter(queryset=parks, to_field_name="code", empty_label="Any park")
    mine = filters.BooleanFilter(label="Given to me", method="if_mine", widget=forms.CheckboxInput)
    overdue = filters.BooleanFilter(label="Overdue only", method="if_overdue", widget=forms.CheckboxInput)

    class Meta:
        model = MitigationOrder
        fields: list[str] = []

    def by_text(self, orders: Any, name: str, text: str) -> Any:
        return orders.filter(tree__in=Tree.objects.named(text.strip()).order_by().values("pk"))

    def by_state(self, orders: Any, name: str, state: str) -> Any:
        return orders if state == ALL else orders.filter(state=state)

    def if_mine(self, orders: Any, name: str, wanted: bool) -> Any:
        return orders.filter(assigned_to=self.request.user.pk) if wanted else orders

    def if_overdue(self, orders: Any, name: str, wanted: bool) -> Any:
        return orders.overdue(timezone.localdate()) if wanted else orders


class ClosureFilter(filters.FilterSet):
    """Give it the open closures unless lifted ones are asked for."""

    park = filters.ModelChoiceFilter(queryset=parks, to_field_name="code", empty_label="Any park")
    gone = filters.BooleanFilter(label="Whose tree is gone", method="if_gone", widget=forms.CheckboxInput)
    lifted = filters.BooleanFilter(label="Also those opened again", method="as_given", widget=forms.CheckboxInput)

    class Meta:
        model = Closure
        fields: list[str] = []

    def if_gone(self, closures: Any, name: str, wanted: bool) -> Any:
        return closures.tree_gone() if wanted else closures

    def as_given(self, closures: Any, name: str, wanted: bool) -> Any:
        return closures


class ConcernFilter(filters.FilterSet):
    """The state is picked by the links above the list; kept here while the rest is filtered."""

    state = filters.CharFilter(method="as_given", widget=forms.HiddenInput)
    park = filters.ModelChoiceFilter(queryset=parks, to_field_name="code", empty_label="Any park")
    source = filters.ChoiceFilter(choices=ConcernSource.choices, label="Came by", empty_label="Any way")
    reference = filters.CharFilter(method="by_reference", label="Reference", max_length=20)

    class Meta:
        model = Concern
        fields: list[str] = []

    def as_given(self, concerns: Any, name: str, wanted: str) -> Any:
        return concerns

    def by_reference(self, concerns: Any, name: str, text: str) -> Any:
        return concerns.filter(reference=text.strip().upper())
