"""Concerns in the words of Open311 GeoReport v2 (https://wiki.open311.org/GeoReport_v2, an open standard), as plain data.

The standard asks for XML and leaves JSON to the provider; this program answers in JSON alone, and the discovery document
says so. Nothing that somebody wrote goes out: neither contact nor description, place or photo, only what kind of thing was
seen, where, and the city's answer.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from hazards.concerns import DESCRIPTION_MAX, PLACE_MAX, Told
from hazards.models import OPEN_CONCERNS, Concern, ConcernSource, ConcernState, Seen
from hazards.public_views import PUBLIC_WORDS
from inventory.errors import Refused

# As in the standard, from memory: the latest thousand, over at most ninety days.
MOST = 1000
SPAN = dt.timedelta(days=90)
GROUP = "Trees"
STATES = {"open": OPEN_CONCERNS, "closed": (ConcernState.ANSWERED,)}


def service(seen: Seen) -> dict[str, Any]:
    return {
        "service_code": seen.value,
        "service_name": seen.label,
        "description": f"Report to whoever looks after the city's trees: {seen.label[0].lower()}{seen.label[1:]}.",
        "metadata": False,
        "type": "realtime",
        "keywords": "tree, park",
        "group": GROUP,
    }


def definition(seen: Seen) -> dict[str, Any]:
    """No service asks for more than every report has."""
    return {"service_code": seen.value, "attributes": []}


def told(given: Mapping[str, str]) -> Told:
    """What a client has sent. Refused with what is missing; the names and the device that it may send are not kept."""
    code = given.get("service_code", "")
    if code not in Seen.values:
        raise Refused("service_code was not provided, or is not one of those of services.json.")
    lon, lat = _position(given)
    address = given.get("address_string", "").strip()
    if lon is None and not address:
        raise Refused("Give lat and long, or address_string, so that the tree can be found.")
    contact = ", ".join(filter(None, (given.get("email", "").strip(), given.get("phone", "").strip())))
    return Told(
        seen=Seen(code),
        description=given.get("description", "").strip()[:DESCRIPTION_MAX],
        place=address[:PLACE_MAX],
        lon=lon,
        lat=lat,
        contact=contact,
    )


def _position(given: Mapping[str, str]) -> tuple[float | None, float | None]:
    texts = given.get("long", "").strip(), given.get("lat", "").strip()
    if not any(texts):
        return None, None
    try:
        lon, lat = map(float, texts)
    except ValueError:
        lon = lat = 999.0
    if not (-180 <= lon <= 180 and -90 <= lat <= 90):
        raise Refused("lat and long go together, in degrees of WGS 84: lat -90 to 90, long -180 to 180.")
    return lon, lat


def asked_for(given: Mapping[str, str]) -> QuerySet[Concern]:
    """The requests that the arguments ask for, the latest first; Refused with the argument that is wrong.

    Lists are separated by commas; service_request_id stands above all other arguments.
    """
    rows = visible()
    if ids := _listed(given, "service_request_id"):
        return rows.filter(reference__in=ids)[:MOST]
    start, end = _span(given)
    rows = rows.filter(received_at__range=(start, end))
    if codes := _listed(given, "service_code"):
        rows = rows.filter(seen__in=codes)
    if wanted := _listed(given, "status"):
        if unknown := [word for word in wanted if word not in STATES]:
            raise Refused(f"status “{unknown[0]}” is unknown; it is open or closed.")
        rows = rows.filter(state__in=[state for word in wanted for state in STATES[word]])
    return rows[:MOST]


def visible() -> QuerySet[Concern]:
    """Those that came from the public."""
    rows = Concern.objects.exclude(state=ConcernState.SPAM).exclude(source=ConcernSource.STAFF)
    return rows.select_related("asked").order_by("-received_at", "-id")


def _listed(given: Mapping[str, str], name: str) -> list[str]:
    return [word.strip() for word in given.get(name, "").split(",") if word.strip()]


def _span(given: Mapping[str, str]) -> tuple[dt.datetime, dt.datetime]:
    start, end = _moment(given, "start_date"), _moment(given, "end_date")
    if end is None:
        end = min(start + SPAN, timezone.now()) if start else timezone.now()
    if start is None:
        start = end - SPAN
    if start > end:
        raise Refused("start_date lies after end_date.")
    if end - start > SPAN:
        raise Refused(f"start_date and end_date span more than {SPAN.days} days; ask for less at once.")
    return start, end


def _moment(given: Mapping[str, str], name: str) -> dt.datetime | None:
    # A plus sign that a client did not escape arrives as a blank.
    text = given.get(name, "").strip().replace(" ", "+")
    if not text:
        return None
    try:
        moment = parse_datetime(text)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise Refused(f"{name} is not a date and time with its zone; write for example 2026-03-01T00:00:00Z.")
    return moment


def request(concern: Concern) -> dict[str, Any]:
    state = ConcernState(concern.state)
    closed = state == ConcernState.ANSWERED
    expected = concern.asked.due_on if concern.asked and not closed else None
    return {
        "service_request_id": concern.reference,
        "status": "closed" if closed else "open",
        "status_notes": concern.answer if closed else PUBLIC_WORDS[state],
        "service_name": concern.get_seen_display(),
        "service_code": concern.seen,
        "description": None,
        "agency_responsible": None,
        "service_notice": None,
        "requested_datetime": _w3(concern.received_at),
        "updated_datetime": _w3(concern.changed_at),
        "expected_datetime": _w3(_end_of(expected)) if expected else None,
        "address": None,
        "address_id": None,
        "zipcode": None,
        "lat": concern.lat,
        "long": concern.lon,
        "media_url": None,
    }


def _end_of(day: dt.date) -> dt.datetime:
    return timezone.make_aware(dt.datetime.combine(day, dt.time(23, 59, 59)))


def _w3(moment: dt.datetime) -> str:
    """``1994-11-05T13:15:30Z``: the subset of ISO 8601 that the standard names, always with its zone."""
    return f"{moment.astimezone(dt.UTC):%Y-%m-%dT%H:%M:%SZ}"
