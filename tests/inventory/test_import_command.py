"""``manage.py import_trees``: counts, refusals, parks, dry runs; both real files from their raw form.

The real files: City of Melbourne open data (CC BY 4.0) and New York City open data (2015 street tree census sample).
"""

import io
import json
from pathlib import Path

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from inventory.models import ImportRun, Park, PlantingPlace, Tree, TreeStatus
from tests.inventory.test_import_real_files import real

pytestmark = pytest.mark.django_db
TABLE = "Tag,Park,Species,DBH (cm),Status,Latitude,Longitude\n"
TREE, STUMP, WRONG = (
    "A1,Ropewalk,Acer rubrum,30,Alive,45.4,-40.2\n",
    "A2,Ropewalk,,50,Stump,45.4,-40.2\n",
    "A3,Ropewalk,Acer rubrum,900,Alive,45.4,-40.2\n",
)


def import_trees(path: Path, *options: str) -> tuple[dict, str]:
    """The JSON that the command prints, and what it says beside it."""
    out, beside = io.StringIO(), io.StringIO()
    call_command("import_trees", path, *options, "--json", stdout=out, stderr=beside)
    return json.loads(out.getvalue()), beside.getvalue()


def counts(said: dict) -> tuple[int, ...]:
    return tuple(said[name] for name in ("rows", "imported", "updated", "unchanged", "sites", "refused"))


@pytest.fixture
def file(tmp_path) -> Path:
    path = tmp_path / "ropewalk trees.csv"
    path.write_text(TABLE + TREE + STUMP + WRONG)
    return path


def test_the_counts_and_each_refused_row(file):
    said, _ = import_trees(file)
    assert counts(said) == (3, 1, 0, 0, 1, 1)
    assert said["refusals"] == [
        {
            "row": 4,
            "column": "DBH (cm)",
            "value": "900",
            "reason": "a trunk 900 cm through is beyond any tree (500 cm): check the number and its unit.",
        }
    ]
    assert ImportRun.objects.get().refusals.count() == 1


def test_in_words_without_json(file):
    out = io.StringIO()
    call_command("import_trees", file, stdout=out, stderr=io.StringIO())
    assert "3 rows: 1 imported, 0 updated, 0 unchanged, 1 stumps and vacant sites, 1 refused." in out.getvalue()
    assert "row 4, DBH (cm) “900”" in out.getvalue()


def test_a_dry_run_counts_and_keeps_nothing(file):
    said, _ = import_trees(file, "--dry-run")
    assert counts(said) == (3, 1, 0, 0, 1, 1)
    assert len(said["refusals"]) == 1
    assert not Tree.objects.exists()
    assert not ImportRun.objects.exists()


def test_one_park_for_the_file_is_made_when_there_is_none_and_said(file):
    _, beside = import_trees(file, "--park", "DOCK")
    assert set(Tree.objects.values_list("park__code", flat=True)) == {"DOCK"}
    assert "New parks: DOCK." in beside


def test_nothing_to_place_by_makes_a_park_of_the_files_name_and_says_so(tmp_path):
    path = tmp_path / "quay.csv"
    path.write_text("Tag,DBH (cm)\nA1,30\n")
    _, beside = import_trees(path)
    assert Tree.objects.get().park.code == "QUAY"
    assert "go to QUAY: 1" in beside


def test_a_mapping_from_a_file(tmp_path, file):
    mapping = tmp_path / "mapping.json"
    mapping.write_text(json.dumps({"columns": {"tag": "Tag", "girth": "DBH (cm)"}, "units": {"girth": "mm"}}))
    said, _ = import_trees(file, "--mapping", str(mapping))
    assert counts(said) == (3, 3, 0, 0, 0, 0)
    assert Tree.objects.get(tag="A1").dbh_cm == pytest.approx(3 / 3.14159, abs=1e-3)


@pytest.mark.parametrize("text", ["{", "[]", '{"columns": {"tag": "Nummer"}}'])
def test_a_mapping_that_cannot_be_used_is_an_error_not_a_traceback(tmp_path, file, text):
    mapping = tmp_path / "mapping.json"
    mapping.write_text(text)
    with pytest.raises(CommandError):
        import_trees(file, "--mapping", str(mapping))


def test_a_file_that_is_not_there_is_an_error_not_a_traceback(tmp_path):
    with pytest.raises(CommandError, match=r"no file none\.csv"):
        import_trees(tmp_path / "none.csv")


def test_projected_coordinates_without_their_system_ask_for_it(tmp_path):
    path = tmp_path / "trees.csv"
    path.write_text("Tag,Easting,Northing\nA1,430000,5800000\n")
    with pytest.raises(CommandError, match="EPSG code"):
        import_trees(path)


def test_the_gardens_from_their_raw_form():
    path = real("gardens.csv")
    said, beside = import_trees(path)
    assert counts(said) == (1200, 1200, 0, 0, 0, 0)
    assert "taken as centimetres" in beside
    assert Park.objects.get().code == "GARDENS"
    assert Tree.objects.filter(lat__lt=-37, lon__gt=144).count() == 1200
    assert counts(import_trees(path)[0]) == (1200, 0, 0, 1200, 0, 0)


def test_the_streets_from_their_raw_form():
    path = real("streets.csv")
    said, _ = import_trees(path)
    assert counts(said) == (5000, 4893, 0, 0, 106, 1)
    assert said["refusals"][0]["value"] == "425"
    assert Tree.objects.filter(status=TreeStatus.DEAD_STANDING).count() == 100
    assert PlantingPlace.objects.filter(kind="stump", stump_diameter_cm__gt=0).count() == 106
    assert Park.objects.count() == 5
    assert Tree.objects.get(tag="180683").dbh_cm == pytest.approx(7.62)
    assert counts(import_trees(path)[0]) == (5000, 0, 0, 4893, 106, 1)
