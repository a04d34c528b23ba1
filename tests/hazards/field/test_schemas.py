"""The schemas are published, and a validator that is not ours agrees with the server on what fits them."""

import jsonschema
import pytest
from django.test import Client
from jsonschema import Draft202012Validator

from config.field import FIELD
from inventory.access import Role
from inventory.sent import FORMATS
from tests.factories import ParkFactory, TreeFactory
from tests.hazards.factories import TargetFactory
from tests.hazards.field.sending import assessment, inspection, record, send

KINDS = [kind.name for kind in FIELD.kinds]


@pytest.fixture
def tablet(as_role) -> Client:
    return as_role(Role.INSPECTOR)


def published(tablet: Client, kind: str) -> dict:
    answer = tablet.get(f"/field/schema/{kind}.json")
    assert answer["Content-Type"] == "application/schema+json"
    return answer.json()


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_a_sound_schema(tablet, kind):
    """Against the metaschema of JSON Schema 2020-12 (json-schema.org/draft/2020-12/schema)."""
    schema = published(tablet, kind)
    Draft202012Validator.check_schema(schema)
    assert (schema["$schema"], schema["title"]) == ("https://json-schema.org/draft/2020-12/schema", kind)


def test_kinds_have_names_of_their_own():
    assert len(set(KINDS)) == len(KINDS)


def test_a_kind_that_there_is_not_has_no_schema(tablet):
    assert tablet.get("/field/schema/weather.json").status_code == 404


FULL = {
    "dieback_pct": 20,
    "dbh_cm": 40,
    "height_m": 12.5,
    "crown_spread_m": 8,
    "note": "Seen.",
    "supersedes": None,
    "defects": [{"part": "trunk", "kind": "cavity", "value": 30, "unit": "%", "note": ""}],
}
SPOILT = [
    {"dieback_pct": 20.5},
    {"dieback_pct": "20"},
    {"dbh_cm": 0},
    {"dbh_cm": True},
    {"height_m": 999},
    {"condition": ""},
    {"level": 2.5},
    {"note": None},
    {"supersedes": "that one"},
    {"observed_at": "2026-05-04"},
    {"defects": [{"part": "leaf", "kind": "spots"}]},
    {"defects": [{"part": "trunk"}]},
    {"defects": {}},
    {"assessments": [{}]},
    {"weather": "fine"},
]


@pytest.mark.parametrize("changed", [{}, FULL, {"dieback_pct": 20.0, "level": 2.0}, *SPOILT])
def test_server_and_schema_agree(tablet, db, changed):
    tree = TreeFactory(park=ParkFactory(code="LG"))
    sent = inspection(tree, assessment(TargetFactory(park=tree.park)), **changed)
    validator = Draft202012Validator(published(tablet, "inspection"), format_checker=FORMATS)
    (result,) = send(tablet, sent)
    assert (result["status"] == "stored") == validator.is_valid(sent["payload"]) == (changed not in SPOILT)


@pytest.mark.parametrize(
    ("kind", "payload", "fits"),
    [
        ("tree", {"park": "LG", "lon": 8.5, "lat": 47.2}, True),
        ("tree", {"park": "LG", "lon": 8.5}, False),
        ("tree", {"park": "LG", "lon": 8.5, "lat": 147.2}, False),
        ("tree", {"park": "", "lon": 8.5, "lat": 47.2}, False),
        ("target", {"park": "LG", "name": "Gate", "kind": "path", "occupancy": "rare"}, True),
        ("target", {"park": "LG", "name": "Gate", "kind": "gate", "occupancy": "rare"}, False),
        ("target", {"park": "LG", "name": " ", "kind": "path", "occupancy": "rare"}, False),
    ],
)
def test_server_and_schema_agree_on_what_is_met_on_the_walk(tablet, db, kind, payload, fits):
    ParkFactory(code="LG")
    (result,) = send(tablet, record(kind, payload))
    try:
        jsonschema.validate(payload, published(tablet, kind), cls=Draft202012Validator)
        valid = True
    except jsonschema.ValidationError:
        valid = False
    assert (result["status"] == "stored", valid) == (fits, fits)
