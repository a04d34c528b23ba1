"""Keys of Open311: shown once when they are made, kept as a hash. A key is 32 random bytes, so a plain hash is enough."""

from __future__ import annotations

import hashlib
import secrets

from django.db import transaction
from django.utils import timezone

from hazards.models import ApiKey
from inventory import record
from inventory.errors import Refused
from inventory.record import COMMAND, Actor
from inventory.steps import said


def _digest(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()


def holder_of(key: str) -> ApiKey | None:
    """Whose key it is; None for one that is unknown or ended."""
    return ApiKey.objects.filter(digest=_digest(key), ended_at__isnull=True).first() if key else None


@transaction.atomic
def make_key(*, by: Actor = COMMAND, name: str) -> str:
    """A new key for somebody; the only time that it can be read."""
    name = said(name, "Say whose key it is.", 80)
    if ApiKey.objects.filter(name=name).exists():
        raise Refused(f"{name} has a key already; give the new one another name, or end the old one and name it anew.")
    key = secrets.token_urlsafe(32)
    made = ApiKey.objects.create(name=name, digest=_digest(key))
    record.write(by=by, verb="made a key", subject=made, summary=f"Made an Open311 key for {name}.")
    return key


@transaction.atomic
def end_key(*, by: Actor = COMMAND, name: str) -> None:
    """From now on the key opens nothing."""
    key = ApiKey.objects.select_for_update().filter(name=name, ended_at__isnull=True).first()
    if key is None:
        raise Refused(f"Nobody named {name} has a key that holds.")
    key.ended_at = timezone.now()
    key.save(update_fields=["ended_at"])
    record.write(by=by, verb="ended a key", subject=key, summary=f"Ended the Open311 key of {name}.")
