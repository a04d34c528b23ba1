"""Photos on a tablet: shrunk, turned upright, stripped, and sent after their record."""

import hashlib
import io

import pytest
from PIL import Image
from playwright.sync_api import Error, Page, expect

from tests.browser.tablet import PlayedServer, Tablet

ORIENTATION, GPS = 0x0112, 0x8825


@pytest.fixture
def server() -> PlayedServer:
    return PlayedServer()


@pytest.fixture
def tablet(open_page, server) -> Tablet:
    page: Page = open_page()
    server.attend(page.context)
    page.goto("/field/")
    tablet = Tablet(page)
    tablet.send()
    return tablet


@pytest.fixture
def sent(tablet, server):
    """A picture as the server gets it."""

    def through(picture: bytes) -> Image.Image:
        photo = tablet.photo(picture, "inspect/12")
        tablet.add(draft="inspect/12")
        tablet.send()
        return Image.open(io.BytesIO(server.photos[photo["id"]]))

    return through


@pytest.mark.parametrize(
    ("size", "expected"), [((3000, 2000), (2048, 1365)), ((1500, 3000), (1024, 2048)), ((640, 480), (640, 480))]
)
def test_the_long_edge_is_2048_px_at_most(sent, camera, size, expected) -> None:
    picture = sent(camera(*size))
    assert (picture.format, picture.size) == ("JPEG", expected)


def test_a_picture_held_sideways_arrives_upright_and_without_what_the_camera_wrote(sent, camera) -> None:
    exif = Image.Exif()
    exif[ORIENTATION] = 6  # turn by 90° clockwise to see it upright
    exif[GPS] = {1: "N"}
    picture = sent(camera(2400, 1200, exif=exif))
    assert picture.size == (1024, 2048)
    assert dict(picture.getexif()) == {}
    # The left edge of the sensor, red, is the top of the picture.
    red, _, blue = picture.getpixel((512, 20))
    assert red > 200
    assert blue < 60


def test_a_photo_is_named_by_its_bytes(tablet, server, camera) -> None:
    photo = tablet.photo(camera(300, 200), "inspect/12")
    tablet.add(draft="inspect/12")
    tablet.send()
    assert hashlib.sha256(server.photos[photo["id"]]).hexdigest() == photo["sha256"]


def test_what_is_no_picture_is_not_taken(tablet) -> None:
    with pytest.raises(Error, match="not a picture that the tablet can read"):
        tablet.photo(b"no picture at all", "inspect/12")


def test_photos_follow_their_record_one_by_one_and_resume(tablet, server, camera) -> None:
    names = [tablet.photo(camera(300 + n, 200), "inspect/12")["id"] for n in range(3)]
    arrived: list[str] = []

    def drop_the_second(route, fields):
        arrived.append(fields["id"].decode())
        if len(arrived) != 2:
            return False
        route.abort("connectionreset")
        return True

    server.photo_fault = drop_the_second
    record = tablet.add(draft="inspect/12")
    tablet.send()
    tablet.send()
    assert arrived == [names[0], names[1], names[1], names[2]]
    assert list(server.photos) == names
    assert tablet.call("photos", "ofRecord", record) == []


def test_a_photo_stays_until_the_answer_names_it(tablet, server, camera) -> None:
    photo = tablet.photo(camera(300, 200), "inspect/12")
    server.photo_fault = lambda route, fields: route.fulfill(json={"id": "another", "status": "stored"}) or True
    record = tablet.add(draft="inspect/12")
    tablet.send()
    assert [kept["id"] for kept in tablet.call("photos", "ofRecord", record)] == [photo["id"]]


def test_a_photo_whose_record_has_not_arrived_waits(tablet, server, camera) -> None:
    tablet.photo(camera(300, 200), "inspect/12")
    record = tablet.add(draft="inspect/12")
    tablet.send()
    server.photos.clear()
    tablet.photo(camera(310, 200), "late")
    script = """async (modules, record) => {
        const { ask, write } = await modules("db");
        await write(["photos"], async ({ photos }) => {
            for (const photo of await ask(photos.getAll())) await ask(photos.put({ ...photo, record, draft: "" }));
        });
    }"""
    tablet.run(script, record)
    del server.records[record]
    tablet.send()
    assert [kept["state"] for kept in tablet.call("photos", "ofRecord", record)] == ["waiting"]


def test_a_refused_photo_says_why_and_does_not_hold_up_the_next(tablet, server, camera) -> None:
    first, second = (tablet.photo(camera(300 + n, 200), "inspect/12") for n in range(2))
    errors = [{"field": "file", "message": "The picture is damaged: take it again."}]

    def refuse_the_first(route, fields):
        if fields["id"].decode() != first["id"]:
            return False
        route.fulfill(status=400, json={"id": first["id"], "status": "refused", "errors": errors})
        return True

    server.photo_fault = refuse_the_first
    tablet.add(draft="inspect/12")
    tablet.send()
    assert list(server.photos) == [second["id"]]
    tablet.page.goto("/field/#/outbox")
    expect(tablet.page.get_by_text("The picture is damaged: take it again.")).to_be_visible()
    tablet.page.get_by_role("button", name="Throw the photo away").click()
    expect(tablet.page.get_by_text("The picture is damaged")).to_be_hidden()


def test_a_photo_that_the_line_has_damaged_is_sent_again(tablet, server, camera) -> None:
    photo = tablet.photo(camera(300, 200), "inspect/12")
    damaged: list[str] = []

    def damage_once(route, fields):
        if damaged:
            return False
        damaged.append(fields["id"].decode())
        errors = [{"field": "", "message": "The photo did not arrive as it was sent; send it again."}]
        route.fulfill(status=400, json={"id": photo["id"], "status": "damaged", "errors": errors})
        return True

    server.photo_fault = damage_once
    tablet.add(draft="inspect/12")
    tablet.send()
    tablet.send()
    assert damaged == [photo["id"]]
    assert list(server.photos) == [photo["id"]]


def test_a_draft_that_is_dropped_takes_its_photos_with_it(tablet, camera) -> None:
    tablet.photo(camera(300, 200), "inspect/12")
    tablet.call("drafts", "drop", "inspect/12")
    assert tablet.call("photos", "all") == []
