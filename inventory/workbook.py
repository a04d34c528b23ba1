"""A table as a workbook that a spreadsheet may open: text stays text, days are days."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from typing import Any

Columns = dict[str, str]
WIDTH = 16
# Nothing that people wrote may turn into a formula, a link or a number.
OPTIONS = {
    "constant_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    "default_date_format": "yyyy-mm-dd",
}


def workbook(title: str, header: Sequence[str], rows: Iterable[Sequence[Any]]) -> io.BytesIO:
    """One sheet with a head that stays in sight, read from its start. The rows go to disk as they come."""
    # Loaded here: only a download needs it.
    import xlsxwriter

    file = io.BytesIO()
    with xlsxwriter.Workbook(file, OPTIONS) as book:
        sheet = book.add_worksheet(title)
        sheet.freeze_panes(1, 0)
        sheet.set_column(0, len(header) - 1, WIDTH)
        sheet.write_row(0, 0, header, book.add_format({"bold": True}))
        for number, row in enumerate(rows, start=1):
            sheet.write_row(number, 0, row)
    file.seek(0)
    return file
