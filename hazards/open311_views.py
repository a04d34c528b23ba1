"""Open311 GeoReport v2 over HTTP, under ``/open311/v2/``: shut (404) unless the city opens it, reports only with a key."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import transaction
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_safe

from hazards import concern_desk, concerns, open311
from hazards.api_keys import holder_of
from hazards.models import ApiKey, Concern, ConcernSource, Seen
from hazards.senders import TooOften, count_one
from inventory.errors import Refused
from inventory.record import Actor

BY_OPEN311 = Actor(via="Open311")
# The day on which what the program answers under these addresses was last changed.
CHANGED = "2026-11-25T00:00:00Z"
SPECIFICATION = "https://wiki.open311.org/GeoReport_v2"


def _answer(data: Any, status: int = 200) -> JsonResponse:
    return JsonResponse(data, safe=False, status=status, content_type="application/json; charset=utf-8")


def _error(status: int, *sentences: str) -> JsonResponse:
    """As the standard has it: a list of codes with what they mean."""
    return _answer([{"code": status, "description": sentence} for sentence in sentences], status)


def _door(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Open to everybody when the city has opened it; no session is asked for, so no cookie can be misused."""

    @wraps(view)
    def opened(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if not concern_desk.open311_is_open():
            return _error(404, "Open311 is not open here.")
        return view(request, *args, **kwargs)

    return login_not_required(csrf_exempt(never_cache(opened)))


@_door
@require_safe
def discovery(request: HttpRequest) -> HttpResponse:
    root = request.build_absolute_uri(reverse("public:open311_services")).removesuffix("/services.json")
    endpoint = {
        "specification": SPECIFICATION,
        "url": root,
        "changeset": CHANGED,
        "type": "production",
        "formats": ["application/json"],
    }
    said = {
        "changeset": CHANGED,
        "contact": "Ask the city's tree office.",
        "key_service": "The city's tree office makes keys.",
        "endpoints": [endpoint],
    }
    return _answer(said)


@_door
@require_safe
def services(request: HttpRequest) -> HttpResponse:
    return _answer([open311.service(seen) for seen in Seen])


@_door
@require_safe
def service(request: HttpRequest, code: str) -> HttpResponse:
    if code not in Seen.values:
        return _error(404, "service_code was not found.")
    return _answer(open311.definition(Seen(code)))


@_door
@require_http_methods(["GET", "HEAD", "POST"])
def requests(request: HttpRequest) -> HttpResponse:
    """Report a tree, or ask what became of reports."""
    if request.method == "POST":
        return _report(request)
    try:
        return _answer([open311.request(concern) for concern in open311.asked_for(request.GET.dict())])
    except Refused as refused:
        return _error(400, str(refused))


def _report(request: HttpRequest) -> HttpResponse:
    holder = holder_of(request.POST.get("api_key", ""))
    if holder is None:
        return _error(403, "api_key was not provided, is not known or has ended.")
    try:
        kept = _receive(holder, request)
    except TooOften as refused:
        return _error(429, str(refused))
    except Refused as refused:
        return _error(400, str(refused))
    said = {"service_request_id": kept.reference, "service_notice": _notice(), "account_id": None}
    return _answer([said], 201)


@transaction.atomic
def _receive(holder: ApiKey, request: HttpRequest) -> Concern:
    count_one(f"key {holder.pk}", most=settings.OPEN311_REPORTS_AN_HOUR)
    return concerns.receive(by=BY_OPEN311, told=open311.told(request.POST.dict()), source=ConcernSource.OPEN311)


def _notice() -> str:
    number = concern_desk.desk().emergency_number or "the emergency number"
    return f"Nobody watches this day and night: if a tree or limb is about to fall on people, or wires are down, call {number}."


@_door
@require_safe
def one_request(request: HttpRequest, reference: str) -> HttpResponse:
    concern = open311.visible().filter(reference=reference).first()
    if concern is None:
        return _error(404, "service_request_id was not found.")
    return _answer([open311.request(concern)])


@_door
@require_safe
def token(request: HttpRequest, token: UUID) -> HttpResponse:
    """The id of a report by its token; a report has its id at once here, so that no client has to wait for it."""
    concern = open311.visible().filter(pk=token).first()
    if concern is None:
        return _error(404, "token was not found.")
    return _answer([{"token": str(concern.pk), "service_request_id": concern.reference}])
