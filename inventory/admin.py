"""Corrections of reference data by clerks, and the record to look things up in. What a site shows is said in `config/admin.py`.

No tree, inspection, order or task is edited here: their changes go through the workflows.
"""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib import admin
from django.db.models import Model
from django.forms import BaseModelForm
from django.http import HttpRequest

from inventory.access import Permission, allowed
from inventory.models import Park, RecordEntry, Species
from inventory.record import Actor
from inventory.workflow import correct_reference


class ReferenceAdmin(admin.ModelAdmin[Any]):
    """Add and correct, for those who administer; nothing is deleted; each save stands in the record."""

    def has_module_permission(self, request: HttpRequest) -> bool:
        return allowed(request.user, Permission.ADMINISTER)

    def has_view_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return allowed(request.user, Permission.ADMINISTER)

    def has_add_permission(self, request: HttpRequest) -> bool:
        return allowed(request.user, Permission.ADMINISTER)

    def has_change_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return allowed(request.user, Permission.ADMINISTER)

    def has_delete_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False

    def save_model(self, request: HttpRequest, obj: Model, form: BaseModelForm[Any], change: bool) -> None:
        changes = {name: [str(form.initial.get(name)), str(getattr(obj, name))] for name in form.changed_data}
        correct_reference(by=Actor(request.user), thing=obj, changes=changes, new=not change)


class ParkAdmin(ReferenceAdmin):
    list_display = ("code", "name", "hardiness_zone")
    search_fields = ("code", "name")
    # The area follows from the boundary, and both come in together.
    exclude = ("boundary",)
    readonly_fields = ("area_m2",)

    def get_queryset(self, request: HttpRequest) -> Any:
        return super().get_queryset(request).defer("boundary")


class SpeciesAdmin(ReferenceAdmin):
    list_display = ("botanical", "common", "genus", "family", "palette")
    list_filter = ("palette",)
    search_fields = ("botanical", "common")
    readonly_fields = ("palette",)


class RecordEntryAdmin(ReferenceAdmin):
    """The record is read, never written here."""

    list_display = ("at", "actor_name", "via", "verb", "summary")
    list_select_related: ClassVar = False
    search_fields = ("subject_id", "=tree__tag")
    show_full_result_count = False

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False


REFERENCE = {Park: ParkAdmin, Species: SpeciesAdmin, RecordEntry: RecordEntryAdmin}
