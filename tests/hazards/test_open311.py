"""Open311 GeoReport v2, JSON: https://wiki.open311.org/GeoReport_v2 (an open standard).

Read in the standard: UTF-8 everywhere; dates and times in the W3C subset of ISO 8601 with their zone
(``1994-11-05T13:15:30Z``); XML is asked for and JSON at the provider's discretion, the client choosing by the resource's
ending; the six methods; filters separated by commas. From memory: the names of the fields, at most 1000 requests over at most
90 days, service_request_id above all other arguments, errors as a list of code and description, 403 for a key.
"""

import datetime as dt
import json
import re

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.test import Client

from hazards import concerns, open311
from hazards.api_keys import end_key, holder_of, make_key
from hazards.concern_desk import set_desk
from hazards.concerns import Told, receive
from hazards.models import ApiKey, Concern, ConcernSource, Seen
from inventory.record import COMMAND, Actor
from tests.factories import TreeFactory

NOW = dt.datetime(2026, 6, 10, 12, 0, tzinfo=dt.UTC)
ROOT = "/open311/v2"
W3 = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ")

SERVICE_FIELDS = {"service_code", "service_name", "description", "metadata", "type", "keywords", "group"}
REQUEST_FIELDS = {
    "service_request_id", "status", "status_notes", "service_name", "service_code", "description", "agency_responsible",
    "service_notice", "requested_datetime", "updated_datetime", "expected_datetime", "address", "address_id", "zipcode",
    "lat", "long", "media_url",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _in_june():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def opened(db, settings):
    settings.PUBLIC_REPORTS = True
    given = {"page_open": False, "open311_open": True, "emergency_number": "999", "contact_days": 30}
    set_desk(by=COMMAND, seen=0, **given)


@pytest.fixture
def key(opened) -> str:
    return make_key(name="A messenger")


def told(days: float = 0, **facts) -> Concern:
    """So many days ago."""
    with time_machine.travel(NOW - dt.timedelta(days=days), tick=False):
        usual = {
            "seen": Seen.BROKEN,
            "description": "Ask Jo Moss about it",
            "place": "by No. 7",
            "contact": "a@b.example",
        }
        source = facts.pop("source", ConcernSource.OPEN311)
        by = COMMAND if source == ConcernSource.STAFF else Actor(via="Open311")
        return receive(by=by, told=Told(**{**usual, **facts}), source=source)


def get(client: Client, path: str, expected: int = 200, /, **query):
    answer = client.get(f"{ROOT}/{path}", query)
    assert answer.status_code == expected, answer.content
    assert answer["Content-Type"] == "application/json; charset=utf-8"
    return answer.json()


def ids(rows: list[dict]) -> list[str]:
    return [row["service_request_id"] for row in rows]


@pytest.mark.parametrize(
    "path", ["discovery.json", "services.json", "services/broken.json", "requests.json", "requests/AAAA-AAAA-AA.json"]
)
def test_all_is_shut_until_the_city_opens_it(client, db, settings, path):
    assert client.get(f"{ROOT}/{path}").status_code == 404
    settings.PUBLIC_REPORTS = True
    assert client.get(f"{ROOT}/{path}").status_code == 404


class TestServices:
    def test_discovery_names_the_endpoint_and_its_formats(self, client, opened):
        (endpoint,) = get(client, "discovery.json")["endpoints"]
        assert endpoint["url"] == "http://testserver/open311/v2"
        assert endpoint["formats"] == ["application/json"]
        assert endpoint["specification"].endswith("GeoReport_v2")

    def test_each_kind_of_thing_seen_is_a_service(self, client, opened):
        rows = get(client, "services.json")
        assert [row["service_code"] for row in rows] == Seen.values
        assert all(set(row) == SERVICE_FIELDS for row in rows)
        assert {row["type"] for row in rows} <= {"realtime", "batch", "blackbox"}

    def test_a_definition(self, client, opened):
        assert get(client, "services/broken.json") == {"service_code": "broken", "attributes": []}

    def test_an_unknown_service_is_not_found(self, client, opened):
        assert get(client, "services/potholes.json", 404) == [
            {"code": 404, "description": "service_code was not found."}
        ]


class TestPosting:
    @pytest.fixture
    def post(self, client, key):
        def send(**changed):
            given = {"api_key": key, "service_code": "broken", "lat": "47.2", "long": "8.5", **changed}
            return client.post(f"{ROOT}/requests.json", given)

        return send

    def test_a_report_is_answered_with_its_id_and_what_to_do_in_an_emergency(self, post):
        answer = post(description="Hangs low", email="a@b.example", phone="555", first_name="Jo", device_id="d")
        (row,) = answer.json()
        concern = Concern.objects.get()
        assert (answer.status_code, row["service_request_id"]) == (201, concern.reference)
        assert "call 999" in row["service_notice"]
        assert (concern.source, concern.lat, concern.lon) == ("open311", 47.2, 8.5)
        assert concern.contact == "a@b.example, 555"

    def test_the_names_and_the_device_of_a_person_are_not_kept(self, post):
        post(first_name="Jolanda", last_name="Moss", device_id="device-77", account_id="account-88")
        kept = json.dumps(list(Concern.objects.values()), default=str)
        assert not [word for word in ("Jolanda", "Moss", "device-77", "account-88") if word in kept]

    def test_an_address_is_enough(self, post):
        post(lat="", long="", address_string="7 Mill Road")
        assert Concern.objects.get().place == "7 Mill Road"

    @pytest.mark.parametrize(
        ("changed", "status", "words"),
        [
            ({"api_key": ""}, 403, "api_key"),
            ({"api_key": "wrong"}, 403, "api_key"),
            ({"service_code": ""}, 400, "service_code"),
            ({"service_code": "potholes"}, 400, "service_code"),
            ({"lat": "", "long": ""}, 400, "address_string"),
            ({"lat": "47.2", "long": ""}, 400, "lat and long go together"),
            ({"lat": "97", "long": "8.5"}, 400, "lat and long"),
            ({"lat": "nan", "long": "8.5"}, 400, "lat and long"),
        ],
    )
    def test_what_is_wrong_is_said_in_a_list(self, post, changed, status, words):
        answer = post(**changed)
        (error,) = answer.json()
        assert (answer.status_code, error["code"]) == (status, status)
        assert words in error["description"]
        assert not Concern.objects.exists()

    def test_a_key_may_report_so_often_an_hour(self, post, settings):
        settings.OPEN311_REPORTS_AN_HOUR = 2
        assert [post().status_code for _ in range(3)] == [201, 201, 429]

    def test_needs_no_cookie_and_no_token_of_a_form(self, key):
        strict = Client(enforce_csrf_checks=True)
        given = {"api_key": key, "service_code": "dead", "address_string": "x"}
        assert strict.post(f"{ROOT}/requests.json", given).status_code == 201


class TestAsking:
    def test_a_request_has_the_fields_of_the_standard(self, client, opened):
        concern = told(lon=8.5, lat=47.2)
        (row,) = get(client, f"requests/{concern.reference}.json")
        assert set(row) == REQUEST_FIELDS
        assert (row["status"], row["lat"], row["long"]) == ("open", 47.2, 8.5)
        assert W3.fullmatch(row["requested_datetime"])
        assert W3.fullmatch(row["updated_datetime"])

    def test_nothing_personal_goes_out(self, client, opened):
        told()
        text = client.get(f"{ROOT}/requests.json").content.decode()
        assert not [word for word in ("a@b.example", "Jo Moss", "No. 7") if word in text]

    def test_an_answer_closes_it(self, client, opened):
        concerns.answer(by=COMMAND, concern=told(), seen="new", text="These are galls.")
        (row,) = get(client, "requests.json")
        assert (row["status"], row["status_notes"]) == ("closed", "These are galls.")

    def test_a_look_that_is_asked_for_is_expected_by_its_day(self, client, opened):
        due = NOW.date() + dt.timedelta(days=9)
        concern = told(tree=TreeFactory())
        concerns.send_inspector(by=COMMAND, concern=concern, seen="new", due_on=due)
        (row,) = get(client, "requests.json")
        assert (row["status"], row["expected_datetime"]) == ("open", "2026-06-19T23:59:59Z")

    def test_spam_and_what_colleagues_told_stay_inside(self, client, opened):
        concerns.drop_spam(by=COMMAND, concern=told(), seen="new")
        staff = told(source=ConcernSource.STAFF)
        assert get(client, "requests.json") == []
        assert get(client, f"requests/{staff.reference}.json", 404)[0]["code"] == 404

    def test_the_last_ninety_days_unless_asked_otherwise(self, client, opened):
        recent, older = told(days=89), told(days=91)
        assert ids(get(client, "requests.json")) == [recent.reference]
        asked = {"start_date": "2026-03-01T00:00:00Z", "end_date": "2026-03-12T00:00:00+00:00"}
        assert ids(get(client, "requests.json", **asked)) == [older.reference]
        assert ids(get(client, "requests.json", end_date="2026-03-12T00:00:00Z")) == [older.reference]

    def test_filters(self, client, opened):
        broken, dead = told(), told(seen=Seen.DEAD)
        concerns.answer(by=COMMAND, concern=dead, seen="new", text="Known.")
        assert ids(get(client, "requests.json", status="open")) == [broken.reference]
        assert ids(get(client, "requests.json", status="closed")) == [dead.reference]
        assert len(get(client, "requests.json", status="open,closed")) == 2
        assert ids(get(client, "requests.json", service_code="dead,roots")) == [dead.reference]

    def test_ids_stand_above_all_other_arguments(self, client, opened):
        old, recent = told(days=200), told()
        asked = f"{old.reference},{recent.reference}"
        rows = get(
            client, "requests.json", service_request_id=asked, status="closed", start_date="2026-06-01T00:00:00Z"
        )
        assert ids(rows) == [recent.reference, old.reference]

    @pytest.mark.parametrize(
        ("query", "words"),
        [
            ({"status": "lost"}, "open or closed"),
            ({"start_date": "yesterday"}, "not a date"),
            ({"start_date": "2026-01-01T00:00:00"}, "with its zone"),
            ({"start_date": "2026-13-01T00:00:00Z"}, "not a date"),
            ({"start_date": "2026-01-01T00:00:00Z", "end_date": "2026-05-01T00:00:00Z"}, "more than 90 days"),
            ({"start_date": "2026-05-01T00:00:00Z", "end_date": "2026-04-01T00:00:00Z"}, "after end_date"),
        ],
    )
    def test_refuses_what_cannot_be_asked(self, client, opened, query, words):
        (error,) = get(client, "requests.json", 400, **query)
        assert error["code"] == 400
        assert words in error["description"]

    def test_a_thousand_at_most(self, opened):
        assert open311.asked_for({}).query.high_mark == 1000

    def test_costs_the_same_for_many(self, client, opened, django_assert_max_num_queries):
        for _ in range(20):
            told()
        with django_assert_max_num_queries(2):
            assert len(get(client, "requests.json")) == 20

    def test_an_id_by_its_token(self, client, opened):
        concern = told()
        assert get(client, f"tokens/{concern.pk}.json") == [
            {"token": str(concern.pk), "service_request_id": concern.reference}
        ]
        assert get(client, "tokens/00000000-0000-0000-0000-000000000000.json", 404)[0]["code"] == 404


class TestKeys:
    def test_a_key_is_shown_once_and_kept_as_a_hash(self, db, capsys):
        call_command("open311_key", "A messenger")
        key = capsys.readouterr().out.strip()
        assert holder_of(key) == ApiKey.objects.get()
        assert key not in str(ApiKey.objects.values())

    def test_an_ended_key_opens_nothing(self, db):
        key = make_key(name="A messenger")
        end_key(name="A messenger")
        assert holder_of(key) is None

    def test_one_name_one_key(self, db):
        make_key(name="A messenger")
        with pytest.raises(CommandError, match="has a key already"):
            call_command("open311_key", "A messenger")
        with pytest.raises(CommandError, match="Nobody named B"):
            call_command("open311_key", "B", "--end")
