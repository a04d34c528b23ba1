"""The rose read back: what the SVG shows is what the finder found, to scale."""

import math
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from inventory.units import Units
from removals.lay_finder import FallingTree, LayFindings, find_lays
from removals.place import point_m
from removals.rose_drawing import rose
from removals.things import FeatureKind, Thing
from tests.removals.test_drawings import SVG, Read, description, parsed

TREE = FallingTree(height_m=15.0, crown_radius_m=3.0, lean_deg=2.0, lean_toward_deg=340.0)


def thing(name: str, *points: tuple[float, float], kind=FeatureKind.TREE, radius_m=0.0) -> Thing:
    return Thing(kind=kind, name=name, points=points, radius_m=radius_m)


PLACE = (
    thing("T-0412", point_m(90.0, 12.0), radius_m=2.5),
    thing("bench", point_m(200.0, 9.0), kind=FeatureKind.TARGET),
    thing("Boathouse", (-19.0, -14.0), (-14.0, -14.0), (-14.0, -9.0), (-19.0, -14.0), kind=FeatureKind.BUILDING),
    thing("Towpath", (-60.0, 20.0), (60.0, 20.0), kind=FeatureKind.PATH),
    thing("far away", point_m(10.0, 23.0)),
)


def drawn(place=PLACE, tree=TREE, accepted=("bench",), units=Units.METRIC) -> tuple[LayFindings, Read]:
    findings = find_lays(tree, place, accepted)
    read = Read(rose(findings, place, units))
    (x, y), _ = read.circle("stump")
    read.origin = x * read.scale, -y * read.scale
    return findings, read


def sector_of(corners: list[tuple[float, float]]) -> tuple[float, float]:
    bearings = [math.degrees(math.atan2(x, y)) % 360 for x, y in corners[1:]]
    return bearings[0], bearings[-1]


def corners_of(read: Read, each: ElementTree.Element) -> list[tuple[float, float]]:
    return [read.metres(*pair.split(",")) for pair in each.attrib["points"].split()]


def test_each_status_is_drawn_over_its_bearings_to_scale():
    findings, read = drawn()
    for status in ("clear", "accepted", "blocked"):
        polygons = [each for each in read.all("polygon", f"rose-{status}") if "legend" not in each.attrib["class"]]
        covered = set()
        for each in polygons:
            corners = corners_of(read, each)
            assert {round(math.hypot(x, y), 2) for x, y in corners[1:]} == {16.5}
            first, last = sector_of(corners)
            covered |= {
                lay.bearing_deg for lay in findings.lays if 2 < (lay.bearing_deg - first) % 360 < (last - first) % 360
            }
        assert covered == {lay.bearing_deg for lay in findings.lays if lay.status == status}


def test_blocked_and_accepted_are_hatched_and_clear_is_open_paper():
    _, read = drawn()
    fills = {each.attrib["fill"] for each in read.all("polygon", "hatching")}
    assert fills == {"url(#rose-blocked)", "url(#rose-accepted)"}
    turns = {each.attrib["patternTransform"] for each in read.root.iter(f"{SVG}pattern")}
    assert turns == {"rotate(45)", "rotate(135)"}


def test_all_alike_is_one_circle_without_a_seam():
    _, read = drawn(place=())
    (circle,) = [each for each in read.all("polygon", "rose-clear") if "legend" not in each.attrib["class"]]
    assert min(math.hypot(x, y) for x, y in corners_of(read, circle)) == pytest.approx(16.5, abs=1e-2)


def test_proposals_are_bold_numbered_and_as_long_as_the_tree():
    findings, read = drawn()
    tips = [read.metres(each.attrib["x2"], each.attrib["y2"]) for each in read.all("line", "proposed")]
    assert tips == [pytest.approx(point_m(lay.bearing_deg, 15.0), abs=1e-2) for lay in findings.proposed]
    assert len(tips) == 3
    for number, lay in enumerate(findings.proposed, start=1):
        assert f"{number}: {lay.bearing_deg:.0f}°" in read.words


def test_what_stands_there_is_drawn_in_its_place_and_filled_when_it_blocks():
    _, read = drawn()
    assert read.circle("tree")[0] == pytest.approx(point_m(90.0, 12.0), abs=1e-2)
    assert "obstacle-hit" in read.one("circle", "tree").attrib["class"]
    assert read.circle("neighbour")[1] == pytest.approx(2.5, abs=1e-2)
    assert read.one("polygon", "target").attrib["class"] == "obstacle target"
    assert read.points("polyline", "building")[1] == pytest.approx((-14.0, -14.0), abs=1e-2)


def test_what_lies_off_the_paper_is_left_out():
    _, read = drawn()
    assert "far away" not in read.words
    assert "far away" not in description(read)


def test_the_description_tells_it_all():
    _, read = drawn()
    words = description(read)
    # 10° of error, and 3 m of crown beside 2.5 m of crown at 12 m: asin(5.5 / 12) = 27.3° more.
    assert "Blocked: 55° to 125°" in words
    assert "T-0412 (tree) at 90°, 12.0 m, in the swath." in words
    assert "Towpath (path) at 0°, 20.0 m." in words
    assert "Proposal 1:" in words


def test_names_without_room_are_left_to_the_description():
    crowd = [thing(f"T-{n:04d}", (8.0 + n / 50, 8.0)) for n in range(9)]
    _, read = drawn(place=crowd, accepted=())
    assert 1 <= len([words for words in read.words if words.startswith("T-")]) < 9
    assert description(read).count("(tree)") == 9


def test_the_legend_names_each_look():
    _, read = drawn()
    assert {"clear", "accepted", "blocked"} <= set(read.words)
    assert len(read.all("polygon", "legend")) == 3


def test_a_wire_too_near_blocks_the_whole_rose():
    _, read = drawn(place=(thing("drop", (-60.0, 18.0), (60.0, 18.0), kind=FeatureKind.WIRE),))
    assert read.all("line", "proposed") == []
    assert "All lays are blocked. A wire is 18 m" in description(read)


@pytest.mark.parametrize(("units", "unit_m", "name"), [(Units.METRIC, 1.0, "m"), (Units.US, 0.3048, "ft")])
def test_scale_and_north(units, unit_m, name):
    _, read = drawn(units=units)
    (left, _), (right, _) = read.ends("scale")
    assert f"{(right - left) / unit_m:.0f} {name}" in read.words
    (tail_x, tail_y), (tip_x, tip_y) = read.ends("north")
    assert tip_x == pytest.approx(tail_x)
    assert tip_y > tail_y


@pytest.mark.parametrize("lean_toward_deg", range(0, 360, 15))
def test_words_stay_on_the_paper(lean_toward_deg):
    findings = find_lays(replace(TREE, lean_toward_deg=float(lean_toward_deg)), PLACE)
    drawing = rose(findings, PLACE, Units.METRIC)
    root = parsed(drawing)
    for each in root.iter(SVG + "text"):
        width = 9 * len(each.text or "")
        before, after = {"start": (0, width), "middle": (width / 2, width / 2), "end": (width, 0)}[
            each.attrib["text-anchor"]
        ]
        assert before <= float(each.attrib["x"]) <= drawing.width - after
        assert 0 <= float(each.attrib["y"]) <= drawing.height
    assert all("style" not in each.attrib for each in root.iter())
