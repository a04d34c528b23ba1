"""One source row and a mapping: a tree, a place for one, or a refusal with column, value and reason."""

import datetime as dt
import math
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.importing.mapping import Mapping, Role
from inventory.importing.names import Name
from inventory.importing.positions import Centre
from inventory.importing.rows import PlaceRow, Refusal, Row, RowReader, TreeRow
from inventory.importing.source import SourceRow
from inventory.importing.values import DateOrder, Planted, Size, Status

TODAY = dt.date(2026, 6, 1)
BASE = {Role.TAG: "A1", Role.BOTANICAL: "Acer rubrum", Role.LATITUDE: "40.72", Role.LONGITUDE: "-73.84"}


def read_all(rows: Sequence[dict[Role, str]], middle: Centre | None = None, **options) -> list[Row]:
    roles = list(dict.fromkeys(role for row in rows for role in row))
    mapping = Mapping({role: f"the {role} column" for role in roles}, **options)
    source = [SourceRow(n, tuple(row.get(role, "") for role in roles)) for n, row in enumerate(rows, start=2)]
    return RowReader(list(mapping.columns.values()), mapping, latest=TODAY, middle=middle).read(source)


def read(cells: dict[Role, str], **options) -> Row:
    (found,) = read_all([cells], **options)
    return found


def tree(cells: dict[Role, str], **options) -> TreeRow:
    found = read({**BASE, **cells}, **options)
    assert isinstance(found, TreeRow), found
    return found


def place(cells: dict[Role, str], **options) -> PlaceRow:
    found = read({**BASE, **cells}, **options)
    assert isinstance(found, PlaceRow), found
    return found


def refusal(cells: dict[Role, str], **options) -> Refusal:
    found = read({**BASE, **cells}, **options)
    assert isinstance(found, Refusal), found
    return found


def test_a_tree_with_everything():
    found = tree(
        {
            Role.PARK: "Ropewalk  Green",
            Role.COMMON: "red maple",
            Role.DBH: "14",
            Role.HEIGHT: "40",
            Role.SPREAD: "30",
            Role.PLANTED: "10/14/1998",
            Role.STATUS: "Alive",
            Role.CONDITION: "Good",
            Role.NOTE: "leans",
        },
        units={Role.DBH: "in", Role.HEIGHT: "ft", Role.SPREAD: "ft"},
        date_order=DateOrder.MDY,
    )
    assert found == TreeRow(
        row=2,
        tag="A1",
        tag_made=False,
        park="Ropewalk Green",
        name=Name("Acer rubrum", "", "red maple"),
        position=(-73.84, 40.72),
        dead=False,
        condition="good",
        size=Size(pytest.approx(35.56)),
        height_m=pytest.approx(12.192),
        crown_spread_m=pytest.approx(9.144),
        planted=Planted(dt.date(1998, 10, 14), "day"),
        note="leans",
    )


@pytest.mark.parametrize("word", ["Stump", "Vacant site", "Removed"])
@pytest.mark.parametrize("role", [Role.STATUS, Role.TYPE, Role.BOTANICAL, Role.COMMON])
def test_stumps_vacant_sites_and_removed_trees_are_places_in_whichever_column_it_is_said(role, word):
    assert place({role: word}).is_stump is (word == "Stump")


def test_a_stump_keeps_its_diameter():
    assert (
        place({Role.STATUS: "Stump", Role.DBH: "0", Role.STUMP: "20"}, units={Role.STUMP: "in"}).stump_diameter_cm
        == 50.8
    )


def test_a_living_type_does_not_hide_a_vacant_status():
    assert isinstance(read({**BASE, Role.TYPE: "Tree", Role.STATUS: "Vacant"}), PlaceRow)


def test_a_dead_tree_stands():
    found = tree({Role.STATUS: "Dead", Role.BOTANICAL: ""})
    assert found.dead
    assert found.condition == "dead"
    assert found.name is None


def test_a_tree_whose_condition_is_dead_is_dead():
    assert tree({Role.STATUS: "Alive", Role.CONDITION: "Dead"}).dead


def test_a_file_may_have_its_own_words():
    assert tree({Role.STATUS: "D"}, status_words={"D": Status.DEAD}).dead


def test_a_tree_without_a_position_is_kept():
    assert tree({Role.LATITUDE: "", Role.LONGITUDE: "NA"}).position is None


def test_zero_zero_is_no_position_and_said():
    found = tree({Role.LATITUDE: "0", Role.LONGITUDE: "0.0"})
    assert found.position is None
    assert "to be located" in found.remarks[0]


def test_zero_diameter_is_unknown():
    assert tree({Role.DBH: "0"}).size == Size(None)


def test_girth_becomes_a_diameter():
    assert tree({Role.GIRTH: "314.16"}).size.cm == pytest.approx(100, abs=0.01)


def test_a_measured_diameter_outweighs_a_class():
    assert tree({Role.DBH: "14", Role.SIZE_CLASS: "10-20"}).size == Size(pytest.approx(14))


def test_a_class_stands_in_for_a_missing_diameter():
    assert tree({Role.DBH: "0", Role.SIZE_CLASS: "10-20 cm"}).size == Size(
        pytest.approx(15), estimated=True, as_given="10-20 cm"
    )


def test_a_doubled_column_of_diameters_is_mended_and_then_agrees_with_the_girth():
    assert tree({Role.DBH: "80", Role.GIRTH: "126"}, diameter_factor=0.5).size.cm == pytest.approx(40)


def test_genus_and_second_word_and_cultivar_in_columns_of_their_own():
    found = tree({Role.BOTANICAL: "", Role.GENUS: "Acer", Role.EPITHET: "platanoides", Role.CULTIVAR: "'Crimson King'"})
    assert found.name == Name("Acer platanoides", "Crimson King")


def test_a_year_alone_is_a_date_to_the_year():
    assert tree({Role.PLANTED: "", Role.PLANTED_YEAR: "1998"}).planted == Planted(dt.date(1998, 1, 1), "year")


def test_date_and_year_that_contradict_each_other_leave_the_planting_open():
    found = tree({Role.PLANTED: "2/01/2000", Role.PLANTED_YEAR: "1900"})
    assert found.planted is None
    assert "contradict" in found.remarks[0]


def test_a_tag_that_passed_through_floating_point_is_mended():
    assert tree({Role.TAG: "180683.0"}).tag == "180683"


@pytest.mark.parametrize(
    ("cells", "column", "words"),
    [
        ({Role.DBH: "600"}, Role.DBH, "beyond any tree (500 cm)"),
        ({Role.DBH: "thick"}, Role.DBH, "write for example"),
        ({Role.DBH: "-4"}, Role.DBH, "below zero"),
        ({Role.HEIGHT: "121"}, Role.HEIGHT, "beyond any tree (120 m)"),
        ({Role.SPREAD: "61"}, Role.SPREAD, "beyond any tree (60 m)"),
        ({Role.LATITUDE: "140.72"}, Role.LATITUDE, "outside -90 to 90"),
        ({Role.LONGITUDE: "-190"}, Role.LATITUDE, "outside -180 to 180"),
        ({Role.LONGITUDE: ""}, Role.LONGITUDE, "needs both"),
        ({Role.LATITUDE: "north"}, Role.LATITUDE, "write for example"),
        ({Role.STATUS: "purple"}, Role.STATUS, "it can be alive, dead, stump"),
        ({Role.PLANTED: "31/02/2010"}, Role.PLANTED, "not a date"),
        ({Role.PLANTED: "2030-01-01"}, Role.PLANTED, "future"),
        ({Role.PLANTED_YEAR: "20145"}, Role.PLANTED_YEAR, "four digits"),
        ({Role.DBH: "60", Role.GIRTH: "100"}, Role.GIRTH, "girth ÷ π"),
        ({Role.TAG: "x" * 41}, Role.TAG, "it can have 40"),
        ({Role.PARK: "x" * 121}, Role.PARK, "it can have 120"),
        ({Role.BOTANICAL: "Acer " + "x" * 121}, Role.BOTANICAL, "longer than 120"),
    ],
)
def test_what_cannot_be_right_refuses_the_row_with_column_value_and_reason(cells, column, words):
    found = refusal(cells)
    assert found.row == 2
    assert found.column == f"the {column} column"
    assert found.value == {**BASE, **cells}[column]
    assert words in found.reason
    assert found.reason.endswith(".")


@pytest.mark.parametrize(("dbh", "girth"), [("40", "126"), ("1", "5"), ("40", "140"), ("40", "0"), ("0", "126")])
def test_girth_and_diameter_may_differ_by_rounding_and_a_years_growth(dbh, girth):
    assert tree({Role.DBH: dbh, Role.GIRTH: girth}).size.cm


def test_a_row_far_from_the_others_that_fits_when_mended_is_refused():
    assert "swapped" in refusal({Role.LATITUDE: "-73.84", Role.LONGITUDE: "40.72"}, middle=Centre(-73.9, 40.7)).reason


def test_a_row_that_does_not_fit_the_header_is_refused_with_its_cells():
    reader = RowReader(["tag"], Mapping({Role.TAG: "tag"}), latest=TODAY)
    (found,) = reader.read([SourceRow(7, ("A1",), "the row has 2 cells where the header has 1")])
    assert found == Refusal(7, "", "A1", "the row has 2 cells where the header has 1.")


def test_an_empty_row_is_refused():
    assert read({Role.TAG: "", Role.BOTANICAL: ""}) == Refusal(2, "", "", "the row is empty.")


def test_a_row_that_tells_no_tree_from_another_is_refused():
    assert "nothing tells which tree" in read({Role.DBH: "14"}).reason


PROJECTED = {Role.X: "1027431.148", Role.Y: "202756.7687", Role.TAG: "A1"}


def test_projected_positions_come_as_degrees():
    found = read(PROJECTED, epsg=2263)
    assert found.position == (pytest.approx(-73.844215, abs=2e-5), pytest.approx(40.723092, abs=2e-5))


def test_a_projected_position_outside_its_system_is_refused():
    assert "EPSG:2263" in read({**PROJECTED, Role.X: "9e99"}, epsg=2263).reason


def test_projected_rows_keep_their_order_past_one_that_cannot_be_read():
    found = read_all([PROJECTED, {**PROJECTED, Role.X: "east"}, {Role.TAG: "A3"}, PROJECTED], epsg=2263)
    assert [type(row) for row in found] == [TreeRow, Refusal, TreeRow, TreeRow]
    assert found[0].position == found[3].position
    assert found[2].position is None


UNTAGGED = {Role.BOTANICAL: "Acer rubrum", Role.LATITUDE: "40.72", Role.LONGITUDE: "-73.84", Role.DBH: "14"}


def test_a_made_tag_stays_when_the_tree_grows():
    assert read(UNTAGGED).tag == read({**UNTAGGED, Role.DBH: "15"}).tag
    assert read(UNTAGGED).tag_made


@pytest.mark.parametrize("change", [{Role.LATITUDE: "40.73"}, {Role.BOTANICAL: "Tilia cordata"}])
def test_a_made_tag_differs_by_position_and_by_name(change):
    assert read(UNTAGGED).tag != read({**UNTAGGED, **change}).tag


def test_a_made_tag_does_not_depend_on_how_the_numbers_and_the_name_are_written():
    assert read(UNTAGGED).tag == read({**UNTAGGED, Role.LATITUDE: "40.720000", Role.BOTANICAL: "ACER RUBRUM"}).tag


@given(order=st.permutations(range(6)))
def test_made_tags_do_not_depend_on_the_order_of_the_file(order):
    rows = [{**UNTAGGED, Role.LATITUDE: f"40.7{n}"} for n in range(6)]
    tags = [row.tag for row in read_all(rows)]
    assert [row.tag for row in read_all([rows[n] for n in order])] == [tags[n] for n in order]


@given(dbh_cm=st.floats(1, 500), unit=st.sampled_from(["in", "cm", "mm", "m", "ft"]))
def test_a_diameter_written_in_any_unit_is_stored_in_centimetres(dbh_cm, unit):
    per_unit = {"in": 2.54, "cm": 1, "mm": 0.1, "m": 100, "ft": 30.48}[unit]
    found = tree({Role.DBH: f"{dbh_cm / per_unit:.9f}"}, units={Role.DBH: unit})
    assert math.isclose(found.size.cm, dbh_cm, abs_tol=1e-4)


@given(cells=st.lists(st.text(max_size=20), min_size=len(Role), max_size=len(Role)))
def test_any_row_is_a_tree_a_place_or_a_refusal(cells):
    found = read(dict(zip(Role, cells, strict=True)))
    assert isinstance(found, TreeRow | PlaceRow | Refusal)
