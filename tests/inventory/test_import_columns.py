"""Which column is what: guessed from headings and values, said where it could be otherwise, kept as JSON."""

import json
import math
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.importing import columns, mapping
from inventory.importing.mapping import Mapping, MappingProblem, Role
from inventory.importing.source import SourceRow
from inventory.importing.values import DateOrder, Status

NEW_YORK = [("40.72", "-73.84"), ("40.79", "-73.81"), ("40.71", "-73.93")]
MELBOURNE = [("-37.81", "144.97"), ("-37.82", "144.98"), ("-37.80", "144.96")]


def guess(header: Sequence[str], *rows: Sequence[str], times: int = 12) -> columns.Guess:
    sample = [SourceRow(n, tuple(row)) for n, row in enumerate(list(rows) * times, start=2)]
    return columns.guess(tuple(header), sample)


def placed(places, header: Sequence[str], *rows: Sequence[str]) -> columns.Guess:
    """The rows with positions of a city beside them."""
    whole = [(*places[n % 3], *rows[n % len(rows)]) for n in range(len(rows) * 3)]
    return guess(("lat", "lon", *header), *whole)


def test_a_file_with_plain_headings():
    found = guess(
        ("Tag", "Park", "Botanical Name", "Common Name", "Latitude", "Longitude", "DBH (in)", "Height (ft)", "Notes"),
        ("A1", "Ropewalk Green", "Acer rubrum", "red maple", "40.7", "-73.8", "14", "40", "leans"),
        ("A2", "Ropewalk Green", "Quercus robur", "English oak", "40.8", "-73.9", "9", "35", ""),
        times=1,
    )
    assert found.mapping.columns == {
        Role.TAG: "Tag",
        Role.PARK: "Park",
        Role.BOTANICAL: "Botanical Name",
        Role.COMMON: "Common Name",
        Role.LATITUDE: "Latitude",
        Role.LONGITUDE: "Longitude",
        Role.DBH: "DBH (in)",
        Role.HEIGHT: "Height (ft)",
        Role.NOTE: "Notes",
    }
    assert found.mapping.units == {Role.DBH: "in", Role.HEIGHT: "ft"}
    assert found.notices == ()


@pytest.mark.parametrize(
    ("heading", "role", "value"),
    [
        ("TREE_ID", Role.TAG, None),
        ("assetNumber", Role.TAG, None),
        ("Site Name", Role.PARK, "Ropewalk Green"),
        ("Borough", Role.PARK, "North"),
        ("SPECIES", Role.BOTANICAL, "Acer rubrum"),
        ("Species", Role.COMMON, "red maple"),
        ("spc_latin", Role.BOTANICAL, "Acer rubrum"),
        ("Scientific Name", Role.BOTANICAL, "Brahea edulis"),
        ("Genus", Role.GENUS, "Brahea"),
        ("trunk_diameter_cm", Role.DBH, "36"),
        ("Diameter at breast height", Role.DBH, "36"),
        ("Girth at breast height (cm)", Role.GIRTH, "113"),
        ("Trunk circumference", Role.GIRTH, "113"),
        ("DBH Range", Role.SIZE_CLASS, "6-12 in"),
        ("Crown Diameter (m)", Role.SPREAD, "8"),
        ("Height_m", Role.HEIGHT, "14"),
        ("stump_diam", Role.STUMP, "14"),
        ("Date.Planted", Role.PLANTED, "14/10/1998"),
        ("Year.Planted", Role.PLANTED_YEAR, "1998"),
        ("Status", Role.STATUS, "Alive"),
        ("Site Type", Role.TYPE, "Vacant site"),
        ("health", Role.CONDITION, "Fair"),
        ("the_geom", Role.POINT, "POINT (-73.8 40.7)"),
        ("Comments", Role.NOTE, "leans"),
    ],
)
def test_headings(heading, role, value):
    rows = [(str(n), value or f"A{n}") for n in range(12)]
    assert guess(("serial", heading), *rows, times=1).mapping.columns.get(role) == heading


@pytest.mark.parametrize(
    ("heading", "role", "value"),
    [
        ("state", Role.STATUS, "New York"),
        ("Park", Role.PARK, "yes"),
        ("Located.in", Role.PARK, "Street"),
        ("Location", Role.POINT, "behind the pond"),
        ("id", Role.TAG, "7"),
        ("created_at", Role.PLANTED, "2015-08-27"),
        ("Condition", Role.CONDITION, "72 %"),
        ("height", Role.HEIGHT, "tall"),
    ],
)
def test_a_heading_alone_does_not_convince(heading, role, value):
    assert role not in guess(("serial", heading), ("1", value)).mapping.columns


@pytest.mark.parametrize(
    ("heading", "role", "value"),
    [
        ("Höhe (m)", Role.HEIGHT, "14"),
        ("Stammumfang", Role.GIRTH, "113"),
        ("HAUTEUR (m)", Role.HEIGHT, "14"),
        ("Gattung", Role.GENUS, "Acer"),
    ],
)
def test_headings_of_other_languages(heading, role, value):
    assert guess(("serial", heading), ("1", value)).mapping.columns.get(role) == heading


def test_a_plain_heading_over_many_mistakes_is_still_that_column():
    """So that its rows are refused rather than its values left out."""
    rows = [("A1", "30", "alive"), ("A1", "thick", "alive"), ("A2", "-5", "purple"), ("A3", "30", "dead")]
    found = guess(("tag", "dbh", "status"), *rows, times=1).mapping.columns
    assert found == {Role.TAG: "tag", Role.DBH: "dbh", Role.STATUS: "status"}


def test_a_status_whose_words_are_not_known_is_left_out_and_said():
    found = guess(("id", "Status"), ("1", "A"), ("2", "F"))
    assert Role.STATUS not in found.mapping.columns
    assert "every tree counts as standing" in found.notices[0]


def test_the_number_of_a_height_class_is_no_height():
    assert Role.HEIGHT not in guess(("id", "HEIGHT_RANGE_ID"), ("1", "3"), ("2", "4")).mapping.columns


def test_genus_and_second_word_in_capitals():
    found = guess(("GENUS_NAME", "SPECIES_NAME"), ("ACER", "RUBRUM"), ("TILIA", "CORDATA")).mapping.columns
    assert found == {Role.GENUS: "GENUS_NAME", Role.EPITHET: "SPECIES_NAME"}


def test_genus_and_second_word_in_two_columns():
    found = guess(("Genus", "Species"), ("Acer", "rubrum"), ("Tilia", "cordata")).mapping.columns
    assert found == {Role.GENUS: "Genus", Role.EPITHET: "Species"}


def test_names_are_known_by_their_look_under_any_heading():
    assert guess(("Baumart",), ("Acer rubrum :: red maple",), ("Tilia cordata",)).mapping.columns == {
        Role.BOTANICAL: "Baumart"
    }


@pytest.mark.parametrize("heading", ["Record", "Kind of entry"])
def test_a_column_that_tells_trees_from_places_is_known_under_any_heading(heading):
    found = guess(("id", heading), ("1", "Tree"), ("2", "Stump"), ("3", "Vacant site"))
    assert found.mapping.columns[Role.TYPE] == heading


def test_a_column_of_nothing_but_living_trees_tells_nothing():
    assert Role.TYPE not in guess(("id", "Layer"), ("1", "Tree"), ("2", "Tree")).mapping.columns


def test_degrees_are_preferred_to_projected_coordinates():
    found = guess(("x_sp", "y_sp", "latitude", "longitude"), ("1027431.1", "202756.7", "40.72", "-73.84"))
    assert set(found.mapping.columns) == {Role.LATITUDE, Role.LONGITUDE}


def test_degrees_under_x_and_y():
    found = guess(("X", "Y"), ("-73.84", "40.72"), ("-73.85", "40.73"))
    assert found.mapping.columns == {Role.LONGITUDE: "X", Role.LATITUDE: "Y"}


def test_a_projection_named_in_the_heading():
    found = guess(("x (EPSG:2263)", "y (EPSG:2263)"), ("1027431.1", "202756.7"))
    assert found.mapping.epsg == 2263


@pytest.mark.parametrize("places", [NEW_YORK, MELBOURNE])
def test_columns_of_swapped_coordinates_are_read_the_other_way_round(places):
    found = guess(("lat", "lon"), *((lon, lat) for lat, lon in places))
    assert found.mapping.columns == {Role.LATITUDE: "lon", Role.LONGITUDE: "lat"}
    assert "hold each other's values" in found.notices[0]


def test_bare_diameters_in_the_united_states_are_inches():
    found = placed(NEW_YORK, ("tree_dbh",), ("3",), ("21",), ("11",))
    assert found.mapping.units[Role.DBH] == "in"
    assert "United States" in found.notices[0]


def test_bare_diameters_elsewhere_are_centimetres():
    assert placed(MELBOURNE, ("dbh",), ("3",), ("21",), ("11",)).mapping.units[Role.DBH] == "cm"


def test_diameters_too_large_for_inches_are_centimetres_wherever_they_stand():
    assert placed(NEW_YORK, ("dbh",), ("30",), ("75",), ("90",)).mapping.units[Role.DBH] == "cm"


def test_heights_too_large_for_metres_are_feet():
    assert placed(MELBOURNE, ("height",), ("30",), ("75",), ("90",)).mapping.units[Role.HEIGHT] == "ft"


def test_a_unit_in_the_values_decides():
    found = placed(NEW_YORK, ("dbh",), ("30 cm",), ("75 cm",), ("9 cm",))
    assert found.mapping.units[Role.DBH] == "cm"
    assert found.notices == ()


def test_the_day_comes_first_where_a_value_proves_it_even_in_the_united_states():
    found = placed(NEW_YORK, ("date planted",), ("2/01/2000",), ("14/10/1998",), ("3/4/1999",))
    assert found.mapping.date_order is DateOrder.DMY
    assert found.notices == ()


@pytest.mark.parametrize(("places", "order", "word"), [(NEW_YORK, "mdy", "month"), (MELBOURNE, "dmy", "day")])
def test_dates_that_prove_nothing_are_read_as_the_country_does_and_it_is_said(places, order, word):
    found = placed(places, ("date planted",), ("2/01/2000",), ("3/4/1999",))
    assert found.mapping.date_order == order
    assert f"the {word} is taken to come first" in found.notices[0]


def test_decimal_commas_are_seen():
    found = guess(("dbh_cm", "lat", "lon"), ("14,5", "53,8123", "10,6543"), ("9", "53,8124", "10,6544"))
    assert found.mapping.decimal_comma
    assert Role.LATITUDE in found.mapping.columns


def trunks(factor: float) -> list[tuple[str, str]]:
    return [(f"{dbh * factor:.1f}", f"{dbh * math.pi:.0f}") for dbh in (12, 25, 31, 44, 58)]


def test_girth_and_diameter_that_agree_need_no_mending():
    found = guess(("diameter_cm", "girth_cm"), *trunks(1))
    assert found.mapping.diameter_factor == 1
    assert found.notices == ()


@pytest.mark.parametrize(("wrong_by", "mended", "word"), [(2, 0.5, "doubled"), (0.5, 2, "halved")])
def test_a_column_of_diameters_wrong_as_a_whole_is_found_by_pi(wrong_by, mended, word):
    found = guess(("diameter_cm", "girth_cm"), *trunks(wrong_by))
    assert found.mapping.diameter_factor == mended
    assert word in found.notices[0]


def test_girth_and_diameter_in_different_units_are_said_not_mended():
    found = guess(("diameter_cm", "girth_cm"), *trunks(1 / 2.54))
    assert found.mapping.diameter_factor == 1
    assert "check their units" in found.notices[0]


HEADER = ("id", "name", "dbh", "x", "y", "lat")


def test_a_mapping_may_name_columns_only():
    assert mapping.from_json({"columns": {"tag": "id", "dbh": "dbh"}}, HEADER).columns == {
        Role.TAG: "id",
        Role.DBH: "dbh",
    }


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ([], "object like"),
        ({"columns": {"tag": "number"}}, "no such column"),
        ({"columns": {"colour": "id"}}, "it can be tag, park"),
        ({"columns": {}, "unit": {}}, "means nothing here"),
        ({"columns": {"dbh": "dbh"}, "units": {"dbh": "miles"}}, "it can be in, cm"),
        ({"columns": {"latitude": "lat"}}, "column of the longitude too"),
        ({"columns": {"x": "x", "y": "y"}}, "EPSG code"),
        ({"columns": {"x": "x", "y": "y"}, "epsg": 1234567}, "not a known coordinate system"),
        ({"columns": {}, "date_order": "ymd"}, "it can be dmy, mdy"),
        ({"columns": {}, "status_words": {"A": "well"}}, "it can be alive, dead"),
    ],
)
def test_a_mapping_that_cannot_be_used_is_refused_in_a_sentence(data, words):
    with pytest.raises(MappingProblem, match=words):
        mapping.from_json(data, HEADER)


def test_given_columns_are_kept_and_only_what_they_leave_open_is_guessed():
    sample = [SourceRow(n, ("7", "14")) for n in range(2, 14)]
    found = columns.guess(("dbh", "height"), sample, given={Role.HEIGHT: "height"})
    assert found.mapping.columns == {Role.HEIGHT: "height"}
    assert found.mapping.units == {Role.HEIGHT: "m"}


def test_the_header_key_does_not_mind_order_or_case():
    assert mapping.header_key(["Tag", "DBH"]) == mapping.header_key(["dbh", "tag"])
    assert mapping.header_key(["Tag", "DBH"]) != mapping.header_key(["tag", "girth"])


ROLES = st.sets(
    st.sampled_from(
        [role for role in Role if role not in {Role.LATITUDE, Role.LONGITUDE, Role.X, Role.Y, Role.EPITHET}]
    )
)


@given(
    roles=ROLES,
    units=st.dictionaries(st.sampled_from(mapping.LENGTHS), st.sampled_from(["in", "cm", "ft", "m", "mm"])),
    order=st.sampled_from(DateOrder),
    epsg=st.sampled_from([None, 2263, 27700]),
    comma=st.booleans(),
    factor=st.sampled_from(mapping.DIAMETER_FACTORS),
    words=st.dictionaries(st.text(min_size=1, max_size=5), st.sampled_from(Status), max_size=3),
)
def test_a_mapping_comes_back_from_its_json(roles, units, order, epsg, comma, factor, words):
    made = Mapping({role: f"column {role}" for role in roles}, units, order, epsg, comma, factor, words)
    assert mapping.from_json(json.loads(json.dumps(made.to_json())), made.columns.values()) == made
