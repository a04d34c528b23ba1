"""Which trees a list, a download or a label sheet is about."""

from __future__ import annotations

from typing import Any

import django_filters as filters
from django import forms
from django.db.models import Exists, OuterRef, QuerySet
from django.http import HttpRequest
from django.utils import timezone

from hazards.matrix import Rating
from inventory.context import units_of
from inventory.forms import SpeciesChoice
from inventory.models import Condition, Park, Species, Tree, TreeStatus
from inventory.sizes import BY_KEY, SIZE_CLASSES

STANDS = "stands"
NOT_RATED = "none"


def words(values: list[str]) -> list[tuple[str, str]]:
    return [(value, value.capitalize()) for value in values]


class SpeciesFilter(filters.ModelChoiceFilter):
    field_class = SpeciesChoice


def met_species(request: HttpRequest | None) -> QuerySet[Species]:
    """Those that a tree of the inventory has: one look into an index each."""
    has_trees = Exists(Tree.objects.filter(species=OuterRef("pk")))
    return Species.objects.filter(has_trees).only("botanical", "common").order_by("botanical")


def met_genera() -> list[tuple[str, str]]:
    names = Species.objects.filter(Exists(Tree.objects.filter(species=OuterRef("pk"))))
    return [(genus, genus) for genus in names.order_by("genus").values_list("genus", flat=True).distinct() if genus]


class TreeFilter(filters.FilterSet):
    q = filters.CharFilter(method="by_name", label="Tag or name", max_length=80)
    park = filters.ModelChoiceFilter(
        queryset=Park.objects.only("code", "name").order_by("name"), to_field_name="code", empty_label="Any park"
    )
    species = SpeciesFilter(queryset=met_species, empty_label="Any species")
    genus = filters.ChoiceFilter(
        field_name="species__genus", choices=met_genera, label="Genus", empty_label="Any genus"
    )
    status = filters.ChoiceFilter(
        method="by_status",
        choices=[(STANDS, "Standing, alive or dead"), *words(TreeStatus.values)],
        label="Status",
        empty_label="Any status",
    )
    size = filters.ChoiceFilter(method="by_size", choices=(), label="Diameter", empty_label="Any size")
    rating = filters.ChoiceFilter(
        method="by_rating",
        choices=[*words([rating.value for rating in reversed(Rating)]), (NOT_RATED, "Not rated")],
        label="Rating",
        empty_label="Any rating",
    )
    condition = filters.ChoiceFilter(choices=words(Condition.values), label="Condition", empty_label="Any condition")
    overdue = filters.BooleanFilter(method="if_overdue", label="Inspection overdue", widget=forms.CheckboxInput)
    unlocated = filters.BooleanFilter(method="if_unlocated", label="To be located", widget=forms.CheckboxInput)

    class Meta:
        model = Tree
        fields: list[str] = []

    def __init__(self, data: Any = None, *, request: HttpRequest, queryset: QuerySet[Tree]) -> None:
        super().__init__(data, queryset=queryset, request=request)
        units = units_of(request)
        self.filters["size"].extra["choices"] = [(size.key, size.label(units)) for size in SIZE_CLASSES]

    def by_name(self, trees: Any, name: str, text: str) -> Any:
        return trees.named(text.strip())

    def by_status(self, trees: Any, name: str, status: str) -> Any:
        return trees.standing() if status == STANDS else trees.filter(status=status)

    def by_size(self, trees: Any, name: str, key: str) -> Any:
        size = BY_KEY[key]
        trees = trees.filter(dbh_cm__gte=size.low_cm)
        return trees if size.high_cm is None else trees.filter(dbh_cm__lt=size.high_cm)

    def by_rating(self, trees: Any, name: str, rating: str) -> Any:
        return trees.filter(standing__rating="" if rating == NOT_RATED else rating)

    def if_overdue(self, trees: Any, name: str, wanted: bool) -> Any:
        return trees.filter(standing__inspect_due__lt=timezone.localdate()) if wanted else trees

    def if_unlocated(self, trees: Any, name: str, wanted: bool) -> Any:
        return trees.unlocated() if wanted else trees
