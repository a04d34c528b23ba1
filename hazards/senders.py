"""How often one sender may report: counted in the database, so that all processes count together.

Of an address only a keyed hash is kept, and only for as long as it is counted.
"""

from __future__ import annotations

import datetime as dt
import ipaddress

from django.conf import settings
from django.db import connection
from django.http import HttpRequest
from django.utils import timezone
from django.utils.crypto import salted_hmac

from hazards.models import Knock
from inventory.errors import Refused

HOUR = dt.timedelta(hours=1)


class TooOften(Refused):
    """The sender has reported as often as one may in an hour."""


def address_of(request: HttpRequest) -> str:
    """The sender's address: the last that the city's own proxy wrote, or the connection's; of IPv6 the /64 network."""
    given = str(request.META.get("REMOTE_ADDR", ""))
    if settings.BEHIND_PROXY:
        given = request.headers.get("X-Forwarded-For", given).rpartition(",")[2].strip()
    try:
        address = ipaddress.ip_address(given)
    except ValueError:
        return given
    return str(ipaddress.ip_network((address, 64), strict=False)) if address.version == 6 else str(address)


def count_one(sender: str, *, most: int) -> None:
    """One more report of ``sender`` in this hour. Call inside the transaction of the report; TooOften beyond ``most``."""
    digest = salted_hmac("hingewood.senders", sender, algorithm="sha256").hexdigest()
    now = timezone.now()
    with connection.cursor() as cursor:
        # Two reports at once are counted one after the other; the number is the start of the hash.
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [int(digest[:15], 16)])
    Knock.objects.filter(until__lte=now).delete()
    if Knock.objects.filter(sender=digest).count() >= most:
        raise TooOften(
            f"From where you are {most} reports came within the last hour, the most that are taken; try again in an hour. "
            "In an emergency call the emergency number."
        )
    Knock.objects.create(sender=digest, until=now + HOUR)
