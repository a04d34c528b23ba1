"""Choosing a species: the taxa of the palette that may stand here, and what one of them does to the mix."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from inventory.access import Permission, requires
from inventory.context import units_of
from inventory.errors import Refused
from inventory.models import Species
from inventory.paging import page_of
from inventory.record import Actor
from inventory.units import Units, distance
from replanting import workflow
from replanting.diversity import Diversity, Share, diversity, mix
from replanting.filters import CandidateFilter
from replanting.forms import ChooseForm
from replanting.models import ReplacementTask
from replanting.palette import Fact, Site, fit
from replanting.site import site_of, taxon_of, traits_of
from replanting.stand import living_and_promised
from replanting.states import Action
from replanting.steps import refused, task_of


@dataclass(frozen=True)
class Candidate:
    """A taxon beside a place: what fits, what does not, what is not known, and its shares in the city."""

    species: Species
    facts: tuple[Fact, ...]
    shares: tuple[Share, ...]

    @property
    def misfits(self) -> list[Fact]:
        return [fact for fact in self.facts if fact.fits is False]

    @property
    def unknown(self) -> int:
        return sum(fact.fits is None for fact in self.facts)


def facts_of(site: Site, species: Species, units: Units) -> tuple[Fact, ...]:
    return fit(site, traits_of(species), partial(distance, units=units))


def beside(site: Site, taxa: Sequence[Species], units: Units) -> Iterator[Candidate]:
    city = mix(living_and_promised())
    for species in taxa:
        yield Candidate(species, facts_of(site, species, units), city.effect(taxon_of(species)))


@requires(Permission.REPLANT)
def candidates(request: HttpRequest, pk: int) -> HttpResponse:
    """The palette, on first sight what fits the place."""
    task = task_of(pk)
    if back := refused(request, task, Action.CHOOSE_SPECIES):
        return back
    site = site_of(task.removed_tree)
    palette = Species.objects.filter(palette=True)
    chosen = CandidateFilter(request.GET or {"fits": "on"}, site=site, queryset=palette, request=request)
    page = page_of(chosen.qs, ["botanical"], request.GET.get("page", ""))
    context = {
        "task": task,
        "filter": chosen,
        "page": page,
        "candidates": beside(site, page.rows, units_of(request)),
        "found": chosen.qs.count(),
    }
    return render(request, "replanting/candidates.html", context)


@dataclass(frozen=True)
class Place:
    """A park or the city, before the choice: its mix, and the shares that the candidate would have."""

    name: str
    shares: tuple[Share, ...]
    now: Diversity | None


def places(task: ReplacementTask, species: Species) -> Iterator[Place]:
    for name, park in ((task.park.name, task.park), ("The city", None)):
        stand = living_and_promised(park)
        now = diversity(list(stand.values())) if stand else None
        yield Place(name, mix(stand).effect(taxon_of(species)), now)


@requires(Permission.REPLANT)
def choose(request: HttpRequest, pk: int, species: int) -> HttpResponse:
    """One candidate: how it fits, what it does to the mix, and the form that chooses it."""
    task = task_of(pk)
    if request.method != "POST" and (back := refused(request, task, Action.CHOOSE_SPECIES)):
        return back
    taxon = get_object_or_404(Species, pk=species, palette=True)
    form = ChooseForm(request.POST if request.method == "POST" else None)
    status = 200
    if form.is_bound and form.is_valid():
        try:
            workflow.choose_species(by=Actor(request.user), task=task, species=taxon, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            status = 409
        else:
            messages.success(request, f"{taxon} is chosen.")
            return redirect("replanting:task", task.pk)
    context = {
        "task": task,
        "species": taxon,
        "form": form,
        "facts": facts_of(site_of(task.removed_tree), taxon, units_of(request)),
        "places": list(places(task, taxon)),
    }
    return render(request, "replanting/choose.html", context, status=status)
