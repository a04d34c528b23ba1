"""Rows on their way in: a temporary table of the connection, filled by COPY, judged and merged by the database."""

import hashlib
from collections.abc import Iterable, Sequence
from typing import Any

from django.db import connection

from inventory.cells import cell
from inventory.importing.names import Name
from inventory.importing.rows import PlaceRow, Refusal, Row, TreeRow
from inventory.models import PlaceKind, TreeStatus

_ROW_COLUMNS = {
    "row": "integer PRIMARY KEY",
    "is_tree": "boolean",
    "kind": "text",
    "tag": "text",
    "tag_made": "boolean",
    "park": "text",
    "taxon": "text",
    "botanical": "text",
    "genus": "text",
    "cultivar": "text",
    "common": "text",
    "lon": "double precision",
    "lat": "double precision",
    "cell": "bigint",
    "condition": "text",
    "dbh_cm": "double precision",
    "dbh_estimated": "boolean",
    "size_as_given": "text",
    "stems_cm": "double precision[]",
    "height_m": "double precision",
    "crown_spread_m": "double precision",
    "planted_on": "date",
    "planted_precision": "text",
    "note": "text",
    "said": "text",
    "digest": "text",
}
_TABLES = {
    "import_row": _ROW_COLUMNS,
    "import_refusal": {"row": "integer", '"column"': "text", "value": "text", "reason": "text"},
    "import_park": {"name": "text PRIMARY KEY", "park_id": "bigint"},
    "import_taxon": {"key": "text PRIMARY KEY", "species_id": "bigint"},
}


def open_tables() -> None:
    """Empty tables that only this connection sees; they live until ``close_tables``."""
    close_tables()
    with connection.cursor() as cursor:
        for table, columns in _TABLES.items():
            cursor.execute(f"CREATE TEMPORARY TABLE {table} ({', '.join(map(' '.join, columns.items()))})")


def close_tables() -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TABLE IF EXISTS {', '.join(f'pg_temp.{table}' for table in _TABLES)}")


def copy_in(rows: Iterable[Row]) -> None:
    """One chunk of read rows into the tables."""
    refused: list[Sequence[Any]] = []
    taken: list[Sequence[Any]] = []
    for row in rows:
        if isinstance(row, Refusal):
            refused.append((row.row, row.column, row.value, row.reason))
        else:
            taken.append(_tree(row) if isinstance(row, TreeRow) else _place(row))
    copy_to("import_row", taken)
    copy_to("import_refusal", refused)


def copy_to(table: str, rows: Iterable[Sequence[Any]]) -> None:
    with connection.cursor() as cursor, cursor.copy(f"COPY {table} ({', '.join(_TABLES[table])}) FROM STDIN") as copy:
        for row in rows:
            copy.write_row(row)


def analyze() -> None:
    """The planner knows nothing of a temporary table until it is told."""
    with connection.cursor() as cursor:
        cursor.execute(f"ANALYZE {', '.join(_TABLES)}")


def _tree(row: TreeRow) -> Sequence[Any]:
    name, planted, size = row.name or Name(), row.planted, row.size
    facts = {
        "taxon": name.key or None,
        "botanical": name.botanical,
        "genus": name.genus,
        "cultivar": name.cultivar,
        "common": name.common,
        "condition": row.condition,
        "dbh_cm": size.cm,
        "dbh_estimated": size.estimated,
        "size_as_given": size.as_given,
        "stems_cm": list(size.stems_cm),
        "height_m": row.height_m,
        "crown_spread_m": row.crown_spread_m,
        "planted_on": planted.on if planted else None,
        "planted_precision": planted.precision if planted else "",
    }
    return _staged(row, TreeStatus.DEAD_STANDING if row.dead else TreeStatus.STANDING, facts)


def _place(row: PlaceRow) -> Sequence[Any]:
    facts = {"dbh_cm": row.stump_diameter_cm, "said": row.said}
    return _staged(row, PlaceKind.STUMP if row.is_stump else PlaceKind.VACANT, facts)


def _staged(row: TreeRow | PlaceRow, kind: str, facts: dict[str, Any]) -> Sequence[Any]:
    """A row in the order of the table's columns, with a digest of what it says whatever its number and tag."""
    lon, lat = row.position or (None, None)
    facts |= {"kind": str(kind), "park": row.park, "lon": lon, "lat": lat, "note": row.note}
    digest = hashlib.md5(repr(list(facts.values())).encode(), usedforsecurity=False).hexdigest()
    staged = facts | {
        "row": row.row,
        "is_tree": isinstance(row, TreeRow),
        "tag": row.tag,
        "tag_made": row.tag_made,
        "cell": None if lon is None or lat is None else cell(lon, lat),
        "digest": digest,
    }
    return [staged.get(column) for column in _ROW_COLUMNS]
