"""Choosing a species: the taxa of the palette that may stand here, and what one of them does to the mix."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from inventory.access import Permission, requires
from inventory.context import units_of
from inventory.errors import Refused
from inventory.models import Species
from inventory.paging import part_of
from inventory.record import Actor
from replanting import workflow
from replanting.companions import companions
from replanting.diversity import Diversity, Share, diversity, mix
from replanting.forms import ChooseForm
from replanting.models import ReplacementTask
from replanting.palette import Request, Suggestion, Verdict, judge, suggest
from replanting.site import taxon_of, traits_of
from replanting.site_form import SiteForm, request_of, site_form
from replanting.stand import living_and_promised
from replanting.states import Action
from replanting.steps import refused, task_of


@dataclass(frozen=True)
class Candidate:
    """A taxon beside a place: how it was judged, its shares in the city with it planted, and its trees on hand."""

    species: Species
    verdict: Verdict
    shares: tuple[Share, ...]
    on_hand: int


def beside(verdicts: Sequence[Verdict], taxa: dict[str, Species], asked: Request) -> Iterator[Candidate]:
    for verdict in verdicts:
        species = taxa[verdict.taxon.botanical]
        yield Candidate(
            species, verdict, asked.city.effect(taxon_of(species)), (asked.stock or {}).get(species.botanical, 0)
        )


@requires(Permission.REPLANT)
def candidates(request: HttpRequest, pk: int) -> HttpResponse:
    """The palette as it fits the place: what may stand there by score, the rest with its reason."""
    task = task_of(pk)
    if back := refused(request, task, Action.CHOOSE_SPECIES):
        return back
    form = site_form(request, task)
    context = {"task": task, "form": form, "folded": not request.GET, "query": _query(request)}
    if form.is_valid():
        context |= _suggested(request, task, form)
        # Without a zone the list is little worth: the place is asked for before it is shown.
        context["zone_unknown"] = form.cleaned_data["zone"] is None
        context["folded"] = context["folded"] and not context["zone_unknown"]
    return render(request, "replanting/candidates.html", context)


def _suggested(request: HttpRequest, task: ReplacementTask, form: SiteForm) -> dict[str, object]:
    taxa = {species.botanical: species for species in Species.objects.filter(palette=True)}
    asked = request_of(task, form, units_of(request))
    found = suggest(asked, map(traits_of, taxa.values()))
    accepted, excluded = (_named(verdicts, taxa, form.cleaned_data["q"]) for verdicts in _both(found))
    page = part_of(accepted, request.GET.get("page", ""), size=25)
    return {
        "page": page,
        "candidates": list(beside(page.rows, taxa, asked)),
        "found": len(accepted),
        "excluded": list(beside(excluded, taxa, asked)),
        "companions": () if found.accepted else companions(asked.site.light, asked.site.moisture),
        "rules": asked.rules,
        "nothing_fits": bool(taxa) and not found.accepted,
    }


def _both(found: Suggestion) -> tuple[Sequence[Verdict], Sequence[Verdict]]:
    return found.accepted, found.excluded


def _named(verdicts: Sequence[Verdict], taxa: dict[str, Species], text: str) -> list[Verdict]:
    wanted = text.casefold()
    return [verdict for verdict in verdicts if wanted in _names(taxa[verdict.taxon.botanical])]


def _names(species: Species) -> str:
    return f"{species.botanical} {species.common} {species.family}".casefold()


def _query(request: HttpRequest) -> str:
    """The place as the address tells it, to be handed on to a candidate's page; empty or led in by “?”."""
    asked = request.GET.copy()
    asked.pop("page", None)
    return f"?{asked.urlencode()}" if asked else ""


@dataclass(frozen=True)
class Place:
    """A park or the city, before the choice: its mix, and the shares that the candidate would have."""

    name: str
    shares: tuple[Share, ...]
    now: Diversity | None


def places(task: ReplacementTask, species: Species) -> Iterator[Place]:
    for name, park in ((task.site_park.name, task.site_park), ("The city", None)):
        stand = living_and_promised(park)
        now = diversity(list(stand.values())) if stand else None
        yield Place(name, mix(stand).effect(taxon_of(species)), now)


@requires(Permission.REPLANT)
def choose(request: HttpRequest, pk: int, species: int) -> HttpResponse:
    """One candidate: how it was judged, what it does to the mix, and the form that chooses it."""
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
    site = site_form(request, task)
    context = {
        "task": task,
        "species": taxon,
        "form": form,
        "verdict": judge(request_of(task, site, units_of(request)), traits_of(taxon)) if site.is_valid() else None,
        "places": list(places(task, taxon)),
        "query": _query(request),
    }
    return render(request, "replanting/choose.html", context, status=status)
