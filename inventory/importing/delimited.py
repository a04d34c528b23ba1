"""Tables of text: which encoding, which delimiter, and the rows."""

import codecs
import csv
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from io import StringIO
from itertools import islice
from pathlib import Path
from typing import TextIO

from inventory.importing.source import FileProblem, SourceRow

# The order is the order of preference when two would fit. A colon comes last: times of day are full of them.
DELIMITERS = (",", ";", "\t", "|", "^", "~", "¦", "\x1f", ":")
_BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
_PROBE_ROWS, _PROBE_CHARS = 60, 200_000
_BLOCK_BYTES = 1 << 20


@dataclass(frozen=True)
class Dialect:
    encoding: str
    delimiter: str
    # Spreadsheet programs may write a first line "sep=;" that is no row of the table.
    has_separator_line: bool = False


def is_binary(head: bytes) -> bool:
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return False
    return b"\x00" in head or sum(byte < 9 or 13 < byte < 32 for byte in head) * 50 > len(head)


def dialect_of(path: Path) -> Dialect:
    encoding = encoding_of(path)
    with path.open(encoding=encoding, newline="") as file:
        lines = list(islice(StringIO(file.read(_PROBE_CHARS), newline=""), _PROBE_ROWS))
    separator = _separator_line(lines[0]) if lines else None
    if separator:
        return Dialect(encoding, separator, has_separator_line=True)
    return Dialect(encoding, _delimiter_of(lines))


def encoding_of(path: Path) -> str:
    """UTF-8 when the whole file is; else Windows-1252, or Latin-1 when a byte has no meaning there."""
    with path.open("rb") as file:
        head = file.read(4)
    for mark, name in _BOMS:
        if head.startswith(mark):
            return name
    return next(name for name in ("utf-8", "cp1252", "latin-1") if _decodes(path, name))


def _decodes(path: Path, encoding: str) -> bool:
    decoder = codecs.getincrementaldecoder(encoding)()
    try:
        with path.open("rb") as file:
            while block := file.read(_BLOCK_BYTES):
                decoder.decode(block)
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True


def _separator_line(line: str) -> str | None:
    text = line.strip("\r\n").strip('"')
    return text[4] if len(text) == 5 and text.lower().startswith("sep=") else None


def _delimiter_of(lines: list[str]) -> str:
    """The delimiter that cuts the most rows into as many cells as the header."""
    best, best_score = DELIMITERS[0], (0.0, 0)
    for delimiter in DELIMITERS:
        widths = _widths(lines, delimiter)
        if widths and widths[0] > 1:
            score = (round(Counter(widths)[widths[0]] / len(widths), 1), widths[0])
            if score > best_score:
                best, best_score = delimiter, score
    return best


def _widths(lines: list[str], delimiter: str) -> list[int]:
    try:
        return [len(row) for row in csv.reader(lines, delimiter=delimiter) if row]
    except csv.Error:
        return []


def rows(path: Path, dialect: Dialect) -> Iterator[SourceRow]:
    """Every row that is not a blank line, the header first (after the blank lines above it)."""
    with path.open(encoding=dialect.encoding, newline="") as file:
        if dialect.has_separator_line:
            next(file)
        lines = _Lines(file)
        number, last = int(dialect.has_separator_line), None
        try:
            for cells in csv.reader(lines, delimiter=dialect.delimiter):
                number += 1
                if last is not None:
                    yield last
                last = SourceRow(number, tuple([cell.strip() for cell in cells])) if cells else None
        except csv.Error as error:
            raise FileProblem(_why(error, number)) from error
        if last is not None:
            yield last if not lines.quote_is_open else _swallowing(last)


class _Lines:
    """The lines of a file, with an eye on whether the last quoted cell was ever closed."""

    def __init__(self, file: TextIO) -> None:
        self._file, self.quote_is_open = file, False

    def __iter__(self) -> Iterator[str]:
        for line in self._file:
            # A database keeps no zero bytes; they come with files cut from a fixed-width export.
            line = line.replace("\0", "")
            if line.count('"') % 2:
                self.quote_is_open = not self.quote_is_open
            yield line


def _swallowing(row: SourceRow) -> SourceRow:
    """The last row, when it runs to the end of the file inside an open quotation mark."""
    if not any("\n" in cell for cell in row.values):
        return row
    return SourceRow(row.number, row.values, "a quotation mark is left open: all lines below read as one cell")


def _why(error: csv.Error, last_row: int) -> str:
    if "field larger" in str(error):
        return f"A quotation mark opened in row {last_row + 1} is never closed: the rest of the file reads as one cell."
    return f"Row {last_row + 1} cannot be read as text: {error}."
