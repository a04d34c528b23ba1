"""Photos that follow a record of a tablet, one by one; each once, whole, and under the name of who took it."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping
from typing import IO, Any
from uuid import UUID

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils import timezone

from hazards.models import FieldRecord
from inventory.access import allowed
from inventory.errors import Refused
from inventory.models import Photo
from inventory.photos import add_photo
from inventory.record import Actor
from inventory.sent import Kind, is_storable

CAPTION_MAX = 200


class Waiting(Exception):
    """The photo's record has not arrived yet."""


class Damaged(Refused):
    """Not what the tablet sent: the line is at fault, not the photo."""


def take_photo(
    *,
    by: Actor,
    kinds: Mapping[str, Kind],
    file: UploadedFile[Any] | None,
    id: str,
    record: str,
    sha256: str,
    taken_at: str,
    caption: str,
    user: str,
) -> bool:
    """Whether it was known already. Raises Waiting, PermissionDenied, or Refused with one sentence."""
    if user not in {"", str(by.user.pk)}:
        raise PermissionDenied(
            "This photo was taken by somebody else on this tablet; it is sent when that person has signed in."
        )
    own, about = _uuid(id, "photo"), _uuid(record, "record")
    upload = _whole(file, sha256)
    if len(caption) > CAPTION_MAX or not is_storable(caption):
        raise Refused(f"A caption is a text of at most {CAPTION_MAX} characters.")
    kept = FieldRecord.objects.select_related("tree").filter(pk=about).first()
    if kept is None:
        raise Waiting("The record of this photo has not arrived yet; it goes first.")
    if not allowed(by.user, kinds[kept.kind].permission):
        raise PermissionDenied(f"Your role may not {kinds[kept.kind].permission.value}.")
    return _store(by, kept, own, upload, _moment(taken_at), caption)


@transaction.atomic
def _store(by: Actor, kept: FieldRecord, id: UUID, upload: IO[bytes], taken_at: dt.datetime, caption: str) -> bool:
    # One photo of a record at a time: without a tree there is no other lock.
    FieldRecord.objects.select_for_update(no_key=True).get(pk=kept.pk)
    if Photo.objects.filter(pk=id).exists():
        return True
    photo = add_photo(by=by, tree=kept.tree, file=upload, caption=caption, about=kept.pk, taken_at=taken_at, id=id)
    return photo.pk != id


def _uuid(told: str, what: str) -> UUID:
    try:
        return UUID(told)
    except ValueError:
        raise Refused(f"The id of the {what} is a UUID, made on the tablet.") from None


def _whole(file: UploadedFile[Any] | None, sha256: str) -> IO[bytes]:
    """Raises Damaged for a photo that arrived empty or not as it was sent: some browsers do that, silently."""
    if file is None or not file.size:
        raise Damaged("The photo arrived empty; send it again.")
    if file.size > settings.PHOTO_MAX_BYTES:
        raise Refused(f"The photo is larger than {settings.PHOTO_MAX_BYTES // 1024**2} MB; send a smaller one.")
    found = hashlib.sha256()
    for chunk in file.chunks():
        found.update(chunk)
    if found.hexdigest() != sha256.lower():
        raise Damaged("The photo did not arrive as it was sent; send it again.")
    file.seek(0)
    return file


def _moment(told: str) -> dt.datetime:
    """When the tablet's clock says nothing usable, it was taken by now."""
    try:
        moment = dt.datetime.fromisoformat(told)
    except ValueError:
        raise Refused("Say when the photo was taken, with the time zone.") from None
    if moment.tzinfo is None:
        raise Refused("Say when the photo was taken, with the time zone.")
    return min(moment, timezone.now())
