"""The pages for everybody: reporting a tree, and what became of a report. Shut (404) unless the city opens them.

They show no more than anybody may know: never a contact, a photo, or the words that somebody wrote.
"""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache

from hazards import concern_desk, concerns
from hazards.concern_forms import PublicForm
from hazards.models import Concern, ConcernSource, ConcernState
from hazards.senders import address_of, count_one
from inventory.errors import Refused
from inventory.record import Actor

BY_PUBLIC = Actor(via="public page")
PUBLIC_WORDS = {
    ConcernState.NEW: "It has arrived. Somebody will read it and decide what is to be done.",
    ConcernState.INSPECTION: "An inspector is going to look at the tree.",
    ConcernState.URGENT: "It is being seen to before other work.",
    ConcernState.ANSWERED: "It is answered.",
}


def _refuse_when_shut() -> None:
    if not concern_desk.page_is_open():
        raise Http404


@login_not_required
@never_cache
def report(request: HttpRequest) -> HttpResponse:
    """Report a tree: no login, no script needed."""
    _refuse_when_shut()
    desk = concern_desk.desk()
    form = PublicForm(request.POST or None, request.FILES or None, contact_days=desk.contact_days)
    if form.is_valid():
        try:
            kept = _receive(request, form)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            return redirect("public:thanks", kept.reference)
    context = {"form": form, "emergency_number": desk.emergency_number}
    return render(request, "hazards/public/report.html", context, status=400 if form.errors else 200)


@transaction.atomic
def _receive(request: HttpRequest, form: PublicForm) -> Concern:
    count_one(f"address {address_of(request)}", most=settings.PUBLIC_REPORTS_AN_HOUR)
    concerns.forget(at_most=concerns.FORGET_AT_ONCE)
    return concerns.receive(by=BY_PUBLIC, told=form.told(), source=ConcernSource.PUBLIC, id=form.cleaned_data["slip"])


@login_not_required
@never_cache
def thanks(request: HttpRequest, reference: str) -> HttpResponse:
    return _status(request, reference, thanks=True)


@login_not_required
@never_cache
def status(request: HttpRequest, reference: str) -> HttpResponse:
    """What became of a report, to whoever knows its reference."""
    return _status(request, reference, thanks=False)


@login_not_required
@never_cache
def find_status(request: HttpRequest) -> HttpResponse:
    """A reference typed in, as people type it."""
    _refuse_when_shut()
    signs = "".join(sign for sign in request.GET.get("reference", "").upper() if sign.isalnum())
    reference = "-".join((signs[:4], signs[4:8], signs[8:])) if len(signs) == 10 else ""
    if reference and _shown().filter(reference=reference).exists():
        return redirect("public:status", reference)
    context = {"asked": request.GET.get("reference", ""), "emergency_number": concern_desk.desk().emergency_number}
    return render(request, "hazards/public/find_status.html", context)


def _shown() -> Any:
    return Concern.objects.exclude(state=ConcernState.SPAM)


def _status(request: HttpRequest, reference: str, *, thanks: bool) -> HttpResponse:
    _refuse_when_shut()
    shown: Concern = get_object_or_404(_shown(), reference=reference)
    context = {
        "concern": shown,
        "words": PUBLIC_WORDS[ConcernState(shown.state)],
        "thanks": thanks,
        "emergency_number": concern_desk.desk().emergency_number,
    }
    return render(request, "hazards/public/status.html", context)
