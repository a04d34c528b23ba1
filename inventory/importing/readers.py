"""A city's file, whatever its format, as a header and a stream of rows of text.

Row numbers are those a spreadsheet shows: the header is row 1, a quoted line break does not start a new row, blank lines
count. Features of GeoJSON have no header: the first feature is row 1.

Memory stays flat for CSV and GeoJSON; a workbook's sheet is held by the library that reads it (at most 1,048,576 rows).
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import islice
from pathlib import Path

from inventory.importing import delimited, features, workbooks
from inventory.importing.source import FileProblem, SourceRow

CHUNK_ROWS = 5_000
SAMPLE_ROWS = 4_000
_HEAD_BYTES = 4_096


class Kind(StrEnum):
    CSV = "CSV"
    WORKBOOK = "workbook"
    GEOJSON = "GeoJSON"


@dataclass(frozen=True)
class Table:
    """A file that was opened once and can be read: ``dialect`` only for CSV."""

    path: Path
    kind: Kind
    header: tuple[str, ...]
    dialect: delimited.Dialect | None = None


@dataclass(frozen=True)
class Survey:
    """What one pass over a file finds: how many rows, and rows from all of it, evenly spread, for the guesses."""

    rows: int
    sample: tuple[SourceRow, ...]


def open_table(path: Path) -> Table:
    """The table in a file; its format is known by its content, not by its name.

    Raises FileProblem with one sentence for the reader.
    """
    if not path.is_file():
        raise FileProblem(f"There is no file {path.name}.")
    kind = _kind(path)
    dialect = delimited.dialect_of(path) if kind is Kind.CSV else None
    if kind is Kind.GEOJSON:
        return Table(path, kind, features.header(path))
    top = list(islice(_numbered(path, kind, dialect), 2))
    if not top:
        raise FileProblem("The file is empty.")
    _refuse_title(*top)
    return Table(path, kind, _header(top[0].values), dialect)


def rows(table: Table) -> Iterator[SourceRow]:
    """Every row of the file; one that does not fit the header carries its ``problem``."""
    if table.kind is Kind.GEOJSON:
        yield from features.rows(table.path, table.header)
        return
    width = len(table.header)
    for row in islice(_numbered(table.path, table.kind, table.dialect), 1, None):
        yield row if len(row.values) == width else _fitted(row, width)


def chunks(table: Table, size: int = CHUNK_ROWS, first: int | None = None) -> Iterator[list[SourceRow]]:
    """All rows, or the ``first`` ones."""
    stream = islice(rows(table), first)
    while chunk := list(islice(stream, size)):
        yield chunk


def survey(table: Table, limit: int = SAMPLE_ROWS, first: int | None = None) -> Survey:
    """Counts the rows and keeps between ``limit`` and twice as many (or all there are), evenly spread over the file.

    With ``first``, of that many rows at the top only. Raises FileProblem when the file has column names but nothing under them.
    """
    found = _evenly(islice(rows(table), first), limit)
    if not found.rows:
        raise FileProblem("The file has column names but no rows under them.")
    return found


def _evenly(stream: Iterable[SourceRow], limit: int) -> Survey:
    kept: list[SourceRow] = []
    step, count = 1, 0
    for count, row in enumerate(stream, start=1):
        if (count - 1) % step == 0:
            kept.append(row)
            if len(kept) > 2 * limit:
                kept, step = kept[::2], step * 2
    return Survey(count, tuple(kept))


def _kind(path: Path) -> Kind:
    with path.open("rb") as file:
        head = file.read(_HEAD_BYTES)
    if not head.strip():
        raise FileProblem("The file is empty.")
    if workbooks.is_workbook(head):
        return Kind.WORKBOOK
    if head.removeprefix(b"\xef\xbb\xbf").lstrip()[:1] in (b"{", b"["):
        return Kind.GEOJSON
    if head.lstrip().startswith((b"<", b"%PDF-")) or delimited.is_binary(head):
        raise FileProblem("The file is not a table: send CSV, XLSX or GeoJSON.")
    return Kind.CSV


def _numbered(path: Path, kind: Kind, dialect: delimited.Dialect | None) -> Iterator[SourceRow]:
    """The rows with the header as the first of them."""
    return workbooks.rows(path) if dialect is None else delimited.rows(path, dialect)


def _header(cells: tuple[str, ...]) -> tuple[str, ...]:
    names = [" ".join(cell.split()) for cell in cells]
    filled = [name for name in names if name]
    if not filled:
        raise FileProblem("The first row has no column names: put a header row on top.")
    if sum(_is_value(name) for name in filled) * 2 > len(filled):
        raise FileProblem(
            f"The first row looks like data ({', '.join(filled[:4])}), not like column names: add a header row."
        )
    _refuse_twins(names)
    return tuple(name or f"column {place}" for place, name in enumerate(names, start=1))


def _refuse_title(first: SourceRow, second: SourceRow | None = None) -> None:
    filled = sum(map(bool, first.values))
    if second and filled == 1 and sum(map(bool, second.values)) > 2:
        title = next(filter(None, first.values))
        raise FileProblem(f"The first row holds only “{title}”: delete what stands above the column names.")


def _is_value(name: str) -> bool:
    """A number or a date with its separators: what no header is made of."""
    bare = name.translate(str.maketrans("", "", ".,-+/: "))
    return bare.isdigit()


def _refuse_twins(names: list[str]) -> None:
    seen: dict[str, int] = {}
    for place, name in enumerate(names, start=1):
        if name and name in seen:
            raise FileProblem(
                f"Columns {seen[name]} and {place} are both called “{name}”: give each column its own name."
            )
        seen[name] = place


def _fitted(row: SourceRow, width: int) -> SourceRow:
    """A row cut or filled to the header's width; it has a problem when that hides or misses something."""
    if row.problem:
        return SourceRow(row.number, (row.values + ("",) * width)[:width], row.problem)
    if len(row.values) > width and not any(row.values[width:]):
        return SourceRow(row.number, row.values[:width])
    problem = f"the row has {len(row.values)} cells where the header has {width}"
    return SourceRow(row.number, (row.values + ("",) * width)[:width], problem)
