"""The page for everybody: shut until opened, guarded, and silent about who has told what."""

import datetime as dt
import re

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client, RequestFactory
from django.urls import reverse

from hazards import concerns
from hazards.concern_desk import set_desk
from hazards.models import Concern, ConcernState, Knock
from hazards.senders import HOUR, TooOften, address_of, count_one
from inventory.access import Role
from inventory.models import Photo
from inventory.record import COMMAND
from tests.hazards.at_once import at_once
from tests.inventory.test_photos import picture

NOW = dt.datetime(2026, 6, 10, 12, 0, tzinfo=dt.UTC)
PAGE = "/report-a-tree/"
NEW = ConcernState.NEW.value


@pytest.fixture
def clock():
    with time_machine.travel(NOW, tick=False) as travel:
        yield travel


def open_page(settings, **changed) -> None:
    settings.PUBLIC_REPORTS = True
    given = {"page_open": True, "open311_open": False, "emergency_number": "999", "contact_days": 30, **changed}
    set_desk(by=COMMAND, seen=0, **given)


@pytest.fixture
def opened(db, settings, clock):
    open_page(settings)
    return clock


def slip_of(client: Client) -> str:
    return re.search(r'name="slip" value="([^"]+)"', client.get(PAGE).content.decode())[1]


def filled(client: Client, clock, wait_s: int = 30, **changed) -> dict:
    """The form as somebody fills it in, who takes half a minute over it."""
    usual = {
        "slip": slip_of(client),
        "seen": "broken",
        "description": "Hangs low.",
        "place": "East gate",
        "website": "",
    }
    clock.shift(dt.timedelta(seconds=wait_s))
    return {**usual, "contact": "a@b.example", **changed}


class TestDoors:
    PAGES = (PAGE, f"{PAGE}status/", f"{PAGE}AAAA-AAAA-AA/", f"{PAGE}AAAA-AAAA-AA/thanks/")

    @pytest.mark.parametrize("page", PAGES)
    def test_shut_by_default(self, client, db, page):
        assert client.get(page).status_code == 404

    @pytest.mark.parametrize("page", PAGES)
    def test_shut_when_the_city_has_not_opened(self, client, db, settings, page):
        settings.PUBLIC_REPORTS = True
        assert client.get(page).status_code == 404

    def test_shut_when_the_server_does_not_let_it(self, client, db, settings):
        open_page(settings)
        settings.PUBLIC_REPORTS = False
        assert client.get(PAGE).status_code == 404
        assert client.post(PAGE, {"seen": "broken", "place": "x"}).status_code == 404

    def test_open_when_both_say_so(self, client, opened):
        html = client.get(PAGE).content.decode()
        assert "keep away and call 999." in html
        assert html.index("keep away and call 999.") < html.index("What did you see?")


class TestReporting:
    def test_is_thanked_with_a_reference(self, client, opened):
        answer = client.post(PAGE, filled(client, opened))
        concern = Concern.objects.get()
        assert answer["Location"] == f"{PAGE}{concern.reference}/thanks/"
        assert concern.reference in client.get(answer["Location"]).content.decode()
        assert (concern.source, concern.forget_at - concern.received_at) == ("public", dt.timedelta(days=30))

    def test_sent_twice_it_is_kept_once(self, client, opened):
        form = filled(client, opened)
        places = [client.post(PAGE, form)["Location"] for _ in range(2)]
        assert places[0] == places[1]
        assert Concern.objects.count() == 1

    @pytest.mark.parametrize(
        ("changed", "sentence"),
        [
            ({"website": "http://x"}, "it catches programs"),
            ({"wait_s": 2}, "quicker than one can read"),
            ({"wait_s": 13 * 3600}, "open for long"),
            ({"slip": "made up"}, "open for long"),
            ({"slip": ""}, "open for long"),
            ({"seen": ""}, "Pick what comes closest"),
            ({"place": ""}, "Say where the tree stands"),
            ({"position": "nowhere"}, "is not a position"),
            ({"description": "x" * 2001}, "at most 2000"),
        ],
    )
    def test_refuses_with_the_reason(self, client, opened, changed, sentence):
        answer = client.post(PAGE, filled(client, opened, **changed))
        assert answer.status_code == 400
        assert sentence in answer.content.decode()
        assert not Concern.objects.exists()

    def test_a_slip_that_ended_is_renewed(self, client, opened):
        form = filled(client, opened, wait_s=13 * 3600)
        again = re.search(r'name="slip" value="([^"]+)"', client.post(PAGE, form).content.decode())[1]
        opened.shift(dt.timedelta(seconds=10))
        assert client.post(PAGE, {**form, "slip": again}).status_code == 302

    def test_the_token_against_forged_requests_is_asked_for(self, opened):
        strict = Client(enforce_csrf_checks=True)
        assert strict.post(PAGE, {"seen": "broken"}).status_code == 403


class TestPhoto:
    def test_is_kept_without_a_tree_and_shown_to_nobody_without_a_login(self, client, opened, as_role):
        upload = SimpleUploadedFile("x.jpg", picture().read())
        client.post(PAGE, filled(client, opened, photo=upload))
        photo = Photo.objects.get()
        address = reverse("inventory:photo", args=[photo.pk])
        assert photo.tree is None
        assert client.get(address).status_code == 302
        reference = Concern.objects.get().reference
        for page in (f"{PAGE}{reference}/", f"{PAGE}{reference}/thanks/"):
            assert "<img" not in client.get(page).content.decode()
        html = as_role(Role.INSPECTOR).get(reverse("hazards:concern", args=[photo.about])).content.decode()
        assert address in html

    @pytest.mark.parametrize("content", [b"no picture", b"%PDF-1.4", b"<svg xmlns='http://www.w3.org/2000/svg'/>"])
    def test_what_is_no_picture_is_refused(self, client, opened, content):
        answer = client.post(PAGE, filled(client, opened, photo=SimpleUploadedFile("x.jpg", content)))
        assert "not a photo that can be read" in answer.content.decode()
        assert not Concern.objects.exists()

    def test_too_large_a_file_is_refused(self, client, opened, settings):
        settings.PHOTO_MAX_BYTES = 1024**2
        large = SimpleUploadedFile("x.jpg", picture().read() + bytes(1024**2))
        assert "larger than 1 MB" in client.post(PAGE, filled(client, opened, photo=large)).content.decode()


class TestStatus:
    def sent(self, client, opened) -> Concern:
        client.post(PAGE, filled(client, opened))
        return Concern.objects.get()

    def test_says_what_became_of_it_and_nothing_personal(self, client, opened):
        concern = self.sent(client, opened)
        html = client.get(f"{PAGE}{concern.reference}/").content.decode()
        assert "Somebody will read it" in html
        for word in ("a@b.example", "Hangs low", "East gate"):
            assert word not in html

    def test_shows_the_answer(self, client, opened):
        concerns.answer(by=COMMAND, concern=self.sent(client, opened), seen=NEW, text="These are galls.")
        assert "These are galls." in client.get(f"{PAGE}{Concern.objects.get().reference}/").content.decode()

    def test_a_reference_is_found_as_people_type_it(self, client, opened):
        reference = self.sent(client, opened).reference
        typed = reference.lower().replace("-", " ")
        assert client.get(f"{PAGE}status/", {"reference": typed})["Location"] == f"{PAGE}{reference}/"

    def test_an_unknown_reference_is_said(self, client, opened):
        assert "No report has the reference" in client.get(f"{PAGE}status/?reference=7K3M").content.decode()

    def test_spam_is_gone(self, client, opened):
        concern = concerns.drop_spam(by=COMMAND, concern=self.sent(client, opened), seen=NEW)
        assert client.get(f"{PAGE}{concern.reference}/").status_code == 404


class TestLimit:
    def test_an_address_may_report_so_often_an_hour(self, client, opened, settings):
        settings.PUBLIC_REPORTS_AN_HOUR = 2
        codes = [client.post(PAGE, filled(client, opened)).status_code for _ in range(3)]
        assert codes == [302, 302, 400]
        assert Concern.objects.count() == 2
        assert client.post(PAGE, filled(client, opened), REMOTE_ADDR="198.51.100.7").status_code == 302
        opened.shift(HOUR)
        assert client.post(PAGE, filled(client, opened)).status_code == 302

    def test_keeps_no_address_and_drops_what_is_over(self, client, opened):
        client.post(PAGE, filled(client, opened), REMOTE_ADDR="198.51.100.7")
        (knock,) = Knock.objects.all()
        assert re.fullmatch(r"[0-9a-f]{64}", knock.sender)
        opened.shift(HOUR)
        client.post(PAGE, filled(client, opened), REMOTE_ADDR="198.51.100.8")
        assert not Knock.objects.filter(pk=knock.pk).exists()

    def test_a_refused_report_is_not_counted(self, client, opened):
        client.post(PAGE, filled(client, opened, seen=""))
        assert not Knock.objects.exists()

    @pytest.mark.parametrize(
        ("proxy", "headers", "address"),
        [
            (False, {"REMOTE_ADDR": "198.51.100.7", "HTTP_X_FORWARDED_FOR": "203.0.113.9"}, "198.51.100.7"),
            (True, {"REMOTE_ADDR": "10.0.0.1", "HTTP_X_FORWARDED_FOR": "1.2.3.4, 203.0.113.9"}, "203.0.113.9"),
            (True, {"REMOTE_ADDR": "10.0.0.1"}, "10.0.0.1"),
            (False, {"REMOTE_ADDR": "2001:db8:1:2:aaaa::1"}, "2001:db8:1:2::/64"),
        ],
    )
    def test_the_address_is_the_one_that_cannot_be_made_up(self, settings, proxy, headers, address):
        settings.BEHIND_PROXY = proxy
        assert address_of(RequestFactory().get(PAGE, **headers)) == address

    @pytest.mark.django_db(transaction=True)
    def test_reports_at_the_same_moment_are_counted_one_after_the_other(self):
        def knock() -> None:
            with transaction.atomic():
                count_one("somebody", most=2)

        raised = at_once(*[knock] * 5)
        assert [type(error) for error in raised] == [TooOften] * 3
        assert Knock.objects.count() == 2
