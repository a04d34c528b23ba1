"""The ranking, what is due, one inspection, the targets of a park."""

from __future__ import annotations

import datetime as dt
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from hazards.closures import not_closed
from hazards.filters import ParkFilter
from hazards.forms import TargetForm
from hazards.hosts import limits_in_force
from hazards.matrix import Failure, Rating
from hazards.models import (
    Assessment,
    FieldRecord,
    Inspection,
    Mitigation,
    MitigationKind,
    PruningLimit,
    Standing,
    Target,
)
from hazards.ranking_views import KeepForm, filtered, filters_of, listed, saved_views
from hazards.rounds import with_wishes
from hazards.shown import path_of
from hazards.strength_shown import Girth, stems_shown
from hazards.tree_form_shown import Stature, form_shown
from hazards.workflow import save_target
from inventory.access import Permission, requires
from inventory.context import units_of
from inventory.errors import Refused
from inventory.models import Park, Photo, Porosity, Tree
from inventory.paging import page_of
from inventory.record import Actor

IMMINENT_SHOWN = 100
SOON_DAYS = 30
GAPS_COUNTED = 99


def gaps_shown() -> str:
    """How many extreme or imminent trees have no area closed around them; empty when there is none."""
    count = not_closed().order_by()[: GAPS_COUNTED + 1].count()
    return f"{GAPS_COUNTED}+" if count > GAPS_COUNTED else str(count or "")


@requires(Permission.READ)
def ranking(request: HttpRequest) -> HttpResponse:
    """Imminent failures on their own and first; below them the rest by urgency, a page at a time."""
    chosen = filtered(request)
    token = request.GET.get("page", "")
    rated = chosen.qs
    context = {
        "filter": chosen,
        "imminent": [] if token else rated.filter(imminent=True).order_by("triage_key", "tag")[:IMMINENT_SHOWN],
        "page": page_of(rated.filter(imminent=False), ["triage_key", "tag"], token),
        "today": timezone.localdate(),
        "saved": saved_views(request.user),
        "query": filters_of(request.GET),
        "ticked": request.GET.get("tick") == "all",
        "keep_form": KeepForm(),
        "gaps": gaps_shown(),
    }
    return render(request, "hazards/ranking.html", context)


# Which inspections are asked for: its rows, and the keys that order them.
def _overdue(today: dt.date) -> Q:
    return Q(inspect_due__lt=today)


def _soon(today: dt.date) -> Q:
    return Q(inspect_due__range=(today, today + dt.timedelta(days=SOON_DAYS)))


def _never(today: dt.date) -> Q:
    return Q(inspected_on__isnull=True)


LISTS = {
    "overdue": ("Overdue", _overdue, ["inspect_due", "tree_id"]),
    "soon": (f"Due within {SOON_DAYS} days", _soon, ["inspect_due", "tree_id"]),
    "never": ("Never inspected", _never, ["tree_id"]),
}


@requires(Permission.READ)
def due(request: HttpRequest) -> HttpResponse:
    """Inspections that are overdue, due soon or were never made; without a park also the counts of each park."""
    today = timezone.localdate()
    chosen = ParkFilter(request.GET or None, queryset=listed(), request=request)
    when = request.GET.get("when", "")
    when = when if when in LISTS else "overdue"
    title, rows, keys = LISTS[when]
    park = chosen.form.cleaned_data.get("park") if chosen.is_bound and chosen.is_valid() else None
    context = {
        "filter": chosen,
        "park": park,
        "when": when,
        "title": title,
        "lists": [(key, name) for key, (name, *_) in LISTS.items()],
        "parks": [] if park else due_by_park(today),
        "page": page_of(with_wishes(chosen.qs).filter(rows(today)), keys, request.GET.get("page", "")),
        "today": today,
    }
    return render(request, "hazards/due.html", context)


def due_by_park(today: dt.date) -> Any:
    """One grouped count for the whole city; parks with nothing to do are left out."""
    counts = {key: Count("pk", filter=rows(today)) for key, (_, rows, _) in LISTS.items()}
    grouped = Standing.objects.values("park__code", "park__name").annotate(**counts)
    return grouped.filter(Q(overdue__gt=0) | Q(soon__gt=0) | Q(never__gt=0)).order_by("park__name")


@requires(Permission.READ)
def inspection(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One look with the way of each assessment through both tables."""
    looks = Inspection.objects.select_related("tree__species", "tree__park", "inspector", "supersedes")
    found = get_object_or_404(looks, pk=pk)
    assessments = list(found.assessments.select_related("target").prefetch_related("options"))
    defects = list(found.defects.all())
    photos = Photo.objects.filter(tree=found.tree_id, about=found.pk)
    standing = Standing.objects.filter(tree=found.tree_id).first()
    context = {
        "inspection": found,
        "tree": found.tree,
        "correction": Inspection.objects.filter(supersedes=found).first(),
        "paths": [path_of(assessment) for assessment in assessments],
        "imminent": any(assessment.failure == Failure.IMMINENT.value for assessment in assessments),
        "defects": defects,
        "stems": stems_shown(_girth(found), defects, units_of(request)),
        "form": form_shown(_stature(found), defects, units_of(request)),
        "photos": [shown(photo, found.tree) for photo in photos],
        "governs": standing is not None and standing.inspection_id == found.pk,
        "pruning_limits": _pruning_limits(found.tree, assessments),
        "closures": list(found.tree.closures.filter(lifted_at__isnull=True)),
        "grave": any(_grave(assessment) for assessment in assessments) and _still_grave(standing),
        "orderable": MitigationKind.values,
        "asked": list(found.asked_looks.all()),
        "sent": FieldRecord.objects.filter(pk=found.pk).first(),
    }
    return render(request, "hazards/inspection.html", context)


def _grave(assessment: Assessment) -> bool:
    return assessment.failure == Failure.IMMINENT.value or assessment.rating == Rating.EXTREME.value


def _still_grave(standing: Standing | None) -> bool:
    """The tree stands as it was found; a later look may have changed that."""
    return standing is not None and (standing.imminent or standing.rating == Rating.EXTREME.value)


def _girth(look: Inspection) -> Girth:
    several = len(look.tree.stems_cm) > 1
    if look.dbh_cm is not None:
        return Girth(look.dbh_cm, several_stems=several)
    return Girth(look.tree.dbh_cm, present=True, several_stems=several)


def _stature(look: Inspection) -> Stature:
    tree = look.tree
    conifer = tree.species is not None and tree.species.porosity == Porosity.CONIFER
    return Stature(_girth(look), look.height_m or tree.height_m, conifer, look.condition)


def _pruning_limits(tree: Tree, assessments: list[Assessment]) -> list[PruningLimit]:
    """What stands against pruning today, where pruning would mend something."""
    options = {option.mitigation for each in assessments for option in each.options.all()}
    if tree.species is None or Mitigation.PRUNE not in options:
        return []
    return limits_in_force(tree.species.genus, timezone.localdate())


def shown(photo: Photo, tree: Tree) -> dict[str, str]:
    url = reverse("inventory:photo", args=[photo.pk])
    return {"url": url, "alt": photo.caption or f"{tree.tag}, {tree.name}", "caption": photo.caption}


@requires(Permission.READ)
def target_parks(request: HttpRequest) -> HttpResponse:
    parks = Park.objects.defer("boundary").annotate(count=Count("targets")).order_by("name")
    return render(request, "hazards/target_parks.html", {"parks": parks})


@requires(Permission.READ, to_change=Permission.INSPECT)
def targets(request: HttpRequest, code: str) -> HttpResponse:
    """The targets of a park, and a form to add one."""
    park = get_object_or_404(Park.objects.defer("boundary"), code=code)
    return _edit_target(request, Target(park=park), "hazards/targets.html")


@requires(Permission.INSPECT)
def edit_target(request: HttpRequest, pk: int) -> HttpResponse:
    target = get_object_or_404(Target.objects.select_related("park").defer("park__boundary"), pk=pk)
    return _edit_target(request, target, "hazards/target.html")


def _edit_target(request: HttpRequest, target: Target, template: str) -> HttpResponse:
    form = TargetForm(request.POST or None, instance=target)
    if form.is_valid():
        try:
            saved = save_target(by=Actor(request.user), target=form.target())
        except Refused as refusal:
            form.add_error("name", str(refusal))
        else:
            messages.success(request, f"{saved.name} is kept as a target in {saved.park}.")
            return redirect("hazards:targets", saved.park.code)
    return render(request, template, {"park": target.park, "form": form, "targets": target.park.targets.all()})
