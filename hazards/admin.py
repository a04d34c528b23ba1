"""Corrections of targets by clerks; inspections and ratings are never edited."""

from hazards.models import Target
from inventory.admin import ReferenceAdmin


class TargetAdmin(ReferenceAdmin):
    list_display = ("name", "park", "kind", "occupancy", "movable")
    list_filter = ("kind", "occupancy")
    list_select_related = ("park",)
    search_fields = ("name", "park__code")


REFERENCE = {Target: TargetAdmin}
