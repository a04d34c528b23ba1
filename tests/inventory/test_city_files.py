"""The files of the invented city: written the same every time, and sound among themselves.

What the files mean to the program is tested where the demo loads them; here they are read as plain tables.
"""

import csv
import json
import subprocess
import sys
from collections import Counter, defaultdict
from functools import cache
from pathlib import Path

import pytest
from pyproj import Geod
from shapely.geometry import Point, shape

from hazards.defects import KINDS
from hazards.matrix import Consequences, Exposure, Failure, Impact, Occupancy, rate, suggest_impact
from inventory.access import Role

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
CITY = FIXTURES / "city"
FILES = (
    "parks.geojson",
    "trees.csv",
    "targets.csv",
    "people.csv",
    "workers.csv",
    "inspections.csv",
    "orders.csv",
    "replacements.csv",
)
REMOVED = {"closed", "felled", "already down"}
IMPOSSIBLE = 6


@cache
def table(name: str) -> list[dict[str, str]]:
    with (CITY / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@cache
def parks() -> dict[str, dict]:
    features = json.loads((CITY / "parks.geojson").read_text(encoding="utf-8"))["features"]
    return {feature["properties"]["code"]: feature for feature in features}


def code_of(row: dict[str, str]) -> str:
    """The tree file names a park by its code or its name."""
    names = {feature["properties"]["name"]: code for code, feature in parks().items()}
    return names.get(row["Park"], row["Park"])


def true_trees() -> list[dict[str, str]]:
    """The rows without the impossible ones at the end, the stumps and the empty sites."""
    return [row for row in table("trees.csv")[:-IMPOSSIBLE] if row["Botanical name"]]


def visits() -> list[list[dict[str, str]]]:
    """The inspections, each as its rows; the first row carries the look."""
    found = defaultdict(list)
    for row in table("inspections.csv"):
        found[row["visit"]].append(row)
    return list(found.values())


def test_writing_the_city_again_gives_the_same_bytes(tmp_path):
    subprocess.run([sys.executable, FIXTURES / "make_city.py", tmp_path], check=True)
    for name in FILES:
        assert (tmp_path / name).read_bytes() == (CITY / name).read_bytes(), name


# ---- Parks -----------------------------------------------------------------------------------------------------------


def test_eight_parks_of_2_to_60_hectares():
    geod = Geod(ellps="WGS84")
    areas = {
        code: abs(geod.geometry_area_perimeter(shape(park["geometry"]))[0]) / 10_000 for code, park in parks().items()
    }
    assert len(areas) == 8
    assert all(2 <= hectares <= 60 for hectares in areas.values()), areas


def test_boundaries_are_valid_polygons_that_do_not_overlap():
    shapes = [shape(park["geometry"]) for park in parks().values()]
    assert all(boundary.is_valid for boundary in shapes)
    assert sum(a.intersects(b) for a in shapes for b in shapes if a is not b) == 0


def test_one_park_has_a_pond_and_one_lies_in_two_parts():
    rings = {code: park["geometry"]["coordinates"] for code, park in parks().items()}
    kinds = Counter(park["geometry"]["type"] for park in parks().values())
    assert kinds == {"Polygon": 7, "MultiPolygon": 1}
    assert sum(len(each) > 1 for code, each in rings.items() if parks()[code]["geometry"]["type"] == "Polygon") == 1


def test_every_park_has_its_emergency_card():
    for park in parks().values():
        assert all(
            park["properties"][name] for name in ("dispatch_address", "access_note", "hospital", "phone_coverage")
        )
        assert park["properties"]["hardiness_zone"] in {"6a", "6b", "7a"}


def test_the_city_lies_in_the_open_atlantic():
    """West of the Azores (31° W) and east of Newfoundland (52.6° W), between 45° and 46° N: water (common knowledge)."""
    for park in parks().values():
        west, south, east, north = shape(park["geometry"]).bounds
        assert -52 < west < east < -32
        assert 45 < south < north < 46


# ---- Trees -----------------------------------------------------------------------------------------------------------


def test_about_two_thousand_rows_with_tags_of_their_own():
    tags = [row["Tag"] for row in table("trees.csv")]
    assert 1950 <= len(tags) <= 2100
    assert len(set(tags)) == len(tags)


def test_trees_with_a_position_stand_inside_their_park_and_on_dry_land():
    shapes = {code: shape(park["geometry"]) for code, park in parks().items()}
    placed = [row for row in table("trees.csv")[:-IMPOSSIBLE] if row["Latitude"]]
    assert len(placed) > 1900
    for row in placed:
        assert shapes[code_of(row)].contains(Point(float(row["Longitude"]), float(row["Latitude"]))), row["Tag"]


def test_sixty_kinds_or_more_and_many_ash():
    kinds = Counter(" ".join(row["Botanical name"].split("'")[0].split()).lower() for row in true_trees())
    assert len(kinds) >= 60
    ash = sum(count for kind, count in kinds.items() if kind.startswith("fraxinus"))
    assert 0.12 < ash / sum(kinds.values()) < 0.25


def test_what_an_importer_meets_in_a_real_file_is_there():
    rows = table("trees.csv")
    status = Counter(row["Status"] for row in rows)
    assert status["Stump"] >= 10
    assert status["Vacant site"] >= 10
    assert status["Dead"] >= 20
    assert sum("'" in row["Botanical name"] for row in rows) >= 100
    assert sum(row["Botanical name"].isupper() for row in rows) >= 10
    assert sum("/" in row["DBH (in)"] for row in rows) >= 5
    assert sum(not row["Latitude"] for row in true_trees()) == 12
    assert sum(len(row["Botanical name"].split()) == 1 for row in true_trees()) >= 5


def test_sizes_are_plausible():
    inches = [float(row["DBH (in)"]) for row in true_trees() if row["DBH (in)"] and "/" not in row["DBH (in)"]]
    feet = [float(row["Height (ft)"]) for row in true_trees() if row["Height (ft)"]]
    assert min(inches) > 0.3
    assert max(inches) < 65
    assert min(feet) >= 3
    assert max(feet) < 115


def test_old_trees_are_thicker_than_young_ones():
    by_age = defaultdict(list)
    for row in true_trees():
        if row["Date planted"] and row["DBH (in)"] and "/" not in row["DBH (in)"]:
            by_age[int(row["Date planted"][-4:]) < 1985].append(float(row["DBH (in)"]))
    assert sum(by_age[True]) / len(by_age[True]) > 1.8 * sum(by_age[False]) / len(by_age[False])


# ---- Targets and people ----------------------------------------------------------------------------------------------


def test_about_sixty_targets_with_names_of_their_own_in_their_park():
    rows = table("targets.csv")
    assert 55 <= len(rows) <= 65
    assert len({(row["park"], row["name"]) for row in rows}) == len(rows)
    assert {row["park"] for row in rows} == set(parks())
    assert {row["occupancy"] for row in rows} == {level.value for level in Occupancy}
    assert {row["movable"] for row in rows} == {"yes", "no"}


def test_one_person_a_role_at_least_and_no_password():
    rows = table("people.csv")
    assert {row["role"] for row in rows} == {role.value for role in Role}
    assert Counter(row["role"] for row in rows)["inspector"] == 2
    assert set(rows[0]) == {"login", "name", "role"}


def test_every_crew_lead_is_a_worker_whose_feller_ticket_holds():
    leads = {row["login"]: row["name"] for row in table("people.csv") if row["role"] == "crew lead"}
    workers = {row["login"]: row for row in table("workers.csv") if row["login"]}
    assert {login: row["name"] for login, row in workers.items()} == leads
    assert all(int(row["feller_days"]) < 0 for row in workers.values())


# ---- Inspections -----------------------------------------------------------------------------------------------------


def test_about_sixteen_hundred_inspections_over_three_years_earliest_first():
    days = [int(visit[0]["days_before"]) for visit in visits()]
    assert 1500 <= len(days) <= 1900
    assert days == sorted(days, reverse=True)
    assert min(days) >= 1
    assert max(days) <= 3 * 365 + 30


def test_each_inspection_is_of_a_tree_that_will_be_imported():
    tags = {row["Tag"] for row in true_trees()}
    assert {visit[0]["tag"] for visit in visits()} <= tags


def test_further_rows_of_a_visit_carry_an_assessment_only():
    for visit in visits():
        assert all(visit[0][name] for name in ("tag", "level", "inspector", "condition"))
        assert not any(row[name] for row in visit[1:] for name in ("tag", "level", "inspector", "condition"))
        assert all(row["part"] and row["failure_mode"] and row["target"] for row in visit)


def test_targets_stand_in_the_park_of_the_tree():
    places = {(row["park"], row["name"]) for row in table("targets.csv")}
    park_of = {row["Tag"]: code_of(row) for row in true_trees()}
    for visit in visits():
        assert all((park_of[visit[0]["tag"]], row["target"]) in places for row in visit)


def test_findings_are_of_the_kinds_that_inspectors_tick():
    kinds = {(part, kind.name): kind.measure for part, found in KINDS.items() for kind in found}
    for row in table("inspections.csv"):
        if row["defect_part"]:
            measure = kinds[row["defect_part"], row["defect_kind"]]
            assert row["defect_unit"] == (measure.unit if row["defect_value"] and measure else "")
            assert not row["defect_value"] or 0 < float(row["defect_value"]) <= measure.maximum


def test_an_impact_other_than_the_suggested_has_its_reason():
    use = {(row["park"], row["name"]): Occupancy(row["occupancy"]) for row in table("targets.csv")}
    park_of = {row["Tag"]: code_of(row) for row in true_trees()}
    for visit in visits():
        for row in visit:
            suggested = suggest_impact(use[park_of[visit[0]["tag"]], row["target"]], Exposure(row["exposure"]))
            assert (Impact(row["impact"]) is suggested) == (not row["impact_reason"])


def current_ratings() -> Counter[str]:
    """By tag, the highest row of its latest look all around and of what came after."""
    looks = defaultdict(list)
    for visit in visits():
        looks[visit[0]["tag"]].insert(0, visit)
    gone = {row["tag"] for row in table("orders.csv") if row["state"] in REMOVED}
    found = Counter()
    for tag, latest_first in looks.items():
        if tag in gone:
            continue
        last = next(n for n, visit in enumerate([*latest_first, [{"level": "2"}]]) if visit[0]["level"] != "1")
        rows = [row for visit in latest_first[: last + 1] for row in visit]
        rated = [
            rate(*(kind(row[kind.__name__.lower()]) for kind in (Failure, Impact, Consequences))).rating for row in rows
        ]
        found[max(rated, key=lambda rating: rating.rank).value] += 1
        found["imminent"] += any(row["failure"] == "imminent" for row in rows)
    return found


def test_most_trees_are_rated_low_and_few_ask_for_work():
    found = current_ratings()
    trees = sum(count for word, count in found.items() if word != "imminent")
    assert found["extreme"] == 4
    assert found["imminent"] == 6  # two of them end low or moderate: the flag lists them on their own
    assert 0.02 <= found["high"] / trees <= 0.03
    assert 0.07 <= found["moderate"] / trees <= 0.09


def test_dead_trees_are_looked_at_more_often():
    dead = {row["Tag"] for row in true_trees() if row["Status"] == "Dead"}
    count = Counter(visit[0]["tag"] for visit in visits())
    looked_at = [count[tag] for tag in dead]
    others = [number for tag, number in count.items() if tag not in dead]
    assert sum(looked_at) / len(looked_at) > 2 * sum(others) / len(others)


# ---- Orders and replacements -----------------------------------------------------------------------------------------


def test_forty_orders_in_every_state_one_a_tree():
    rows = table("orders.csv")
    assert len(rows) == 40
    assert len({row["tag"] for row in rows}) == 40
    assert set(Counter(row["state"] for row in rows)) == {*REMOVED, "proposed", "approved", "scheduled", "withdrawn"}


@pytest.mark.parametrize("step", ["approved_days", "felled_days", "closed_days", "withdrawn_days"])
def test_no_step_of_an_order_lies_before_its_proposal(step):
    for row in table("orders.csv"):
        assert not row[step] or 0 <= int(row[step]) <= int(row["proposed_days"])


def test_no_removed_tree_is_inspected_after_it_was_felled():
    felled = {row["tag"]: int(row["felled_days"]) for row in table("orders.csv") if row["state"] in REMOVED}
    for visit in visits():
        tag = visit[0]["tag"]
        assert tag not in felled or int(visit[0]["days_before"]) > felled[tag]


def test_every_removed_tree_has_one_replacement_row_and_nothing_else_has():
    removed = Counter(row["tag"] for row in table("orders.csv") if row["state"] in REMOVED)
    assert Counter(row["tag"] for row in table("replacements.csv")) == removed


def test_replacements_reach_every_end():
    ends = {row["state"] for row in table("replacements.csv")}
    assert ends == {"open", "species chosen", "ordered", "planted", "established", "failed", "waived"}


def test_replanted_kinds_stand_in_the_palette():
    with (FIXTURES / "species.csv").open(encoding="utf-8", newline="") as file:
        palette = {row["botanical"] for row in csv.DictReader(line for line in file if not line.startswith("#"))}
    assert {row["species"] for row in table("replacements.csv") if row["species"]} <= palette
