"""Staged rows become the inventory, in the database, in one transaction that the caller opens.

What a file says counts where it says something: an empty cell leaves what is known; a class does not replace a measured
diameter, nor a genus alone the species; the same said again as at the last import changes nothing, even where a person
corrected the tree here since. Whether a tree stands is not a file's to say once it is in the inventory: that it fell is
recorded through its removal order, that it lives again through an inspection. That it died is taken from the file.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db import OperationalError, connection

from inventory.importing import parks, staging, taxa
from inventory.importing.taxa import Named
from inventory.models import Park


@dataclass(frozen=True)
class Counts:
    """``rows`` is the sum of the others; ``sites`` are the rows that are stumps or vacant sites, new or not."""

    rows: int
    imported: int
    updated: int
    unchanged: int
    sites: int
    refused: int


@dataclass(frozen=True)
class Merged:
    counts: Counts
    parks_made: tuple[str, ...]
    taxa_made: tuple[str, ...]
    in_fallback: int
    fallback: str


_NUMBER_TWINS = """
UPDATE import_row r SET tag = r.tag || '-' || twin.place
FROM (SELECT row, row_number() OVER (PARTITION BY tag ORDER BY digest, row) AS place FROM import_row WHERE tag_made) twin
WHERE twin.row = r.row AND twin.place > 1
"""

_REFUSE_TWINS = """
WITH twins AS (SELECT row, tag, first_value(row) OVER (PARTITION BY tag ORDER BY row) AS first FROM import_row),
gone AS (DELETE FROM import_row r USING twins WHERE twins.row = r.row AND twins.first < r.row RETURNING r.row, r.tag, twins.first)
INSERT INTO import_refusal
SELECT row, %(tag_column)s, tag, 'the tag stands in row ' || first || ' already: give each tree its own.' FROM gone
"""

# A standing tree that the file calls gone, and a removed one that it calls standing.
_REFUSE_GONE = """
WITH gone AS (
    DELETE FROM import_row r USING inventory_tree t
    WHERE t.tag = r.tag AND NOT r.is_tree AND t.status <> 'removed'
    RETURNING r.row, r.said, r.kind
)
INSERT INTO import_refusal
SELECT row, %(status_column)s, COALESCE(NULLIF(said, ''), kind),
       'the tree stands in this inventory: record its removal through a removal order, which also opens its replacement.'
FROM gone
"""
_REFUSE_RISEN = """
WITH risen AS (
    DELETE FROM import_row r USING inventory_tree t
    WHERE t.tag = r.tag AND r.is_tree AND t.status = 'removed'
    RETURNING r.row, r.tag, t.removed_on
)
INSERT INTO import_refusal
SELECT row, %(tag_column)s, tag,
       'the tree was removed on ' || removed_on || ': a tree that stands there now needs a tag of its own.'
FROM risen
"""

_MERGE_PLACES = """
INSERT INTO inventory_plantingplace AS o (tag, park_id, kind, lon, lat, stump_diameter_cm, note)
SELECT r.tag, COALESCE(p.park_id, k.park_id, %(default_park)s), r.kind, COALESCE(r.lon, k.lon), COALESCE(r.lat, k.lat),
       CASE WHEN r.kind = 'stump' THEN COALESCE(r.dbh_cm, k.stump_diameter_cm) END, COALESCE(NULLIF(r.note, ''), k.note, '')
FROM import_row r
LEFT JOIN import_park p ON p.name = r.park
LEFT JOIN inventory_plantingplace k ON k.tag = r.tag
WHERE NOT r.is_tree
ON CONFLICT (tag) DO UPDATE
SET park_id = excluded.park_id, kind = excluded.kind, lon = excluded.lon, lat = excluded.lat,
    stump_diameter_cm = excluded.stump_diameter_cm, note = excluded.note
WHERE (o.park_id, o.kind, o.lon, o.lat, o.stump_diameter_cm, o.note) IS DISTINCT FROM
      (excluded.park_id, excluded.kind, excluded.lon, excluded.lat, excluded.stump_diameter_cm, excluded.note)
"""

# A place is filled when its tag comes back as a tree.
_FILL_PLACES = "DELETE FROM inventory_plantingplace k USING import_row r WHERE k.tag = r.tag AND r.is_tree"

# r: what the file says, t: what is known of that tag (nothing when it is new), s: its known species.
_SIZE_COUNTS = (
    "(r.dbh_cm IS NOT NULL AND NOT r.dbh_estimated OR r.size_as_given <> '' AND (t.dbh_cm IS NULL OR t.dbh_estimated))"
)
_NAME_COUNTS = "(x.species_id IS NOT NULL AND NOT COALESCE(r.botanical = s.genus AND r.cultivar = '', false))"
_PLANTING_COUNTS = """(r.planted_on IS NOT NULL AND NOT COALESCE(
    r.planted_precision = 'year' AND date_part('year', r.planted_on) = date_part('year', t.planted_on), false))"""
_FOUND_DEAD = "(COALESCE(t.status, '') = 'dead standing' AND r.kind = 'standing')"
_FACTS = {
    "park_id": "COALESCE(p.park_id, t.park_id, %(default_park)s)",
    "species_id": f"CASE WHEN {_NAME_COUNTS} THEN x.species_id ELSE t.species_id END",
    "cultivar": f"CASE WHEN {_NAME_COUNTS} THEN r.cultivar ELSE COALESCE(t.cultivar, '') END",
    "lon": "COALESCE(r.lon, t.lon)",
    "lat": "COALESCE(r.lat, t.lat)",
    "cell": "COALESCE(r.cell, t.cell)",
    "status": f"CASE WHEN {_FOUND_DEAD} THEN t.status ELSE r.kind END",
    "condition": f"CASE WHEN {_FOUND_DEAD} THEN t.condition ELSE COALESCE(NULLIF(r.condition, ''), t.condition, '') END",
    "dbh_cm": f"CASE WHEN {_SIZE_COUNTS} THEN r.dbh_cm ELSE t.dbh_cm END",
    "dbh_estimated": f"CASE WHEN {_SIZE_COUNTS} THEN r.dbh_estimated ELSE COALESCE(t.dbh_estimated, false) END",
    "size_as_given": f"CASE WHEN {_SIZE_COUNTS} THEN r.size_as_given ELSE COALESCE(t.size_as_given, '') END",
    "stems_cm": f"CASE WHEN {_SIZE_COUNTS} THEN r.stems_cm ELSE COALESCE(t.stems_cm, '{{}}') END",
    "height_m": "COALESCE(r.height_m, t.height_m)",
    "crown_spread_m": "COALESCE(r.crown_spread_m, t.crown_spread_m)",
    "planted_on": f"CASE WHEN {_PLANTING_COUNTS} THEN r.planted_on ELSE t.planted_on END",
    "planted_precision": f"CASE WHEN {_PLANTING_COUNTS} THEN r.planted_precision ELSE COALESCE(t.planted_precision, '') END",
    "note": "COALESCE(NULLIF(r.note, ''), t.note, '')",
}


def _of(table: str) -> str:
    return ", ".join(f"{table}.{name}" for name in _FACTS)


_MERGE_TREES = f"""
WITH merged AS (
    INSERT INTO inventory_tree AS o (tag, {", ".join(_FACTS)}, source_digest, light, soil_moisture, created_at, updated_at)
    SELECT r.tag, {", ".join(_FACTS.values())}, r.digest, '', '', now(), now()
    FROM import_row r
    LEFT JOIN import_park p ON p.name = r.park
    LEFT JOIN import_taxon x ON x.key = r.taxon
    LEFT JOIN inventory_tree t ON t.tag = r.tag
    LEFT JOIN inventory_species s ON s.id = t.species_id
    WHERE r.is_tree AND t.source_digest IS DISTINCT FROM r.digest
    ON CONFLICT (tag) DO UPDATE
    SET ({", ".join(_FACTS)}, source_digest, updated_at) = ({_of("excluded")}, excluded.source_digest, excluded.updated_at)
    WHERE ({_of("o")}) IS DISTINCT FROM ({_of("excluded")})
    RETURNING xmax = 0 AS is_new
)
SELECT count(*) FILTER (WHERE is_new), count(*) FILTER (WHERE NOT is_new) FROM merged
"""  # noqa: S608  (made of the constants above)
# Said otherwise than before, but nothing that is not known already: remembered without counting as a change.
_REMEMBER = """
UPDATE inventory_tree t SET source_digest = r.digest FROM import_row r WHERE t.tag = r.tag AND t.source_digest <> r.digest
"""

_COUNT = """
SELECT (SELECT count(*) FROM import_row WHERE is_tree), (SELECT count(*) FROM import_row WHERE NOT is_tree),
       (SELECT count(*) FROM import_refusal)
"""
_HOMELESS = """
SELECT count(*) FROM import_row r
WHERE r.park = '' AND NOT EXISTS (SELECT FROM inventory_tree t WHERE t.tag = r.tag)
                  AND NOT EXISTS (SELECT FROM inventory_plantingplace k WHERE k.tag = r.tag)
"""
# Of several common names for one taxon: that of the plain species before a cultivar's, then the most frequent.
_TAXA = """
SELECT DISTINCT ON (taxon) taxon, botanical, genus, common
FROM import_row WHERE taxon IS NOT NULL
GROUP BY taxon, botanical, genus, common, cultivar = ''
ORDER BY taxon, cultivar = '' DESC, common = '', count(*) DESC, botanical, common
"""
# Two imports at once would make the same park or species twice.
_ONE_AT_A_TIME = "SELECT pg_advisory_xact_lock(7012001)"


class Busy(Exception):
    """Another import is being taken in just now."""


def merge(*, tag_column: str, status_column: str, fallback: str) -> Merged:
    """Take all staged rows in. ``fallback`` is the code or name of the park for rows that belong to no other."""
    take_turn()
    staging.analyze()
    columns = {"tag_column": tag_column, "status_column": status_column}
    for statement in (_NUMBER_TWINS, _REFUSE_TWINS, _REFUSE_GONE, _REFUSE_RISEN):
        _execute(statement, columns)
    parks_made = _resolve_parks()
    taxa_made = _resolve_taxa()
    homeless = int(_row(_HOMELESS)[0])
    home: dict[str, int | None] = {"default_park": None}
    if homeless:
        park, made = parks.find_or_make(fallback)
        home["default_park"], fallback = park.pk, park.code
        parks_made += [park] if made else []
    _execute(_MERGE_PLACES, home)
    _execute(_FILL_PLACES)
    imported, updated = _row(_MERGE_TREES, home)
    _execute(_REMEMBER)
    trees, sites, refused = _row(_COUNT)
    counts = Counts(trees + sites + refused, imported, updated, trees - imported - updated, sites, refused)
    return Merged(counts, tuple(park.code for park in parks_made), taxa_made, homeless, fallback)


def take_turn(wait_ms: int = 0) -> None:
    """Wait for other merges to end and keep others out until the transaction does; 0 waits for as long as it takes."""
    try:
        _execute(f"SET LOCAL lock_timeout = {wait_ms:d}")
        _execute(_ONE_AT_A_TIME)
    except OperationalError as error:
        raise Busy("Another import is being taken in just now; try again in a minute.") from error


def keep_refusals(run_id: int) -> None:
    """The refused rows into the run's list."""
    _execute(
        'INSERT INTO inventory_importrefusal (run_id, row, "column", value, reason) '
        'SELECT %(run)s, row, "column", value, reason FROM import_refusal',
        {"run": run_id},
    )


def _resolve_parks() -> list[Park]:
    names = [name for (name,) in _rows("SELECT DISTINCT park FROM import_row WHERE park <> '' ORDER BY park")]
    ids, made = parks.ids_of(names)
    staging.copy_to("import_park", ids.items())
    return made


def _resolve_taxa() -> tuple[str, ...]:
    ids, made = taxa.ids_of([Named(*row) for row in _rows(_TAXA)])
    staging.copy_to("import_taxon", ids.items())
    return tuple(species.botanical for species in made)


def _execute(statement: str, values: dict[str, Any] | None = None) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)


def _rows(statement: str) -> list[Any]:
    with connection.cursor() as cursor:
        cursor.execute(statement)
        return list(cursor.fetchall())


def _row(statement: str, values: dict[str, Any] | None = None) -> Sequence[Any]:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        return tuple(cursor.fetchone())
