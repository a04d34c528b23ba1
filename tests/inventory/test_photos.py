"""Photos: only pictures, cleaned of what the camera wrote into them, stored once."""

import hashlib
import io

import pytest
from django.core.files.base import ContentFile
from django.urls import reverse
from PIL import Image
from uuid_utils.compat import uuid7

from inventory.access import Role
from inventory.errors import Refused
from inventory.models import Photo, RecordEntry
from inventory.photos import LONGEST_SIDE_PX, add_photo
from tests.factories import TreeFactory

ORIENTATION, GPS = 0x0112, 0x8825
pytestmark = pytest.mark.django_db


def picture(size=(40, 30), colour="sienna", format="JPEG", exif=None) -> ContentFile:
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, format, **({"exif": exif} if exif else {}))
    return ContentFile(out.getvalue(), "upload.bin")


@pytest.fixture
def tree():
    return TreeFactory(tag="LG-0001")


def stored(photo: Photo) -> Image.Image:
    return Image.open(photo.image.open())


@pytest.mark.parametrize("format", ["JPEG", "PNG", "WEBP"])
def test_a_picture_is_kept_as_jpeg(by_manager, tree, format):
    photo = add_photo(by=by_manager, tree=tree, file=picture(format=format))
    assert stored(photo).format == "JPEG"


def test_the_digest_is_that_of_the_stored_file(by_manager, tree):
    photo = add_photo(by=by_manager, tree=tree, file=picture())
    assert hashlib.sha256(photo.image.open().read()).hexdigest() == photo.sha256


def test_what_the_camera_wrote_is_gone_and_the_picture_upright(by_manager, tree):
    exif = Image.Exif()
    exif[ORIENTATION] = 6  # lies on its side (Exif 2.32, tag 274)
    exif.get_ifd(GPS)[1] = "N"
    photo = add_photo(by=by_manager, tree=tree, file=picture(size=(40, 30), exif=exif))
    kept = stored(photo)
    assert (dict(kept.getexif()), kept.size) == ({}, (30, 40))


def test_a_large_picture_is_made_smaller(by_manager, tree):
    photo = add_photo(by=by_manager, tree=tree, file=picture(size=(4000, 2000)))
    assert stored(photo).size == (LONGEST_SIDE_PX, LONGEST_SIDE_PX // 2)


@pytest.mark.parametrize("content", [b"", b"<svg onload='alert(1)'/>", b"\xff\xd8\xff\xe0 not really", b"%PDF-1.7"])
def test_what_is_no_picture_is_refused(by_manager, tree, content):
    with pytest.raises(Refused, match="give a JPEG, PNG or WebP file"):
        add_photo(by=by_manager, tree=tree, file=ContentFile(content))
    assert not Photo.objects.exists()


def test_a_file_too_large_is_refused(by_manager, tree, settings):
    settings.PHOTO_MAX_BYTES = 100
    with pytest.raises(Refused, match="larger than"):
        add_photo(by=by_manager, tree=tree, file=picture(size=(400, 300)))


def test_a_small_file_with_too_many_pixels_is_refused(by_manager, tree, monkeypatch):
    monkeypatch.setattr("inventory.photos.MAX_PIXELS", 1000)
    with pytest.raises(Refused, match="pixels"):
        add_photo(by=by_manager, tree=tree, file=picture())


def test_the_same_picture_twice_is_stored_once(by_manager, tree):
    first = add_photo(by=by_manager, tree=tree, file=picture())
    assert add_photo(by=by_manager, tree=tree, file=picture()) == first
    assert RecordEntry.objects.filter(verb="photo").count() == 1


def test_a_photo_sent_again_under_its_id_is_stored_once(by_manager, tree):
    made = uuid7()
    first = add_photo(by=by_manager, tree=tree, file=picture(), id=made)
    assert add_photo(by=by_manager, tree=tree, file=picture(colour="olive"), id=made) == first


def test_a_photo_comes_in_through_its_page(as_role, tree, cast):
    page = reverse("inventory:add_photo", args=[tree.tag])
    response = as_role(Role.INSPECTOR).post(page, {"file": picture(), "caption": "Crack at the union"})
    assert response.url == reverse("reports:tree", args=[tree.tag])
    photo = tree.photos.get()
    assert (photo.caption, photo.by) == ("Crack at the union", cast[Role.INSPECTOR])


def test_what_is_no_picture_comes_back_with_a_sentence(as_role, tree):
    page = reverse("inventory:add_photo", args=[tree.tag])
    response = as_role(Role.INSPECTOR).post(page, {"file": ContentFile(b"text", "notes.txt")})
    assert "give a JPEG, PNG or WebP file" in response.content.decode()


def test_a_photo_is_served_to_readers_as_an_image_only(as_role, by_manager, tree):
    photo = add_photo(by=by_manager, tree=tree, file=picture())
    response = as_role(Role.READER).get(reverse("inventory:photo", args=[photo.pk]))
    assert response["Content-Type"] == "image/jpeg"
    assert response["X-Content-Type-Options"] == "nosniff"
    assert "private" in response["Cache-Control"]
    assert hashlib.sha256(b"".join(response.streaming_content)).hexdigest() == photo.sha256


def test_a_photo_is_not_served_to_strangers(client, by_manager, tree):
    photo = add_photo(by=by_manager, tree=tree, file=picture())
    response = client.get(reverse("inventory:photo", args=[photo.pk]))
    assert response.status_code == 302
    assert response.url.startswith(reverse("login"))


def test_a_photo_whose_file_is_lost_is_not_found(as_role, by_manager, tree):
    photo = add_photo(by=by_manager, tree=tree, file=picture())
    photo.image.storage.delete(photo.image.name)
    assert as_role(Role.READER).get(reverse("inventory:photo", args=[photo.pk])).status_code == 404
