"""Workbooks (XLSX, and what else the library reads: XLS, ODS) as rows of text."""

import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from inventory.importing.source import FileProblem, SourceRow

_ZIP, _OLE = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
# A sheet of a million rows of fifty columns unpacks to about 2 GB; what claims more is not a tree file.
UNPACKED_MAX_BYTES = 2_000_000_000


def is_workbook(head: bytes) -> bool:
    return head.startswith((_ZIP, _OLE))


def rows(path: Path) -> Iterator[SourceRow]:
    """The rows of the first sheet that holds a table, the header first; blank rows are left out but counted."""
    import python_calamine

    _refuse_bomb(path)
    try:
        with python_calamine.CalamineWorkbook.from_path(path) as book:
            yield from _sheet_rows(_table_sheet(book))
    except python_calamine.PasswordError as error:
        raise FileProblem("The workbook is locked with a password: save it without one.") from error
    except python_calamine.CalamineError as error:
        raise FileProblem(f"The workbook cannot be read ({error}): save it again as XLSX or CSV.") from error


def text(value: Any) -> str:
    """A cell as a person would type it: whole numbers without a point, dates as ISO 8601."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat(sep=" ")
    if isinstance(value, date):
        return value.isoformat()
    return str(value).replace("\0", "").strip()


def _table_sheet(book: Any) -> Any:
    """The first sheet of two rows and two columns or more (a title page has less), else the first that is not empty."""
    sheets = [book.get_sheet_by_name(name) for name in book.sheet_names]
    filled = [sheet for sheet in sheets if sheet.height]
    if not filled:
        raise FileProblem("The workbook has no sheet with anything in it.")
    return next((sheet for sheet in filled if sheet.height > 1 and sheet.width > 1), filled[0])


def _sheet_rows(sheet: Any) -> Iterator[SourceRow]:
    first = sheet.start[0] + 1
    for number, cells in enumerate(sheet.iter_rows(), start=first):
        values = tuple(map(text, cells))
        if any(values):
            yield SourceRow(number, values)


def _refuse_bomb(path: Path) -> None:
    if not zipfile.is_zipfile(path):
        return
    with zipfile.ZipFile(path) as archive:
        members = archive.infolist()
    if sum(member.file_size for member in members) > UNPACKED_MAX_BYTES:
        raise FileProblem("The workbook unpacks to more than 2 GB: send it as CSV.")
    if not any(member.filename in {"xl/workbook.xml", "xl/workbook.bin", "content.xml"} for member in members):
        raise FileProblem("The file is an archive, not a workbook: unpack it and send the table inside.")
