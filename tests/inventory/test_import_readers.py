"""Files in every shape come in as the same header and rows, and a broken one as one sentence."""

import csv
import datetime as dt
import io
import json
import tracemalloc
import zipfile
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.importing import readers
from inventory.importing.source import FileProblem

HEADER = ("tag", "species", "dbh")
ROWS = [("A1", "Acer rubrum", "14"), ("A2", "Tilia × europæa", "9"), ("A3", "Quercus robur", "")]


def written(tmp_path: Path, content: str | bytes, name: str = "trees.csv") -> Path:
    path = tmp_path / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def as_csv(delimiter: str = ",", rows=ROWS, header=HEADER) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter).writerows([header, *rows])
    return out.getvalue()


def read(path: Path) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    table = readers.open_table(path)
    return table.header, [row.values for row in readers.rows(table)]


def problem(path: Path) -> str:
    with pytest.raises(FileProblem) as caught:
        readers.survey(readers.open_table(path))
    return str(caught.value)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|", "^", "~", ":"])
def test_any_delimiter(tmp_path, delimiter):
    assert read(written(tmp_path, as_csv(delimiter))) == (HEADER, ROWS)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_unicode_with_and_without_a_byte_order_mark(tmp_path, encoding):
    assert read(written(tmp_path, as_csv().encode(encoding))) == (HEADER, ROWS)


def test_windows_1252(tmp_path):
    text = as_csv(rows=[("A1", "Tilia ×europæa – “Pallida”", "9")])
    assert read(written(tmp_path, text.encode("cp1252")))[1] == [("A1", "Tilia ×europæa – “Pallida”", "9")]


def test_latin_1_where_a_byte_means_nothing_in_windows_1252(tmp_path):
    content = "tag,species\nA1,Ac\xe9r\x81\n".encode("latin-1")
    assert readers.open_table(written(tmp_path, content)).dialect.encoding == "latin-1"


def test_a_sign_outside_ascii_after_a_megabyte_still_decides_the_encoding(tmp_path):
    rows = [(f"A{n}", "Acer rubrum", "14") for n in range(60_000)] + [("Z", "Érable", "1")]
    assert read(written(tmp_path, as_csv(rows=rows).encode("cp1252")))[1][-1] == ("Z", "Érable", "1")


def test_a_separator_line_of_a_spreadsheet_program_is_no_row(tmp_path):
    path = written(tmp_path, "sep=;\n" + as_csv(";"))
    assert read(path) == (HEADER, ROWS)
    assert next(readers.rows(readers.open_table(path))).number == 3


def test_rows_are_numbered_as_a_spreadsheet_shows_them(tmp_path):
    """The header is row 1; a quoted line break starts no row; a blank line counts."""
    path = written(tmp_path, 'tag,note\nA1,"two\nlines"\n\nA2,plain\n')
    rows = list(readers.rows(readers.open_table(path)))
    assert [(row.number, row.values) for row in rows] == [(2, ("A1", "two\nlines")), (4, ("A2", "plain"))]


def test_cells_left_empty_at_the_end_of_a_row_are_no_problem(tmp_path):
    path = written(tmp_path, "tag,dbh\nA1,14,,\n")
    assert [(row.values, row.problem) for row in readers.rows(readers.open_table(path))] == [(("A1", "14"), "")]


@pytest.mark.parametrize(("line", "cells"), [("A1", 1), ("A1,14,oak,park", 4)])
def test_a_row_that_does_not_fit_the_header_says_so(tmp_path, line, cells):
    path = written(tmp_path, f"tag,dbh,name\n{line}\nA2,12,elm\n")
    bad, good = readers.rows(readers.open_table(path))
    assert bad.problem == f"the row has {cells} cells where the header has 3"
    assert len(bad.values) == 3
    assert not good.problem


def test_lines_swallowed_by_an_open_quotation_mark_are_not_taken_for_one_tree(tmp_path):
    path = written(tmp_path, 'tag,dbh,name\nA1,12,elm\nA2,12,"elm\nA3,12,oak\nA4,12,oak\n')
    good, bad = readers.rows(readers.open_table(path))
    assert not good.problem
    assert bad.number == 3
    assert "left open" in bad.problem


def test_a_closed_quotation_with_a_line_break_at_the_end_is_sound(tmp_path):
    path = written(tmp_path, 'tag,note\nA1,"two\nlines"\n')
    assert [row.problem for row in readers.rows(readers.open_table(path))] == [""]


def test_workbook(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    for row in (
        ["tag", "dbh", "planted", "alive"],
        ["A1", 14.0, dt.date(1998, 10, 14), True],
        [None] * 4,
        [7, 14.5, None, False],
    ):
        sheet.append(row)
    book.save(tmp_path / "trees.xlsx")
    rows = list(readers.rows(readers.open_table(tmp_path / "trees.xlsx")))
    assert [(row.number, row.values) for row in rows] == [
        (2, ("A1", "14", "1998-10-14", "yes")),
        (4, ("7", "14.5", "", "no")),
    ]


def test_workbook_that_opens_with_a_title_page(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["Trees of Alderquay"])
    table = book.create_sheet("data")
    table.append(["tag", "dbh"])
    table.append(["A1", 3])
    book.save(tmp_path / "trees.xlsx")
    assert read(tmp_path / "trees.xlsx") == (("tag", "dbh"), [("A1", "3")])


def feature(point=(-73.84, 40.72), **properties):
    geometry = {"type": "Point", "coordinates": list(point)} if point else None
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def collection(*features, **members) -> str:
    return json.dumps({"type": "FeatureCollection", **members, "features": list(features)})


def test_geojson_properties_are_columns_and_the_point_two_more(tmp_path):
    path = written(tmp_path, collection(feature(tag="A1", dbh=14), feature(tag="A2", note="ö")), "trees.geojson")
    header, rows = read(path)
    assert header == ("tag", "dbh", "note", "geometry longitude", "geometry latitude")
    assert rows == [("A1", "14", "", "-73.84", "40.72"), ("A2", "", "ö", "-73.84", "40.72")]


def test_geojson_without_a_geometry_is_a_tree_to_be_located(tmp_path):
    (row,) = readers.rows(readers.open_table(written(tmp_path, collection(feature(None, tag="A1")))))
    assert (row.values, row.problem) == (("A1", "", ""), "")


def test_geojson_of_another_geometry_is_a_refused_row(tmp_path):
    line = {
        "type": "Feature",
        "properties": {"tag": "A1"},
        "geometry": {"type": "LineString", "coordinates": [[0, 0], [1, 1]]},
    }
    (row,) = readers.rows(readers.open_table(written(tmp_path, collection(line))))
    assert row.problem == "the geometry is a LineString, a tree needs a Point"


@pytest.mark.parametrize(
    ("geometry", "words"),
    [
        (5, "not an object"),
        ([1, 2], "not an object"),
        ({"type": "Point", "coordinates": 5}, "two numbers"),
        ({"type": "MultiPoint", "coordinates": [5]}, "two numbers"),
    ],
)
def test_a_damaged_geometry_is_a_refused_row(tmp_path, geometry, words):
    damaged = {"type": "Feature", "properties": {"tag": "A1"}, "geometry": geometry}
    (row,) = readers.rows(readers.open_table(written(tmp_path, collection(damaged))))
    assert words in row.problem


def test_zero_bytes_deep_in_a_table_of_text_are_dropped(tmp_path):
    rows = [(f"A{n}", "Acer rubrum", "14") for n in range(5_000)]
    text = as_csv(rows=[*rows, ("Z", "Acer\0 rubrum", "9")])
    assert read(written(tmp_path, text))[1][-1] == ("Z", "Acer rubrum", "9")


def test_old_geojson_names_its_projection_in_the_heading(tmp_path):
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::2263"}}
    path = written(tmp_path, collection(feature((1027431.1, 202756.8), tag="A1"), crs=crs))
    assert read(path)[0][-2:] == ("geometry x (EPSG:2263)", "geometry y (EPSG:2263)")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"  \n\n ", "empty"),
        (b"tag,dbh\n", "no rows"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00", "not a table"),
        (b"%PDF-1.7 ...", "not a table"),
        (b"<!DOCTYPE html><html>", "not a table"),
        (b"A1,14,40.7\nA2,15,40.8\n", "add a header row"),
        (b"1,14,40.7\n2,15,40.8\n", "looks like data"),
        (b"tag,dbh,tag\n1,2,3\n", "Columns 1 and 3 are both called"),
        (b",,\n1,2,3\n", "no column names"),
        (b"Trees of Alderquay,,\ntag,dbh,name\n1,2,oak\n", "delete what stands above"),
        (b'{"type": "Feature"}', "FeatureCollection"),
        (b'{"type": "FeatureCollection", "features": []}', "no features"),
        (b'{"type": "FeatureCollection", "features": [{"type": "Fea', "breaks off"),
        (b'{"a": ' + b"[" * 100_000, "nested too deeply"),
        (b"PK\x03\x04 no archive", "cannot be read"),
    ],
)
def test_a_broken_file_gets_one_sentence(tmp_path, content, words):
    sentence = problem(written(tmp_path, content))
    assert words in sentence
    assert sentence.endswith(".")


def test_an_archive_that_is_no_workbook(tmp_path):
    with zipfile.ZipFile(tmp_path / "trees.zip", "w") as archive:
        archive.writestr("trees.csv", as_csv())
    assert "not a workbook" in problem(tmp_path / "trees.zip")


def test_a_workbook_that_would_unpack_to_gigabytes_is_not_unpacked(tmp_path, monkeypatch):
    monkeypatch.setattr("inventory.importing.workbooks.UNPACKED_MAX_BYTES", 1_000)
    book = openpyxl.Workbook()
    for n in range(200):
        book.active.append([f"A{n}", n])
    book.save(tmp_path / "trees.xlsx")
    assert "unpacks to more than" in problem(tmp_path / "trees.xlsx")


def test_a_cell_without_end_is_named_by_its_row(tmp_path):
    assert "row 3 is never closed" in problem(written(tmp_path, 'tag,note\nA1,x\nA2,"' + "y,\n" * 60_000))


def test_the_survey_counts_every_row_and_samples_all_of_the_file(tmp_path):
    rows = [(f"A{n}", "oak", str(n)) for n in range(1_000)]
    found = readers.survey(readers.open_table(written(tmp_path, as_csv(rows=rows))), limit=50)
    assert found.rows == 1_000
    assert 50 <= len(found.sample) <= 100
    assert found.sample[-1].number > 900


def test_reading_keeps_memory_flat(tmp_path):
    """A file of 20 MB is read in a few: chunks are let go."""
    path = written(tmp_path, as_csv(rows=[(f"A{n}", "Acer rubrum " * 15, str(n)) for n in range(100_000)]))
    table = readers.open_table(path)
    tracemalloc.start()
    count = sum(len(chunk) for chunk in readers.chunks(table, 1_000))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert count == 100_000
    assert peak < 4_000_000 < path.stat().st_size


def test_geojson_is_read_feature_by_feature(tmp_path):
    path = written(tmp_path, collection(*(feature(tag=f"A{n}", note="long " * 30) for n in range(20_000))))
    table = readers.open_table(path)
    tracemalloc.start()
    count = sum(1 for _ in readers.rows(table))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert count == 20_000
    assert peak < 1_500_000 < path.stat().st_size


CELLS = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zs", "Zl", "Zp")), max_size=12)


@given(
    rows=st.lists(st.tuples(CELLS.filter(bool), CELLS, CELLS), min_size=1, max_size=8),
    delimiter=st.sampled_from(",;\t|"),
)
def test_what_a_csv_writer_writes_is_read_back(tmp_path_factory, rows, delimiter):
    path = written(tmp_path_factory.mktemp("csv"), as_csv(delimiter, rows))
    header, found = read(path)
    assert header == HEADER
    assert found == [tuple(cell.strip() for cell in row) for row in rows]


@given(rows=st.lists(st.tuples(CELLS, st.integers(-999, 999), st.booleans()), min_size=1, max_size=8))
def test_what_a_geojson_writer_writes_is_read_back(tmp_path_factory, rows):
    features = [feature(name=name, number=number, flag=flag) for name, number, flag in rows]
    _, found = read(written(tmp_path_factory.mktemp("json"), collection(*features)))
    assert [row[:3] for row in found] == [(name.strip(), str(n), "yes" if flag else "no") for name, n, flag in rows]
