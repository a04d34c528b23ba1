"""What the tablet page asks of the server: JSON in, JSON out, errors as sentences. The contract is docs/field.md."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache, cached_property, wraps
from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import Count
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotModified, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_POST, require_safe

from hazards.field.packs import Part, pack
from hazards.field.photos import Damaged, Waiting, take_photo
from hazards.field.receiving import BYTES_MAX, RECORDS_MAX, SCHEMA, SCHEMA_MIN, BadRequest, opened, receive
from hazards.field.tables import rules
from hazards.models import Standing
from inventory.access import Permission, allowed, permissions_of
from inventory.context import units_of
from inventory.errors import Refused
from inventory.models import Park, Species
from inventory.record import Actor
from inventory.sent import Kind


@dataclass(frozen=True)
class Field:
    """What all floors bring to the tablets; ``build`` names the page's present release."""

    kinds: tuple[Kind, ...]
    parts: tuple[Part, ...]
    build: Callable[[], str]

    @cached_property
    def by_name(self) -> Mapping[str, Kind]:
        return {kind.name: kind for kind in self.kinds}


# ---- Who may, and how errors are told --------------------------------------------------------------------------------

View = Callable[..., HttpResponse]


def refused(code: int, *sentences: str, **more: Any) -> JsonResponse:
    errors = [{"field": "", "message": sentence} for sentence in sentences]
    return JsonResponse({"errors": errors, **more}, status=code)


def answers(permission: Permission) -> Callable[[View], View]:
    """Guard a view of the tablet's: 401 and 403 come as JSON, nothing is redirected, nothing is kept by a cache.

    The rule stands on the view as ``access_rule``, as with ``requires``.
    """

    def guard(view: View) -> View:
        @login_not_required
        @never_cache
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not request.user.is_authenticated:
                return refused(401, "Sign in first: your login has ended. What is unsent stays on the tablet.")
            if not allowed(request.user, permission):
                return refused(403, f"Your role may not {permission.value}.")
            try:
                return view(request, *args, **kwargs)
            except Http404:
                return refused(404, "The server knows nothing under this address.")

        guarded.access_rule = (permission, permission)  # type: ignore[attr-defined]
        return guarded

    return guard


def _json(answer: Any) -> HttpResponse:
    text = json.dumps(answer, cls=DjangoJSONEncoder, separators=(",", ":"), ensure_ascii=False)
    return HttpResponse(text, content_type="application/json")


# ---- Reading ---------------------------------------------------------------------------------------------------------


@answers(Permission.READ)
@require_safe
def hello(request: HttpRequest, field: Field) -> HttpResponse:
    """Who is signed in and a fresh token. Never compressed: the token must not be guessed from lengths."""
    user = request.user
    about = {
        "user": {"id": user.pk, "name": user.get_full_name() or user.get_username(), "units": units_of(request).value},  # type: ignore[union-attr]
        "may": sorted(permission.value for permission in permissions_of(user)),
        "csrf": get_token(request),
        "server_time": timezone.now().isoformat(),
        "build": field.build(),
        "schema": SCHEMA,
        "schema_min": SCHEMA_MIN,
        "limits": {"records": RECORDS_MAX, "bytes": BYTES_MAX, "photo_bytes": settings.PHOTO_MAX_BYTES},
    }
    return JsonResponse(about)


@answers(Permission.READ)
@require_safe
def parks(request: HttpRequest, field: Field) -> HttpResponse:
    standing = dict(Standing.objects.order_by().values_list("park").annotate(Count("pk")))
    every = Park.objects.order_by("name", "code").values_list("pk", "code", "name")
    return _json({"parks": [{"code": code, "name": name, "trees": standing.get(pk, 0)} for pk, code, name in every]})


@cache
def _rules() -> Mapping[str, Any]:
    return rules()


@answers(Permission.READ)
@require_safe
@gzip_page
def tables(request: HttpRequest, field: Field) -> HttpResponse:
    """The same for everybody; ``ETag`` is a hash of all of it, and what a tablet has already is not sent again."""
    rows = Species.objects.order_by("botanical").values_list("pk", "botanical", "common")
    answer = _json(
        {**_rules(), "species": {"columns": ["id", "botanical", "common"], "rows": [list(row) for row in rows]}}
    )
    etag = f'"{hashlib.sha256(answer.content).hexdigest()[:32]}"'
    # A compressed answer comes with a weak tag.
    if etag in request.headers.get("If-None-Match", ""):
        answer = HttpResponseNotModified()
    answer["ETag"] = etag
    return answer


@answers(Permission.READ)
@require_safe
@gzip_page
def park_pack(request: HttpRequest, field: Field, code: str) -> HttpResponse:
    park = get_object_or_404(Park, code=code)
    granted, today = permissions_of(request.user), timezone.localdate()
    return _json(pack(park, field.parts, granted=granted, on=today, token=request.GET.get("since", "")))


@answers(Permission.READ)
@require_safe
def schema(request: HttpRequest, field: Field, kind: str) -> HttpResponse:
    if kind not in field.by_name:
        raise Http404
    return JsonResponse(field.by_name[kind].published, content_type="application/schema+json")


# ---- Sending ---------------------------------------------------------------------------------------------------------


def _too_large(request: HttpRequest, most: int) -> bool:
    length = request.META.get("CONTENT_LENGTH") or "0"
    return not length.isdigit() or int(length) > most


def _no_constant(name: str) -> None:
    raise ValueError(f"{name} is no number")


@answers(Permission.READ)
@require_POST
def records(request: HttpRequest, field: Field) -> HttpResponse:
    if _too_large(request, BYTES_MAX):
        return refused(413, f"The request is larger than {BYTES_MAX // 1000} kB; send fewer records at once.")
    try:
        line, sent = opened(json.loads(request.body, parse_constant=_no_constant))
    except BadRequest as bad:
        return refused(400, str(bad))
    except (ValueError, RecursionError):
        return refused(400, "The request is no JSON that can be read; nothing of it was taken.")
    results = receive(by=Actor(request.user, via="tablet"), kinds=field.by_name, line=line, records=sent)
    return JsonResponse({"results": [result.row() for result in results]})


@answers(Permission.READ)
@require_POST
def photos(request: HttpRequest, field: Field) -> HttpResponse:
    """One photo of a record that has arrived; 409 while it has not."""
    if _too_large(request, settings.PHOTO_MAX_BYTES + 100_000):
        return refused(413, f"The photo is larger than {settings.PHOTO_MAX_BYTES // 1024**2} MB; send a smaller one.")
    told = {name: request.POST.get(name, "") for name in ("id", "record", "sha256", "taken_at", "caption", "user")}
    answer = {"id": told["id"], "errors": []}
    try:
        known = take_photo(
            by=Actor(request.user, via="tablet"), kinds=field.by_name, file=request.FILES.get("file"), **told
        )
    except Waiting as wait:
        return refused(409, str(wait), id=told["id"], status="waiting")
    except PermissionDenied as denied:
        return refused(403, str(denied), id=told["id"], status="forbidden", results=[])
    except Damaged as damage:
        return refused(400, str(damage), id=told["id"], status="damaged")
    except Refused as refusal:
        return refused(400, str(refusal), id=told["id"], status="refused")
    return JsonResponse({**answer, "status": "known" if known else "stored"})
