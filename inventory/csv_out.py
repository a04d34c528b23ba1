"""CSV that a spreadsheet may open: no cell of text can turn into a formula."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from django.http import StreamingHttpResponse

# What makes a spreadsheet compute a cell (OWASP, "CSV injection").
_STARTS_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def safe_cell(value: Any) -> Any:
    """Text that would start a formula gets an apostrophe before it; numbers and dates stay as they are."""
    if value is None:
        return ""
    return f"'{value}" if isinstance(value, str) and value.startswith(_STARTS_FORMULA) else value


class _Echo:
    """A file that hands each line back instead of keeping it."""

    def write(self, line: str) -> str:
        return line


def csv_lines(header: Sequence[str], rows: Iterable[Sequence[Any]]) -> Iterator[str]:
    writer = csv.writer(_Echo())
    # A byte order mark: without it a spreadsheet reads the names as Windows-1252.
    yield "\ufeff" + writer.writerow(header)
    for row in rows:
        yield writer.writerow([safe_cell(cell) for cell in row])


def csv_download(file_name: str, header: Sequence[str], rows: Iterable[Sequence[Any]]) -> StreamingHttpResponse:
    """The rows as a download, sent as they come: memory stays flat however many there are."""
    response = StreamingHttpResponse(csv_lines(header, rows), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{file_name}"'
    return response
