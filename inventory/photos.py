"""Photographs: checked, cleaned of what the camera wrote into them, stored once."""

from __future__ import annotations

import datetime as dt
import hashlib
import io
from typing import IO
from uuid import UUID

from django.conf import settings
from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone
from PIL import Image, ImageOps

from inventory import record
from inventory.errors import Refused
from inventory.models import Photo, Tree
from inventory.record import Actor

FORMATS = ("JPEG", "PNG", "WEBP")
# A telephone takes 50 million pixels; far more in a small file is an attack on memory.
MAX_PIXELS = 64_000_000
LONGEST_SIDE_PX = 2560
QUALITY = 85

NOT_A_PHOTO = "This is not a photo that can be read; give a JPEG, PNG or WebP file."


def clean_jpeg(file: IO[bytes]) -> bytes:
    """The picture upright, at most 2560 px wide or high, as a JPEG without position, time or device in it.

    Raises Refused for what is not a picture, too large or broken.
    """
    upload = file.read(settings.PHOTO_MAX_BYTES + 1)
    if len(upload) > settings.PHOTO_MAX_BYTES:
        raise Refused(f"The photo is larger than {settings.PHOTO_MAX_BYTES // 1024**2} MB; send a smaller one.")
    try:
        with Image.open(io.BytesIO(upload), formats=FORMATS) as picture:
            if picture.width * picture.height > MAX_PIXELS:
                raise Refused(f"The photo has more than {MAX_PIXELS // 10**6} million pixels; send a smaller one.")
            return _jpeg(picture)
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise error if isinstance(error, Refused) else Refused(NOT_A_PHOTO) from error


def _jpeg(picture: Image.Image) -> bytes:
    upright = ImageOps.exif_transpose(picture).convert("RGB")
    upright.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    # A new picture carries nothing over: no EXIF, no comment, no colour profile.
    bare = Image.new("RGB", upright.size)
    bare.paste(upright)
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


@transaction.atomic
def add_photo(
    *,
    by: Actor,
    tree: Tree | None,
    file: IO[bytes],
    caption: str = "",
    about: UUID | None = None,
    taken_at: dt.datetime | None = None,
    id: UUID | None = None,
) -> Photo:
    """Keep a photo of the tree; the same picture, or the same ``id``, sent again gives back the one there is.

    ``about`` names the record it came with, an inspection for instance; without a tree there must be one, and the caller
    holds its lock. Raises Refused when it is not a photo.
    """
    if tree is None and about is None:
        raise ValueError("a photo belongs to a tree or to the record that it came with")
    jpeg = clean_jpeg(file)
    digest = hashlib.sha256(jpeg).hexdigest()
    # One at a time for a tree, so that a photo sent twice at once is not stored twice.
    tree = Tree.objects.select_for_update().get(pk=tree.pk) if tree else None
    known = Photo.objects.filter(pk=id) if id else Photo.objects.none()
    same = Photo.objects.filter(tree=tree) if tree else Photo.objects.filter(tree=None, about=about)
    if already := (known | same.filter(sha256=digest)).first():
        return already
    photo = Photo(
        tree=tree, sha256=digest, caption=caption, about=about, taken_at=taken_at or timezone.now(), by=by.user
    )
    photo.pk = id or photo.pk
    photo.image.save("photo.jpg", ContentFile(jpeg), save=False)
    photo.save(force_insert=True)
    record.write(by=by, verb="photo", subject=photo, tree=tree, summary="Added a photo.", sha256=digest)
    return photo
