"""The watch for pests: which are watched, and the hosts of one."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from hazards.hosts import ParkHosts, failing_first, hosts, hosts_of
from hazards.models import PestWatch
from hazards.pest_forms import EndForm, LimitForm, PestWatchForm
from hazards.pest_workflow import add_limit, drop_limit, end_pest_watch, watch_pest
from hazards.pests import in_season, published
from inventory.access import Permission, requires
from inventory.context import units_of
from inventory.errors import Refused
from inventory.record import Actor
from inventory.sizes import SIZE_CLASSES

FAILING_SHOWN = 25


@requires(Permission.READ, to_change=Permission.INSPECT)
def pests(request: HttpRequest) -> HttpResponse:
    """All watches, those that go on first, and a form to begin one."""
    form = PestWatchForm(request.POST or None)
    if form.is_valid():
        begun: list[PestWatch] = []
        if _done(form, lambda: begun.append(watch_pest(by=Actor(request.user), **form.cleaned_data))):
            messages.success(request, f"The {begun[0]} is watched from now on.")
            return redirect("hazards:pest", begun[0].pk)
    return render(request, "hazards/pests.html", {"watches": PestWatch.objects.all(), "form": form})


def _done(form: BaseForm, act: Callable[[], object]) -> bool:
    """Whether the workflow took it; its refusal is told on the form."""
    try:
        act()
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return False
    return True


@requires(Permission.READ, to_change=Permission.INSPECT)
def pest(request: HttpRequest, pk: int) -> HttpResponse:
    """The hosts by park and size, the dead and declining ones first; limits on pruning; the end of the watch."""
    watch = get_object_or_404(PestWatch, pk=pk)
    by = Actor(request.user)
    ends = EndForm(request.POST if "end" in request.POST else None)
    limits = LimitForm(request.POST if "limit" in request.POST else None, watch=watch)
    if "drop" in request.POST:
        drop_limit(by=by, limit=get_object_or_404(watch.limits, pk=request.POST["drop"]))
        return redirect("hazards:pest", pk)
    if ends.is_valid() and _done(ends, lambda: end_pest_watch(by=by, watch=watch, on=ends.cleaned_data["ended_on"])):
        return redirect("hazards:pests")
    if limits.is_valid() and _done(limits, lambda: add_limit(by=by, limit=limits.save(commit=False))):
        return redirect("hazards:pest", pk)
    return render(request, "hazards/pest.html", _context(request, watch, ends, limits))


def _context(request: HttpRequest, watch: PestWatch, ends: EndForm, limits: LimitForm) -> dict[str, object]:
    kind, today = watch.kind, timezone.localdate()
    found = hosts(kind.genera)
    failing = failing_first(hosts_of(kind.genera)).select_related("species", "park").defer("park__boundary")
    kept = list(watch.limits.all())
    return {
        "watch": watch,
        "kind": kind,
        "hosts": found,
        "share_pct": None if found.crown_share is None else 100 * found.crown_share,
        "sizes": [size.label(units_of(request)) for size in SIZE_CLASSES],
        "parks": [(park, _sizes(park)) for park in found.parks],
        "failing": failing[:FAILING_SHOWN],
        "limits": [(limit, in_season(limit, today)) for limit in kept],
        "published": published(watch.pest),
        "end_form": ends,
        "limit_form": limits,
    }


def _sizes(park: ParkHosts) -> list[int]:
    """In the order of the classes; those not measured come last."""
    return [park.sizes.get(key, 0) for key in (*(size.key for size in SIZE_CLASSES), "")]
