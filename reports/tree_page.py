"""A tree's own page: its facts, what its rating was computed from, and all that happened to it."""

from __future__ import annotations

from typing import Any

from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format

from hazards.matrix import Rating
from hazards.models import OPEN_CONCERNS, Assessment, Inspection, StormEvent
from hazards.second_look import NEAR, near_pairs
from inventory.access import Permission, requires
from inventory.models import Photo, Tree
from inventory.paging import page_of
from removals.models import OPEN_STATES
from replanting.models import WAITING

HISTORY_SIZE = 25


def whole_trees() -> Any:
    """With everything that stands beside a tree one to one."""
    return Tree.objects.select_related(
        "park",
        "species",
        "replaces",
        "standing__inspection__inspector",
        "standing__assessment__target",
        "planting__task__removed_tree",
    ).defer("park__boundary")


def inspections_of(tree: Tree) -> list[Inspection]:
    """The newest first, each with its assessments (worst first), defects and the correction that took its place."""
    assessments = Prefetch("assessments", Assessment.objects.select_related("target"))
    found = tree.inspections.select_related("inspector", "superseded_by").prefetch_related(assessments, "defects")
    return list(found)


def worst_rating(inspection: Inspection) -> str:
    """Of the inspection's assessments; empty when there was nothing to assess."""
    ratings = [Rating(assessment.rating) for assessment in inspection.assessments.all()]
    return max(ratings, key=lambda rating: rating.rank).value if ratings else ""


def shown_photos(tree: Tree) -> list[dict[str, str]]:
    return [
        {
            "url": reverse("inventory:photo", args=[photo.pk]),
            "alt": photo.caption or f"{tree.tag}, {tree.name}",
            "caption": caption(photo),
        }
        for photo in tree.photos.all()
    ]


def caption(photo: Photo) -> str:
    day = date_format(timezone.localtime(photo.taken_at))
    return f"{photo.caption}, {day}" if photo.caption else day


@requires(Permission.READ)
def tree(request: HttpRequest, tag: str) -> HttpResponse:
    found = get_object_or_404(whole_trees(), tag=tag)
    orders = list(found.removal_orders.select_related("kept_place"))
    looks = inspections_of(found)
    context = {
        "tree": found,
        "standing": getattr(found, "standing", None),
        "waiting": WAITING,
        "tasks": list(found.replacement_tasks.exclude(units=0).select_related("species", "moved_to").order_by("pk")),
        "planting": getattr(found, "planting", None),
        "replacements": list(found.replacements.select_related("species")),
        "photos": shown_photos(found),
        "inspections": [(inspection, worst_rating(inspection)) for inspection in looks],
        "near_looks": near_pairs(looks),
        "near_hours": NEAR.seconds // 3600,
        "orders": orders,
        "kept_places": [order.kept_place for order in orders if hasattr(order, "kept_place")],
        "work": list(found.mitigation_orders.all()),
        "closures": list(found.closures.filter(lifted_at__isnull=True)),
        "asked": list(found.asked_looks.filter(met_by__isnull=True)),
        "storm": StormEvent.objects.open().filter(parks=found.park_id).first() if found.stands else None,
        "finds": list(found.storm_finds.select_related("event").filter(dealt_at__isnull=True)),
        "concerns": list(found.concerns.filter(state__in=OPEN_CONCERNS)),
        "open_order": any(order.state in OPEN_STATES for order in orders),
        "history": page_of(found.record.all(), ["-id"], request.GET.get("page", ""), size=HISTORY_SIZE),
        "today": timezone.localdate(),
    }
    return render(request, "reports/tree.html", context)
