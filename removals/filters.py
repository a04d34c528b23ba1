"""The filter of the list of orders."""

from __future__ import annotations

from typing import Any

import django_filters
from django import forms
from django.contrib.auth.models import User
from django.utils import timezone

from inventory.models import Park, Tree
from removals.forms import crew_leads
from removals.models import OrderQuerySet, OrderState, RemovalOrder

OPEN, ALL = "", "all"


def person(user: User) -> str:
    return user.get_full_name() or user.get_username()


class OrderFilter(django_filters.FilterSet):
    """Give it the open orders unless a state is asked for."""

    text = django_filters.CharFilter(label="Tag or species", method="by_text")
    # Picked by the links above the list; kept here while the rest is filtered.
    state = django_filters.ChoiceFilter(
        choices=[*((state, state) for state in OrderState.values), (ALL, ALL)],
        method="by_state",
        widget=forms.HiddenInput,
    )
    park = django_filters.ModelChoiceFilter(
        label="Park",
        empty_label="Any park",
        queryset=Park.objects.only("code", "name").order_by("name"),
        to_field_name="code",
    )
    crew_lead = django_filters.ModelChoiceFilter(
        label="Crew lead", empty_label="Anybody", queryset=lambda request: crew_leads()
    )
    overdue = django_filters.BooleanFilter(label="Overdue only", method="by_overdue", widget=forms.CheckboxInput)

    class Meta:
        model = RemovalOrder
        fields = ("text", "state", "park", "crew_lead", "overdue")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.form.fields["crew_lead"].label_from_instance = person

    def by_state(self, orders: OrderQuerySet, name: str, state: str) -> OrderQuerySet:
        return orders if state == ALL else orders.filter(state=state)

    def by_text(self, orders: OrderQuerySet, name: str, text: str) -> OrderQuerySet:
        return orders.filter(tree__in=Tree.objects.named(text))

    def by_overdue(self, orders: OrderQuerySet, name: str, overdue: bool) -> OrderQuerySet:
        return orders.overdue(timezone.localdate()) if overdue else orders
