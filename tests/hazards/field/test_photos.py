"""Photos follow their record: whole, once, cleaned, under the name of who took them."""

from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from inventory.access import Role
from inventory.models import Photo
from tests.factories import TreeFactory
from tests.hazards.field.sending import inspection, photo, picture, send


@pytest.fixture
def tablet(as_role) -> Client:
    return as_role(Role.INSPECTOR)


@pytest.fixture
def record(tablet) -> str:
    sent = inspection(TreeFactory())
    send(tablet, sent)
    return sent["id"]


def test_a_photo_is_kept_with_its_inspection_as_a_clean_jpeg(tablet, record):
    answer = photo(tablet, record, picture(), caption="The crack.")
    kept = Photo.objects.get()
    assert answer.json() == {"id": str(kept.pk), "errors": [], "status": "stored"}
    assert (str(kept.about), kept.tree.photos.get(), kept.caption) == (record, kept, "The crack.")
    assert Image.open(kept.image).format == "JPEG"


def test_the_same_photo_again_is_known(tablet, record):
    first = photo(tablet, record, picture()).json()["id"]
    assert photo(tablet, record, picture(), id=first).json()["status"] == "known"
    assert photo(tablet, record, picture()).json()["status"] == "known"
    assert Photo.objects.count() == 1


def test_several_photos_of_one_record_are_all_kept(tablet, record):
    assert [photo(tablet, record, picture(n)).json()["status"] for n in (1, 60, 200)] == ["stored"] * 3
    assert Photo.objects.count() == 3


def test_a_photo_waits_for_its_record(tablet, db):
    sent = inspection(TreeFactory())
    early = photo(tablet, sent["id"], picture())
    assert (early.status_code, early.json()["status"]) == (409, "waiting")
    send(tablet, sent)
    assert photo(tablet, sent["id"], picture()).status_code == 200


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"sha256": "0" * 64}, "did not arrive as it was sent"),
        ({"file": SimpleUploadedFile("photo.jpg", b"")}, "arrived empty"),
        ({"file": ""}, "arrived empty"),
    ],
)
def test_a_photo_that_the_line_has_damaged_is_asked_for_again(tablet, record, changed, words):
    answer = photo(tablet, record, picture(), **changed)
    assert (answer.status_code, answer.json()["status"]) == (400, "damaged")
    assert words in str(answer.json()["errors"])
    assert photo(tablet, record, picture()).status_code == 200


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"id": "7"}, "id of the photo"),
        ({"record": "oak"}, "id of the record"),
        ({"taken_at": "noon"}, "when the photo was taken"),
        ({"caption": "x" * 201}, "at most 200 characters"),
    ],
)
def test_a_photo_that_is_not_right_is_refused_in_a_sentence(tablet, record, changed, words):
    answer = photo(tablet, record, picture(), **changed)
    assert (answer.status_code, answer.json()["status"]) == (400, "refused")
    assert words in answer.json()["errors"][0]["message"]
    assert not Photo.objects.exists()


def test_what_is_no_picture_is_refused(tablet, record):
    assert "not a photo that can be read" in photo(tablet, record, b"GIF89a;").json()["errors"][0]["message"]


def test_a_photo_is_as_large_as_the_city_takes(tablet, record, settings):
    noisy = BytesIO()
    Image.effect_noise((400, 400), 90).save(noisy, "PNG")
    settings.PHOTO_MAX_BYTES = 1000
    assert "send a smaller one" in photo(tablet, record, noisy.getvalue()).json()["errors"][0]["message"]


def test_a_photo_of_another_user_is_not_taken_under_this_name(tablet, record, cast):
    answer = photo(tablet, record, picture(), user=cast[Role.MANAGER].pk)
    assert (answer.status_code, answer.json()["status"]) == (403, "forbidden")
    assert not Photo.objects.exists()


def test_who_may_not_inspect_may_not_send_photos_of_inspections(as_role, record):
    assert photo(as_role(Role.READER), record, picture()).status_code == 403
