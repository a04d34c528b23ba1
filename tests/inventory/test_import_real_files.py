"""Two open inventories of cities, as they are, with the guessed mapping.

City of Melbourne open data (CC BY 4.0), trees of one public garden; New York City open data, 2015 street tree census,
5,000 rows. Read from beside the checkout where they stand; excerpts in their form, made up, are read everywhere.
"""

import csv
import datetime as dt
from collections import Counter
from pathlib import Path

import pytest

from inventory.importing import columns, readers
from inventory.importing.mapping import Role
from inventory.importing.rows import PlaceRow, Refusal, RowReader, TreeRow
from inventory.importing.values import DateOrder

REAL = Path(__file__).resolve().parents[3] / "shared" / "realdata"
TODAY = dt.date(2026, 6, 1)
GARDENS_EXCERPT = """\
Latitude,Longitude,Genus,Date.Planted,Diameter.Breast.Height,Useful.Life.Expectancy.Value,Located.in,Year.Planted
-37.81001,144.97001,Ulmus,14/10/1998,150,30,Park,1998
-37.81002,144.97002,Phoenix,2/01/2000,87,60,Street,1900
-37.81003,144.97003,Quercus,,7,10,Park,NA
"""
STREETS_HEADER = (
    "tree_id", "created_at", "tree_dbh", "stump_diam", "status", "health", "spc_latin", "spc_common", "problems",
    "zip_city", "boroname", "state", "latitude", "longitude", "x_sp", "y_sp",
)  # fmt: skip
SEEN, PLACE = "2015-08-27T00:00:00.000", ("New York", "40.72001", "-73.84001", "1027431.148", "202756.7687")
STREETS_EXCERPT = (
    ("7", SEEN, "3", "0", "Alive", "Fair", "Acer rubrum", "red maple", "None", "Easthaven", "North", *PLACE),
    ("8", SEEN, "0", "16", "Stump", "", "", "", "", "Easthaven", "North", *PLACE),
    ("9", SEEN, "14", "0", "Dead", "", "", "", "Stones", "Easthaven", "North", *PLACE),
    (
        "10",
        SEEN,
        "425",
        "0",
        "Alive",
        "Good",
        "Platanus x acerifolia",
        "London planetree",
        "",
        "Easthaven",
        "South",
        *PLACE,
    ),
    (
        "11",
        SEEN,
        "9",
        "0",
        "Alive",
        "Good",
        "Gleditsia triacanthos var. inermis",
        "honeylocust",
        "",
        "Easthaven",
        "North",
        *PLACE,
    ),
)


def real(name: str) -> Path:
    path = REAL / name
    if not path.exists():
        pytest.skip(f"{name} does not stand beside the checkout")
    return path


def taken(path: Path) -> tuple[columns.Guess, list[TreeRow | PlaceRow | Refusal]]:
    table = readers.open_table(path)
    guess = columns.guess(table.header, readers.survey(table).sample)
    reader = RowReader(table.header, guess.mapping, latest=TODAY)
    return guess, [row for chunk in readers.chunks(table) for row in reader.read(chunk)]


GARDENS_COLUMNS = {
    Role.LATITUDE: "Latitude",
    Role.LONGITUDE: "Longitude",
    Role.GENUS: "Genus",
    Role.DBH: "Diameter.Breast.Height",
    Role.PLANTED: "Date.Planted",
    Role.PLANTED_YEAR: "Year.Planted",
}
STREETS_COLUMNS = {
    Role.TAG: "tree_id",
    Role.PARK: "boroname",
    Role.BOTANICAL: "spc_latin",
    Role.COMMON: "spc_common",
    Role.LATITUDE: "latitude",
    Role.LONGITUDE: "longitude",
    Role.DBH: "tree_dbh",
    Role.STUMP: "stump_diam",
    Role.STATUS: "status",
    Role.CONDITION: "health",
    Role.NOTE: "problems",
}


def test_the_gardens_excerpt(tmp_path):
    path = tmp_path / "excerpt.csv"
    header, *lines = GARDENS_EXCERPT.splitlines(keepends=True)
    path.write_text(header + "".join(lines * 10))
    guess, rows = taken(path)
    assert guess.mapping.columns == GARDENS_COLUMNS
    assert guess.mapping.units == {Role.DBH: "cm"}
    assert guess.mapping.date_order is DateOrder.DMY
    elm, palm, oak = rows[:3]
    assert elm.planted.on == dt.date(1998, 10, 14)
    assert palm.planted is None
    assert oak.planted is None


def test_the_streets_excerpt(tmp_path):
    path = tmp_path / "excerpt.csv"
    with path.open("w", newline="") as file:
        out = csv.writer(file, quoting=csv.QUOTE_ALL)
        out.writerows([STREETS_HEADER, *STREETS_EXCERPT])
        # Enough ordinary trees for the guesses to rest on.
        out.writerows((str(n), *STREETS_EXCERPT[0][1:]) for n in range(100, 140))
    guess, rows = taken(path)
    assert guess.mapping.columns == STREETS_COLUMNS
    assert guess.mapping.units == {Role.DBH: "in", Role.STUMP: "in"}
    alive, stump, dead, wrong, other = rows[:5]
    assert (alive.tag, alive.park, alive.condition, alive.note) == ("7", "North", "fair", "")
    assert (stump.is_stump, stump.stump_diameter_cm) == (True, pytest.approx(40.64))
    assert (dead.dead, dead.name) == (True, None)
    assert (wrong.row, wrong.column, wrong.value) == (5, "tree_dbh", "425")
    assert other.name.botanical == "Gleditsia triacanthos var. inermis"


def test_every_tree_of_the_gardens_is_taken():
    guess, rows = taken(real("gardens.csv"))
    assert guess.mapping.columns == GARDENS_COLUMNS
    assert guess.mapping.units == {Role.DBH: "cm"}
    assert Counter(map(type, rows)) == {TreeRow: 1200}
    assert all(row.tag_made and row.position and row.size.cm for row in rows)
    assert len({row.tag for row in rows}) == 1200


def test_the_gardens_planting_years_that_contradict_their_dates_are_left_open():
    _, rows = taken(real("gardens.csv"))
    remarks = Counter(remark for row in rows for remark in row.remarks)
    assert remarks == {"date and year of planting contradict each other: left open": 131}
    assert {row.planted.on.year for row in rows if row.planted} == {*range(1997, 2001), *range(2005, 2011)}


def test_the_streets_are_trees_stumps_and_one_impossible_trunk():
    guess, rows = taken(real("streets.csv"))
    assert guess.mapping.columns == STREETS_COLUMNS
    assert guess.mapping.units == {Role.DBH: "in", Role.STUMP: "in"}
    assert Counter(map(type, rows)) == {TreeRow: 4893, PlaceRow: 106, Refusal: 1}
    (refused,) = (row for row in rows if isinstance(row, Refusal))
    assert (refused.column, refused.value) == ("tree_dbh", "425")


def test_the_streets_dead_trees_stand_and_their_parks_are_the_boroughs():
    _, rows = taken(real("streets.csv"))
    trees = [row for row in rows if isinstance(row, TreeRow)]
    assert sum(row.dead for row in trees) == 100
    assert {row.park for row in rows if not isinstance(row, Refusal)} == {
        "Manhattan", "Bronx", "Brooklyn", "Queens", "Staten Island",
    }  # fmt: skip
