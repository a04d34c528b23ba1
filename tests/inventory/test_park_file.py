"""Parks from GeoJSON: boundary, geodesic area and emergency card."""

import io
import json
import math

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from inventory.models import Park, RecordEntry
from inventory.park_file import ParkProblem, read_parks

SQUARE = [[0, 0], [0.01, 0], [0.01, 0.01], [0, 0.01], [0, 0]]
POND = [[0.004, 0.004], [0.006, 0.004], [0.006, 0.006], [0.004, 0.006], [0.004, 0.004]]


def collection(*rings, kind="Polygon", **properties) -> str:
    said = {"code": "OAK", "name": "Oak Park", **properties}
    feature = {"type": "Feature", "properties": said, "geometry": {"type": kind, "coordinates": list(rings)}}
    return json.dumps({"type": "FeatureCollection", "features": [feature]})


def test_a_park_with_its_card():
    (park,) = read_parks(collection(SQUARE, hospital="General, 2 km", access_note="", unknown="x"))
    assert park["code"] == "OAK"
    assert park["hospital"] == "General, 2 km"
    assert "access_note" not in park
    assert "unknown" not in park


def test_area_on_the_ellipsoid():
    """A degree at the equator is 111,319.5 m of longitude and 110,574.3 m of latitude on WGS 84 (Snyder, Map Projections:
    A Working Manual, USGS 1987; the figures from memory)."""
    (park,) = read_parks(collection(SQUARE))
    assert park["area_m2"] == pytest.approx(1113.195 * 1105.743, rel=1e-5)


def test_a_pond_is_taken_off_whichever_way_its_ring_runs():
    (full,) = read_parks(collection(SQUARE))
    for pond in (POND, POND[::-1]):
        (park,) = read_parks(collection(SQUARE, pond))
        assert park["area_m2"] == pytest.approx(full["area_m2"] * 0.96, rel=1e-6)


def test_two_parts_add_up():
    north = [[lon, lat + 1] for lon, lat in SQUARE]
    (both,) = read_parks(collection([SQUARE], [north], kind="MultiPolygon"))
    (one,) = read_parks(collection(SQUARE))
    assert both["area_m2"] == pytest.approx(one["area_m2"] * (1 + math.cos(math.radians(1))), rel=1e-3)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("[]", "not a GeoJSON FeatureCollection"),
        ("not json", "not a GeoJSON FeatureCollection"),
        (collection(SQUARE, code="oak park"), "a code is 1 to 12 capitals"),
        (collection(SQUARE, name=" "), "has no name"),
        (collection(0, 0, kind="Point"), "no Polygon or MultiPolygon"),
        (collection([[lon * 1e6, lat] for lon, lat in SQUARE]), "not in degrees"),
        (collection([[0, 0], [0.01, 0.01], [0.01, 0], [0, 0.01], [0, 0]]), "crosses itself"),
        (collection([["a", "b"]]), "cannot be read"),
    ],
)
def test_what_cannot_be_right_is_refused_with_a_sentence(text, sentence):
    with pytest.raises(ParkProblem, match=sentence):
        read_parks(text)


def test_a_code_stands_on_one_park():
    features = json.loads(collection(SQUARE))["features"] * 2
    with pytest.raises(ParkProblem, match="OAK stands on more than one park"):
        read_parks(json.dumps({"type": "FeatureCollection", "features": features}))


@pytest.mark.django_db
def test_importing_twice_changes_nothing(tmp_path):
    file = tmp_path / "parks.geojson"
    file.write_text(collection(SQUARE, hospital="General"), encoding="utf-8")
    call_command("import_parks", file, stdout=io.StringIO())
    entries = RecordEntry.objects.count()
    out = io.StringIO()
    call_command("import_parks", file, stdout=out)
    assert "0 new or changed" in out.getvalue()
    assert RecordEntry.objects.count() == entries


@pytest.mark.django_db
def test_a_park_met_in_a_tree_file_gets_its_boundary_and_keeps_what_the_file_leaves_out(tmp_path):
    Park.objects.create(code="OAK", name="Oak", phone_coverage="good")
    file = tmp_path / "parks.geojson"
    file.write_text(collection(SQUARE, hospital="General"), encoding="utf-8")
    call_command("import_parks", file, stdout=io.StringIO())
    park = Park.objects.get(code="OAK")
    assert (park.name, park.hospital, park.phone_coverage) == ("Oak Park", "General", "good")
    assert park.boundary["type"] == "Polygon"


@pytest.mark.django_db
def test_a_file_that_is_not_there_is_an_error_not_a_traceback(tmp_path):
    with pytest.raises(CommandError, match=r"none\.geojson"):
        call_command("import_parks", tmp_path / "none.geojson")
