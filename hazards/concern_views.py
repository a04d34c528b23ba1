"""Concerns for the staff: the list, one concern with its decisions, taking one in, the city's settings, plain answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from hazards import concern_desk, concerns
from hazards.concern_forms import (
    AnswerForm,
    DecisionForm,
    DeskForm,
    InspectionAskedForm,
    MatchForm,
    PlainAnswerForm,
    StaffForm,
    UrgentForm,
)
from hazards.concerns import BEFORE
from hazards.filters import ConcernFilter
from hazards.models import Concern, ConcernSource, ConcernState
from hazards.nearest import nearest_trees
from hazards.storm_views import photo_shown
from inventory.access import Permission, allowed, requires
from inventory.errors import Refused
from inventory.models import Photo, RecordEntry
from inventory.paging import page_of
from inventory.record import COMMAND, Actor

HISTORY = 50
ALL, OPEN = "all", "open"


def concerns_with() -> Any:
    related = ("park", "tree__species", "received_by", "decided_by", "asked__met_by")
    return Concern.objects.select_related(*related).defer("park__boundary", "tree__note")


@requires(Permission.READ)
def concern_list(request: HttpRequest) -> HttpResponse:
    """Concerns, the latest first: those that nobody has decided on unless the address says otherwise."""
    concerns.forget(by=COMMAND, at_most=concerns.FORGET_AT_ONCE)
    asked = request.GET.copy()
    token = asked.pop("page", [""])[-1]
    state = asked.get("state", ConcernState.NEW.value)
    state = state if state in {ALL, *ConcernState.values} else ConcernState.NEW.value
    rows = concerns_with() if state == ALL else concerns_with().filter(state=state)
    chosen = ConcernFilter(asked or None, queryset=rows, request=request)
    context = {
        "filter": chosen,
        "page": page_of(chosen.qs, ["-received_at", "-id"], token),
        "state": state,
        "states": [*((value, value.capitalize()) for value in ConcernState.values), (ALL, "All")],
    }
    return render(request, "hazards/concerns.html", context)


@requires(Permission.RECORD_CONCERN)
def add_concern(request: HttpRequest) -> HttpResponse:
    """A colleague saw it, or somebody told it by telephone."""
    form = StaffForm(request.POST or None, request.FILES or None, contact_days=concern_desk.desk().contact_days)
    if form.is_valid():
        try:
            kept = concerns.receive(by=Actor(request.user), told=form.told(), source=ConcernSource.STAFF)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Kept as concern {kept.reference}.")
            return redirect("hazards:concern", kept.pk)
    return render(request, "hazards/add_concern.html", {"form": form})


# ---- One concern and its decisions -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Decision:
    """A form of the page, what it leads to, and the workflow function that it is handed to."""

    form: type[DecisionForm]
    then: ConcernState
    run: Callable[..., Concern]
    words: str


DECISIONS = {
    "answer": Decision(AnswerForm, ConcernState.ANSWERED, concerns.answer, "is answered"),
    "look": Decision(InspectionAskedForm, ConcernState.INSPECTION, concerns.send_inspector, "goes to an inspection"),
    "urgent": Decision(UrgentForm, ConcernState.URGENT, concerns.make_urgent, "is urgent"),
    "spam": Decision(DecisionForm, ConcernState.SPAM, concerns.drop_spam, "is dropped as spam"),
}


@requires(Permission.READ, to_change=Permission.DECIDE_CONCERN)
def concern(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One concern; whoever may decide sees the contact, the nearest trees and a form a decision."""
    concerns.forget(by=COMMAND, at_most=concerns.FORGET_AT_ONCE)
    shown: Concern = get_object_or_404(concerns_with(), pk=pk)
    decides = allowed(request.user, Permission.DECIDE_CONCERN)
    bound, done = _decide(request, shown) if request.method == "POST" else ({}, False)
    if done:
        return redirect("hazards:concern", shown.pk)
    context = {
        "concern": shown,
        "tree": shown.tree,
        "photos": _photos(shown) if decides else [],
        "contact": shown.contact if decides else "",
        "decides": decides,
        "forms": {**_forms(request, shown), **bound} if decides else {},
        "faulty": next((form for form in bound.values() if form.errors), None),
        "near": _near(shown) if decides else [],
        "answers": concern_desk.offered() if decides and shown.is_open else [],
        "history": RecordEntry.objects.filter(subject_type=shown._meta.label_lower, subject_id=str(shown.pk))[:HISTORY],
    }
    return render(request, "hazards/concern.html", context, status=409 if bound else 200)


def _forms(request: HttpRequest, shown: Concern) -> dict[str, forms.Form]:
    """Those of the decisions that may follow now; an answer begins with the plain one that was picked."""
    plain = request.GET.get("plain", "")
    text = next((answer.text for answer in concern_desk.offered() if answer.slug == plain), "") if plain else ""
    initial = {"state": shown.state, "text": text}
    state = ConcernState(shown.state)
    made: dict[str, forms.Form] = {
        name: decision.form(initial=initial, prefix=name)
        for name, decision in DECISIONS.items()
        if state in BEFORE[decision.then]
    }
    if state != ConcernState.SPAM:
        made["match"] = MatchForm(initial={"tag": shown.tree.tag if shown.tree else ""}, prefix="match")
    return made


def _decide(request: HttpRequest, shown: Concern) -> tuple[dict[str, forms.Form], bool]:
    """The form that was sent with what is wrong in it, or nothing and True when it was done."""
    by, name = Actor(request.user), request.POST.get("decide", "")
    if name == "match":
        form: forms.Form = MatchForm(request.POST, prefix=name)
        words = "knows its tree"
    elif name in DECISIONS:
        form, words = DECISIONS[name].form(request.POST, prefix=name), DECISIONS[name].words
    else:
        raise Http404
    if form.is_valid():
        try:
            _run(by, name, shown, dict(form.cleaned_data))
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Concern {shown.reference} {words}.")
            return {}, True
    return {name: form}, False


def _run(by: Actor, name: str, shown: Concern, given: dict[str, Any]) -> None:
    if name == "match":
        concerns.match(by=by, concern=shown, tree=given["tag"])
    else:
        DECISIONS[name].run(by=by, concern=shown, seen=given.pop("state"), **given)


def _photos(shown: Concern) -> list[dict[str, Any]]:
    return [
        {**photo_shown(photo, f"photo of concern {shown.reference}"), "pk": photo.pk, "kept": photo.tree_id is not None}
        for photo in Photo.objects.filter(about=shown.pk)
    ]


def _near(shown: Concern) -> Any:
    return [] if shown.lon is None or shown.lat is None else nearest_trees(shown.lon, shown.lat)


@requires(Permission.DECIDE_CONCERN)
@require_POST
def keep_photo(request: HttpRequest, pk: UUID, photo: UUID) -> HttpResponse:
    """Somebody has looked at the photo: it stays with the tree."""
    shown, kept = get_object_or_404(Concern, pk=pk), get_object_or_404(Photo, pk=photo)
    try:
        concerns.keep_photo_with_tree(by=Actor(request.user), concern=shown, photo=kept)
    except Refused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, "The photo is with the tree.")
    return redirect("hazards:concern", shown.pk)


# ---- What the city sets ----------------------------------------------------------------------------------------------


@requires(Permission.READ, to_change=Permission.SET_POLICY)
def desk(request: HttpRequest) -> HttpResponse:
    """Whether the doors are open, the emergency number, how long a contact is kept."""
    form = DeskForm(request.POST or None, instance=concern_desk.desk())
    if form.is_valid():
        try:
            concern_desk.set_desk(by=Actor(request.user), **form.cleaned_data)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "The settings of concerns hold from now on.")
            return redirect("hazards:concern_desk")
    context = {
        "form": form,
        "holds": concern_desk.desk(),
        "allowed_here": settings.PUBLIC_REPORTS,
        "page_url": request.build_absolute_uri(reverse("public:report")),
        "open311_url": request.build_absolute_uri(reverse("public:open311_services")),
        "history": RecordEntry.objects.filter(subject_type="hazards.concerndesk", subject_id="1")[:HISTORY],
    }
    return render(request, "hazards/concern_desk.html", context)


@requires(Permission.READ)
def plain_answers(request: HttpRequest) -> HttpResponse:
    return render(request, "hazards/plain_answers.html", {"answers": concern_desk.answers()})


@requires(Permission.SET_POLICY)
def plain_answer(request: HttpRequest, slug: str = "") -> HttpResponse:
    """Word an answer anew, or add one."""
    known = next((answer for answer in concern_desk.answers() if answer.slug == slug), None)
    if slug and known is None:
        raise Http404
    initial = {"title": known.title, "text": known.text, "used": known.used} if known else {}
    form = PlainAnswerForm(request.POST or None, initial=initial)
    if form.is_valid():
        try:
            kept = concern_desk.keep_answer(by=Actor(request.user), slug=slug, **form.cleaned_data)
        except Refused as refused:
            form.add_error("title", str(refused))
        else:
            messages.success(request, f"The answer “{kept}” is kept.")
            return redirect("hazards:plain_answers")
    return render(request, "hazards/plain_answer.html", {"form": form, "answer": known})
