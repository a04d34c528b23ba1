"""Rows into the inventory: what a file may change there, and that every row is accounted for."""

import csv
import itertools
from collections.abc import Sequence
from pathlib import Path

import pytest
from django.db import connection, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.importing import parks, run, workflow
from inventory.importing.mapping import header_key
from inventory.importing.merge import Busy, Counts
from inventory.importing.run import Cancelled, Outcome, Plan, Source
from inventory.importing.source import FileProblem
from inventory.models import (
    ColumnMapping,
    ImportRun,
    Park,
    PlantingPlace,
    RecordEntry,
    RunState,
    Species,
    Tree,
    TreeStatus,
)
from inventory.record import COMMAND
from inventory.workflow import edit_tree
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory

pytestmark = pytest.mark.django_db
HEADER = ("tag", "park", "species", "dbh_cm", "height_m", "status", "latitude", "longitude", "note")
FILES = itertools.count()


class Importer:
    """Writes rows to a file and imports it."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.run = folder, ImportRun()

    def __call__(self, *rows: Sequence[str], header: Sequence[str] = HEADER, park: str = "", **options) -> Outcome:
        path = self.folder / f"trees{next(FILES)}.csv"
        with path.open("w", newline="") as file:
            csv.writer(file).writerows([header, *rows])
        source = Source.of(path)
        columns = {role: name for role, name in ROLES.items() if name in header}
        plan, _ = run.plan_for(source, {"columns": columns}, park=park, fallback="Fallback")
        self.run = ImportRun.objects.create(file_name=path.name)
        return run.import_file(by=COMMAND, run=self.run, source=source, plan=plan, **options)

    @property
    def refusals(self):
        return run.refused(self.run)


ROLES = {
    "tag": "tag", "park": "park", "botanical": "species", "common": "common", "dbh": "dbh_cm", "height": "height_m",
    "status": "status", "latitude": "latitude", "longitude": "longitude", "note": "note", "planted": "planted",
}  # fmt: skip


@pytest.fixture
def imported(tmp_path) -> Importer:
    return Importer(tmp_path)


def row(tag: str = "A1", **cells: str) -> tuple[str, ...]:
    usual = {
        "park": "Ropewalk",
        "species": "Acer rubrum",
        "dbh_cm": "30",
        "status": "Alive",
        "latitude": "45.4",
        "longitude": "-40.2",
    }
    whole = {**usual, **cells, "tag": tag}
    return tuple(whole.get(name, "") for name in HEADER)


def test_a_new_tree_is_stored_whole(imported):
    assert imported(row(height_m="12", note="leans")).counts == Counts(1, 1, 0, 0, 0, 0)
    tree = Tree.objects.get(tag="A1")
    assert (tree.park.name, tree.species.botanical, tree.dbh_cm, tree.height_m, tree.note) == (
        "Ropewalk", "Acer rubrum", 30, 12, "leans",
    )  # fmt: skip
    assert (tree.lon, tree.lat, tree.status) == (-40.2, 45.4, TreeStatus.STANDING)
    before = tree.cell
    tree.place(tree.lon, tree.lat)
    assert tree.cell == before


def test_the_run_keeps_its_counts_and_the_record_one_entry(imported):
    imported(row("A1"), row("A2", status="Stump"), row("A3", dbh_cm="900"))
    done = imported.run
    assert done.state == RunState.DONE
    assert (done.rows, done.imported, done.sites, done.refused) == (3, 1, 1, 1)
    assert (done.progress_done, done.progress_total) == (3, 3)
    (entry,) = RecordEntry.objects.filter(verb="imported")
    assert entry.subject_id == str(done.pk)
    assert entry.data["refused"] == 1


def test_the_same_file_again_changes_nothing(imported):
    rows = [row("A1"), row("A2", latitude="", longitude=""), row("A3", status="Dead"), row("A4", status="Vacant site")]
    imported(*rows)
    before = list(Tree.objects.order_by("pk").values())
    places = list(PlantingPlace.objects.values())
    assert imported(*reversed(rows)).counts == Counts(4, 0, 0, 3, 1, 0)
    assert list(Tree.objects.order_by("pk").values()) == before
    assert list(PlantingPlace.objects.values()) == places


def test_a_changed_file_updates_by_tag(imported):
    imported(row("A1"), row("A2"))
    assert imported(row("A1", dbh_cm="31"), row("A2")).counts == Counts(2, 0, 1, 1, 0, 0)
    assert Tree.objects.get(tag="A1").dbh_cm == 31


def test_an_empty_cell_leaves_what_is_known(imported):
    imported(row(height_m="12", note="leans"))
    imported(row(dbh_cm="31"))
    tree = Tree.objects.get(tag="A1")
    assert (tree.dbh_cm, tree.height_m, tree.note) == (31, 12, "leans")


def test_what_a_person_corrected_survives_the_same_file(imported):
    imported(row())
    edit_tree(by=COMMAND, tree=Tree.objects.get(tag="A1"), changes={"dbh_cm": 44.0})
    assert imported(row()).counts.unchanged == 1
    assert Tree.objects.get(tag="A1").dbh_cm == 44


def test_a_tree_already_as_the_file_says_is_unchanged(imported):
    TreeFactory(
        tag="A1", park=ParkFactory(code="ROPEWALK", name="Ropewalk"), species=SpeciesFactory(botanical="Acer rubrum")
    )
    Tree.objects.filter(tag="A1").update(lon=-40.2, lat=45.4, cell=0, dbh_cm=30)
    imported(row())
    assert imported(row()).counts.unchanged == 1


def test_a_class_does_not_replace_a_measured_diameter(imported):
    imported(row(dbh_cm="34"))
    assert imported(row(dbh_cm="30-40")).counts.unchanged == 1
    assert Tree.objects.get(tag="A1").dbh_cm == 34


def test_a_measured_diameter_replaces_a_class(imported):
    imported(row(dbh_cm="30-40"))
    tree = Tree.objects.get(tag="A1")
    assert (tree.dbh_cm, tree.dbh_estimated, tree.size_as_given) == (35, True, "30-40")
    assert imported(row(dbh_cm="34")).counts.updated == 1
    tree.refresh_from_db()
    assert (tree.dbh_cm, tree.dbh_estimated, tree.size_as_given) == (34, False, "")


def test_several_stems_are_kept(imported):
    imported(row(dbh_cm="30/40"))
    tree = Tree.objects.get(tag="A1")
    assert (tree.dbh_cm, tree.stems_cm) == (50, [30, 40])


def test_a_genus_alone_does_not_replace_the_species(imported):
    imported(row())
    imported(row(species="Acer", dbh_cm="31"))
    tree = Tree.objects.get(tag="A1")
    assert (tree.species.botanical, tree.dbh_cm) == ("Acer rubrum", 31)


def test_a_year_does_not_replace_the_day_of_planting_in_it(imported):
    header = ("tag", "planted")
    imported(("A1", "1998-10-14"), header=header)
    imported(("A1", "1998"), header=header)
    assert Tree.objects.get(tag="A1").planted_precision == "day"
    imported(("A1", "1997"), header=header)
    assert Tree.objects.get(tag="A1").planted_on.isoformat() == "1997-01-01"


def test_that_a_tree_died_is_taken_from_the_file(imported):
    imported(row())
    assert imported(row(status="Dead")).counts.updated == 1
    assert Tree.objects.get(tag="A1").status == TreeStatus.DEAD_STANDING


def test_that_a_dead_tree_lives_is_an_inspections_to_say(imported):
    imported(row(status="Dead"))
    imported(row(status="Alive", dbh_cm="31"))
    tree = Tree.objects.get(tag="A1")
    assert (tree.status, tree.condition, tree.dbh_cm) == (TreeStatus.DEAD_STANDING, "dead", 31)


@pytest.mark.parametrize("word", ["Stump", "Vacant site", "Removed"])
def test_a_standing_tree_is_not_felled_by_a_file(imported, word):
    imported(row())
    assert imported(row(status=word)).counts == Counts(1, 0, 0, 0, 0, 1)
    (refusal,) = imported.refusals
    assert (refusal.row, refusal.column, refusal.value) == (2, "status", word)
    assert "removal order" in refusal.reason
    assert Tree.objects.get(tag="A1").stands


def test_a_removed_tree_does_not_rise_by_a_file(imported):
    TreeFactory(tag="A1", removed=True)
    assert imported(row()).counts.refused == 1
    (refusal,) = imported.refusals
    assert (refusal.column, refusal.value) == ("tag", "A1")
    assert "needs a tag of its own" in refusal.reason


def test_a_removed_tree_may_be_a_stump_in_the_file(imported):
    TreeFactory(tag="A1", removed=True)
    assert imported(row(status="Stump")).counts.sites == 1
    assert PlantingPlace.objects.get(tag="A1").kind == "stump"


def test_a_place_is_filled_when_its_tag_comes_back_as_a_tree(imported):
    imported(row(status="Vacant site"))
    assert imported(row()).counts.imported == 1
    assert not PlantingPlace.objects.exists()


def test_a_stump_becomes_a_vacant_site(imported):
    imported(row(status="Stump"))
    assert PlantingPlace.objects.get().stump_diameter_cm == 30
    assert imported(row(status="Vacant site")).counts.sites == 1
    assert PlantingPlace.objects.get().kind == "vacant site"


def test_a_tag_stands_once_in_a_file(imported):
    assert imported(row("A1"), row("A2"), row("A1", dbh_cm="99")).counts == Counts(3, 2, 0, 0, 0, 1)
    (refusal,) = imported.refusals
    assert (refusal.row, refusal.column, refusal.value) == (4, "tag", "A1")
    assert "stands in row 2 already" in refusal.reason


UNTAGGED = HEADER[1:]


def untagged(**cells: str) -> tuple[str, ...]:
    return row(**cells)[1:]


def test_trees_without_tags_get_the_same_ones_in_any_order_even_twins(imported):
    rows = [untagged(), untagged(dbh_cm="44"), untagged(latitude="", longitude="")]
    assert imported(*rows, header=UNTAGGED).counts.imported == 3
    for order in itertools.permutations(rows):
        assert imported(*order, header=UNTAGGED).counts == Counts(3, 0, 0, 3, 0, 0)


def test_a_tree_without_tag_that_grew_is_updated(imported):
    imported(untagged(), header=UNTAGGED)
    assert imported(untagged(dbh_cm="33"), header=UNTAGGED).counts.updated == 1


def test_trees_without_a_position_are_listed_to_be_located(imported):
    imported(row("A1"), row("A2", latitude="", longitude=""))
    assert [tree.tag for tree in Tree.objects.unlocated()] == ["A2"]


def test_a_name_meets_the_palette_without_case_hybrid_sign_and_by_its_other_name(imported):
    plane = SpeciesFactory(botanical="Platanus ×acerifolia", palette=True)
    names = (
        "Platanus x acerifolia",
        "PLATANUS × ACERIFOLIA",
        "Platanus hispanica",
        "Platanus ×acerifolia 'Pyramidalis'",
    )
    imported(*(row(f"A{n}", species=name) for n, name in enumerate(names)))
    assert set(Tree.objects.values_list("species", flat=True)) == {plane.pk}
    assert Tree.objects.get(tag="A3").cultivar == "Pyramidalis"


def test_a_common_name_alone_takes_the_species_that_bears_it(imported):
    maple = SpeciesFactory(botanical="Acer rubrum", common="red maple", palette=True)
    imported(("A1", "Red Maple"), ("A2", "wonder tree"), header=("tag", "common"))
    assert Tree.objects.get(tag="A1").species == maple
    assert Tree.objects.get(tag="A2").species.botanical == "wonder tree"


def test_a_new_name_is_kept_with_its_genus_and_the_common_name_of_the_plain_species(imported):
    header = ("tag", "species", "common")
    rows = [("A1", "Acer platanoides 'Crimson King'", "crimson king maple"), ("A2", "Acer platanoides", "Norway maple")]
    imported(*rows, header=header)
    species = Species.objects.get()
    assert (species.botanical, species.genus, species.common, species.palette) == (
        "Acer platanoides",
        "Acer",
        "Norway maple",
        False,
    )


def test_an_unknown_species_stays_unknown(imported):
    imported(row(species="Unknown"))
    assert Tree.objects.get(tag="A1").species is None


# ---------------------------------------------------------------- parks

SQUARE = {
    "type": "Polygon",
    "coordinates": [[[-40.3, 45.3], [-40.1, 45.3], [-40.1, 45.5], [-40.3, 45.5], [-40.3, 45.3]]],
}


@pytest.mark.parametrize("text", ["ROP", "rop", "Ropewalk Green", "ROPEWALK GREEN"])
def test_a_park_is_known_by_code_or_name(imported, text):
    park = ParkFactory(code="ROP", name="Ropewalk Green")
    imported(row(park=text))
    assert Tree.objects.get(tag="A1").park == park


def test_a_new_park_gets_a_code_of_its_name(imported):
    assert imported(row(park="Staten Island"), row("A2", park="Jardin d'Été")).parks_made == (
        "JARDIN-DETE",
        "STATEN",
    )


def test_without_a_park_column_a_boundary_places_the_tree(imported):
    park = ParkFactory(boundary=SQUARE)
    imported(row("A1", park=""), row("A2", park="", latitude="46"), row("A3", park="", latitude="", longitude=""))
    assert Tree.objects.get(tag="A1").park == park
    assert {tree.park.name for tree in Tree.objects.exclude(tag="A1")} == {"Fallback"}


def test_rows_that_belong_nowhere_go_to_one_park_and_it_is_said(imported):
    outcome = imported(row(park=""))
    assert "Rows that belong to no other park go to FALLBACK: 1." in outcome.notices


def test_a_row_without_a_park_stays_in_the_park_it_is_in(imported):
    imported(row())
    outcome = imported(row(park="", dbh_cm="31"))
    assert Tree.objects.get(tag="A1").park.name == "Ropewalk"
    assert outcome.parks_made == ()


def test_a_park_given_for_the_file_outweighs_its_column(imported):
    imported(row(), park="DOCK")
    assert Tree.objects.get(tag="A1").park.code == "DOCK"


def test_a_column_of_thousands_of_new_names_is_none_of_parks(imported, monkeypatch):
    monkeypatch.setattr(parks, "NEW_PARKS_MAX", 2)
    with pytest.raises(FileProblem, match="choose another column"):
        imported(*(row(f"A{n}", park=f"Park {n}") for n in range(3)))
    assert not Tree.objects.exists()
    imported.run.refresh_from_db()
    assert imported.run.state == RunState.FAILED
    assert "choose another column" in imported.run.message


@pytest.mark.parametrize(
    ("name", "taken", "code"),
    [
        ("Queens", (), "QUEENS"),
        ("Staten Island", (), "STATEN"),
        ("Van Cortlandt Park", (), "VAN-COR-PAR"),
        ("Elm", (), "ELM"),
        ("Gartenstadtpromenade", (), "GARTENSTADTP"),
        ("Queens", ("QUEENS",), "QUEENS2"),
        ("St. Mary's", (), "ST-MARYS"),
        ("公園", (), "PARK"),
        ("A b c d e f g h i j k", (), "A-B-C-D-E-F"),
    ],
)
def test_codes_of_parks(name, taken, code):
    assert parks.code_of(name, taken) == code


@given(names=st.lists(st.text(min_size=1, max_size=60), max_size=20))
def test_a_code_always_has_the_form_the_database_asks_for(names):
    taken: set[str] = set()
    for name in names:
        code = parks.code_of(name, taken)
        assert code not in taken
        assert len(code) <= 12
        assert code.isascii()
        assert code[0].isalnum()
        assert all(sign.isdigit() or sign.isupper() or sign == "-" for sign in code)
        taken.add(code)


# ---------------------------------------------------------------- runs


def test_a_dry_run_keeps_nothing(tmp_path):
    path = tmp_path / "trees.csv"
    path.write_text("tag,dbh_cm\nA1,30\nA2,900\n")
    source = Source.of(path)
    plan, _ = run.plan_for(source, fallback="Fallback")
    outcome, refusals = run.rehearse(by=COMMAND, file_name="trees.csv", source=source, plan=plan)
    assert outcome.counts == Counts(2, 1, 0, 0, 0, 1)
    assert [refusal.row for refusal in refusals] == [3]
    kept = (Tree, Park, Species, ImportRun, RecordEntry)
    assert not any(model.objects.exists() for model in kept)


def test_an_import_stopped_on_its_way_takes_nothing_in(imported):
    def stop(done: int, total: int) -> None:
        assert workflow.cancel(by=COMMAND, run=ImportRun.objects.get())

    with pytest.raises(Cancelled):
        imported(row(), progress=stop)
    assert not Tree.objects.exists()
    assert ImportRun.objects.get().state == RunState.CANCELLED


def test_a_run_that_has_ended_is_not_stopped(imported):
    imported(row())
    assert not workflow.cancel(by=COMMAND, run=imported.run)


def test_a_confirmed_mapping_is_remembered_by_the_header(tmp_path):
    path = tmp_path / "trees.csv"
    path.write_text("number,thickness\nA1,30\n")
    source = Source.of(path)
    mapping = run.completed(source, {"columns": {"tag": "number", "dbh": "thickness"}, "units": {"dbh": "mm"}})
    workflow.remember(by=COMMAND, header=source.table.header, mapping=mapping)
    path.write_text("THICKNESS,NUMBER\n30,A1\n")
    plan, assumed = run.plan_for(Source.of(path), fallback="Fallback")
    assert isinstance(plan, Plan)
    assert plan.mapping.units == {"dbh": "mm"}
    assert assumed == ("The columns are read as they were confirmed for an earlier file.",)


def test_a_remembered_mapping_that_fits_no_longer_is_guessed_anew(tmp_path):
    path = tmp_path / "trees.csv"
    path.write_text("tag,dbh_cm\nA1,30\n")
    source = Source.of(path)
    key = header_key(source.table.header)
    ColumnMapping.objects.create(header_key=key, header=["tag", "dbh_cm"], mapping={"columns": {"colour": "tag"}})
    assert run.plan_for(source, fallback="Fallback")[0].mapping.columns == {"tag": "tag", "dbh": "dbh_cm"}


def test_a_dry_run_does_not_wait_long_for_another_import(tmp_path, monkeypatch):
    monkeypatch.setattr(run, "REHEARSAL_WAIT_MS", 50)
    path = tmp_path / "trees.csv"
    path.write_text("tag,dbh_cm\nA1,30\n")
    source = Source.of(path)
    plan, _ = run.plan_for(source, fallback="Fallback")
    other = connection.copy()
    try:
        with other.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_lock(7012001)")
        with pytest.raises(Busy, match="try again in a minute"):
            run.rehearse(by=COMMAND, file_name="trees.csv", source=source, plan=plan)
    finally:
        other.close()


STATES = st.sampled_from(["Alive", "Dead", "Stump", "Vacant site", "Removed", "", "purple"])
SOME_ROWS = st.lists(
    st.builds(
        row,
        st.sampled_from(["A1", "A2", "A3", "A4", ""]),
        status=STATES,
        dbh_cm=st.sampled_from(["30", "0", "", "20-30", "900"]),
        latitude=st.sampled_from(["45.4", "45.5", "", "145"]),
        species=st.sampled_from(["Acer rubrum", "Acer", "", "Stump"]),
    ),
    min_size=1,
    max_size=8,
)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(first=SOME_ROWS, second=SOME_ROWS)
def test_every_row_of_any_file_is_accounted_for_and_a_second_time_changes_nothing(imported, first, second):
    with transaction.atomic():
        for rows in (first, second):
            counts = imported(*rows).counts
            assert counts.rows == len(rows)
            assert counts.imported + counts.updated + counts.unchanged + counts.sites + counts.refused == len(rows)
            assert len(imported.refusals) == counts.refused
        trees = list(Tree.objects.order_by("pk").values())
        again = imported(*second).counts
        assert (again.imported, again.updated) == (0, 0)
        assert list(Tree.objects.order_by("pk").values()) == trees
        transaction.set_rollback(True)
