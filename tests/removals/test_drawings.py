"""The drawings read back: what the SVG shows is what the plan computed, to scale."""

import math
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from inventory.units import Units
from removals.cut import CutGeometry, NotchKind
from removals.cut_drawings import cut_from_above, cut_from_side
from removals.felling import plan
from removals.felling_input import FellingInput, Site
from removals.map_parts import Feature
from removals.place import point_m
from removals.place_drawing import place_from_above
from removals.svg import Drawing
from removals.things import FeatureKind
from tests.removals.felling_cases import STRAIGHT, tree, tree_with_line

SVG = "{http://www.w3.org/2000/svg}"
OPEN = tree(notch=NotchKind.OPEN_FACE, opening_deg=90.0, notch_share=0.25)
HUMBOLDT = tree(notch=NotchKind.HUMBOLDT, opening_deg=50.0)
SITED = tree(site=Site(lay_deg=70.0, steering_error_deg=12.0), side_lean_m=0.3)
Point = tuple[float, float]


def parsed(drawing: Drawing) -> ElementTree.Element:
    return ElementTree.fromstring(drawing.markup())  # noqa: S314 - our own drawing


class Read:
    """An SVG read back: shapes by class, in metres from the drawing's origin, +y up."""

    def __init__(self, drawing: Drawing, origin: Point = (0.0, 0.0)) -> None:
        self.root = parsed(drawing)
        self.scale = float(self.root.attrib["data-units-per-m"])
        self.origin = origin

    def one(self, tag: str, css: str) -> ElementTree.Element:
        (found,) = self.all(tag, css)
        return found

    def all(self, tag: str, css: str) -> list[ElementTree.Element]:
        return [each for each in self.root.iter(SVG + tag) if css in each.attrib.get("class", "").split()]

    def metres(self, x: str | float, y: str | float) -> Point:
        return (float(x) - self.origin[0]) / self.scale, (self.origin[1] - float(y)) / self.scale

    def points(self, tag: str, css: str) -> list[Point]:
        pairs = self.one(tag, css).attrib["points"].split()
        return [self.metres(*pair.split(",")) for pair in pairs]

    def ends(self, css: str) -> tuple[Point, Point]:
        line = self.one("line", css).attrib
        return self.metres(line["x1"], line["y1"]), self.metres(line["x2"], line["y2"])

    def circle(self, css: str) -> tuple[Point, float]:
        circle = self.one("circle", css).attrib
        return self.metres(circle["cx"], circle["cy"]), float(circle["r"]) / self.scale

    @property
    def words(self) -> list[str]:
        return [each.text or "" for each in self.root.iter(SVG + "text")]


def cut_of(inp: FellingInput) -> CutGeometry:
    cut = plan(inp).cut
    assert cut is not None
    return cut


def side_of(inp: FellingInput, units: Units = Units.METRIC) -> Read:
    """Origin at the crossing of the stem's axis and the level cut: the middle of the drawn stem, the notch's apex."""
    read = Read(cut_from_side(inp, cut_of(inp), units))
    stem = read.points("polygon", "wood")
    apex = read.points("polygon", "notch")[0]
    middle = sum(x for x, _ in stem) / len(stem)
    read.origin = middle * read.scale, -apex[1] * read.scale
    return read


def above_of(inp: FellingInput, units: Units = Units.METRIC) -> Read:
    read = Read(cut_from_above(inp, cut_of(inp), units))
    (x, y), _ = read.circle("stem")
    read.origin = x * read.scale, -y * read.scale
    return read


def place_of(inp: FellingInput, *features: Feature, units: Units = Units.METRIC) -> Read:
    read = Read(place_from_above(inp, plan(inp).place, units, features))
    (x, y), _ = read.circle("stump")
    read.origin = x * read.scale, -y * read.scale
    return read


def near(*expected: float) -> object:
    return pytest.approx(expected, abs=2e-5)


@pytest.mark.parametrize("inp", [STRAIGHT, OPEN, HUMBOLDT])
def test_side_shows_stem_and_notch_to_scale(inp: FellingInput) -> None:
    read, cut, r_m = side_of(inp), cut_of(inp), inp.diameter_m / 2
    across = [x for x, _ in read.points("polygon", "wood")]
    assert (min(across), max(across)) == near(-r_m, r_m)
    apex, above, below = read.points("polygon", "notch")
    assert apex == near(r_m - cut.notch_depth_m, 0)
    assert above == near(r_m, cut.face_height_above_m)
    assert below == near(r_m, -cut.face_height_below_m)


@pytest.mark.parametrize("inp", [STRAIGHT, OPEN, HUMBOLDT])
def test_side_opens_by_the_opening(inp: FellingInput) -> None:
    apex, above, below = side_of(inp).points("polygon", "notch")
    angles = [math.atan2(point[1] - apex[1], point[0] - apex[0]) for point in (above, below)]
    assert math.degrees(angles[0] - angles[1]) == pytest.approx(inp.opening_deg, abs=0.01)


@pytest.mark.parametrize("inp", [STRAIGHT, OPEN, HUMBOLDT])
def test_side_shows_hinge_and_back_cut_to_scale(inp: FellingInput) -> None:
    read, cut = side_of(inp), cut_of(inp)
    hinge = [x for x, _ in read.points("polygon", "hinge")]
    assert max(hinge) - min(hinge) == pytest.approx(cut.hinge_thickness_m, abs=2e-5)
    (from_x, from_y), (to_x, to_y) = read.ends("back-cut")
    assert to_x - from_x == pytest.approx(cut.back_cut_m, abs=2e-5)
    assert (from_y, to_y) == near(cut.back_cut_height_m, cut.back_cut_height_m)


def test_side_shows_the_ground_when_the_cut_is_low() -> None:
    low = tree(cut_height_m=0.1)
    assert side_of(low).ends("ground")[0][1] == pytest.approx(-0.1, abs=2e-5)
    assert side_of(STRAIGHT).all("line", "ground") == []


@pytest.mark.parametrize("inp", [STRAIGHT, OPEN])
def test_from_above_the_hinge_is_a_slice_of_its_length_and_thickness(inp: FellingInput) -> None:
    read, cut, r_m = above_of(inp), cut_of(inp), inp.diameter_m / 2
    hinge = read.points("polygon", "hinge")
    front_m = r_m - cut.notch_depth_m
    assert max(x for x, _ in hinge) == pytest.approx(front_m, abs=2e-5)
    assert min(x for x, _ in hinge) == pytest.approx(front_m - cut.hinge_thickness_m, abs=2e-5)
    at_the_apex = [y for x, y in hinge if x == pytest.approx(front_m, abs=2e-5)]
    assert max(at_the_apex) - min(at_the_apex) == pytest.approx(cut.hinge_length_m, abs=5e-5)


def test_from_above_everything_lies_in_the_stem() -> None:
    read = above_of(STRAIGHT)
    assert read.circle("stem")[1] == pytest.approx(0.18, abs=2e-5)
    for css in ("notch", "hinge"):
        for x, y in read.points("polygon", css):
            assert math.hypot(x, y) <= 0.18 + 2e-5


def test_dimensions_stand_in_the_readers_unit() -> None:
    metric, us = side_of(STRAIGHT).words, side_of(STRAIGHT, Units.US).words
    for words in ("notch 12.0 cm", "hinge 3.6 cm", "back cut 20.4 cm", "stem inside bark 36.0 cm", "opening 60°"):
        assert words in metric
    assert "notch 4.750 in" in us  # 12.0 cm to the eighth of an inch
    assert "hinge length 33.9 cm" in above_of(STRAIGHT).words


def test_open_face_has_no_height_above_a_level_cut() -> None:
    assert not any(words.endswith(" above") for words in side_of(OPEN).words)
    assert any(words.endswith(" above") for words in side_of(STRAIGHT).words)


def test_place_shows_zones_to_scale() -> None:
    read = place_of(SITED)
    assert read.circle("drop-zone")[1] == pytest.approx(30.0, abs=1e-3)
    assert read.circle("crown")[1] == pytest.approx(3.0, abs=1e-3)
    cone = read.points("polygon", "danger")
    assert cone[0] == pytest.approx((0, 0), abs=1e-3)
    assert {round(math.hypot(x, y), 2) for x, y in cone[1:]} == {16.5}
    bearings = [math.degrees(math.atan2(x, y)) for x, y in (cone[1], cone[-1])]
    assert bearings == pytest.approx([70 - 47, 70 + 47], abs=0.05)


def test_place_shows_lay_and_ways_out_on_their_bearings() -> None:
    read = place_of(SITED)
    start, tip = read.ends("lay")
    assert (*start, *tip) == pytest.approx((0, 0, *point_m(70.0, 14.2)), abs=2e-3)
    tips = [read.metres(each.attrib["x2"], each.attrib["y2"]) for each in read.all("line", "retreat")]
    assert tips == [pytest.approx(point_m(bearing, 7.62), abs=2e-3) for bearing in (205.0, 295.0)]
    assert "way out 205°, tree leans here" in read.words
    assert "way out 295°" in read.words


def test_swath_is_the_steering_error_widened_by_the_crown() -> None:
    corners = place_of(SITED).points("polygon", "swath")
    ahead = math.radians(70.0)
    across = [x * math.cos(ahead) - y * math.sin(ahead) for x, y in corners]
    half = math.radians(12.0)
    assert max(across) == pytest.approx(16.5 * math.sin(half) + 3 * math.cos(half), abs=2e-3)
    assert min(across) == pytest.approx(-max(across), abs=2e-3)


@pytest.mark.parametrize(
    ("redirected", "words"), [(None, "puller or redirect"), (True, "redirect"), (False, "pullers")]
)
def test_line_ends_where_it_is_pulled(redirected: bool | None, words: str) -> None:
    inp = replace(SITED, line=tree_with_line(redirected=redirected).line)
    read = place_of(inp)
    assert read.ends("pull-line")[1] == pytest.approx(point_m(70.0, 22.5), abs=2e-3)
    assert f"{words} 22.5 m" in read.words


def test_without_a_line_none_is_drawn() -> None:
    assert place_of(replace(SITED, line=None)).all("line", "pull-line") == []


def test_without_a_lay_only_the_zone_is_drawn() -> None:
    read = place_of(STRAIGHT)
    assert read.all("line", "lay") == read.all("polygon", "swath") == []
    assert read.all("circle", "drop-zone")
    assert "No lay is chosen" in description(read)


def description(read: Read) -> str:
    found = read.root.find(f"{SVG}desc")
    assert found is not None
    return found.text or ""


def test_refused_zone_is_not_drawn() -> None:
    read = place_of(tree(site=Site(zone_multiple=0.5, lay_deg=0.0)))
    assert read.all("circle", "drop-zone") == []
    assert read.all("polygon", "swath")


def test_what_stands_there_is_drawn_by_its_kind() -> None:
    read = place_of(
        SITED,
        Feature(FeatureKind.TREE, "T-0412", ((8.0, 5.0),), hit=True),
        Feature(FeatureKind.SPOTTER, "spotter", ((-5.0, 28.0),)),
        Feature(FeatureKind.TARGET, "bench", ((-9.0, -9.0),)),
        Feature(FeatureKind.WIRE, "service drop", ((-25.0, -20.0), (-25.0, 20.0))),
        Feature(FeatureKind.OBSTACLE, "fence", ((0.0, -20.0), (9.0, -20.0))),
    )
    assert read.circle("tree")[0] == pytest.approx((8.0, 5.0), abs=2e-3)
    assert "obstacle-hit" in read.one("circle", "tree").attrib["class"]
    assert len(read.points("polygon", "spotter")) == 3
    assert len(read.points("polygon", "target")) == 4
    assert read.points("polyline", "wire")[1] == pytest.approx((-25.0, 20.0), abs=2e-3)
    assert read.all("polyline", "obstacle")
    assert "T-0412 (in the swath)" in read.words
    assert "T-0412 (tree) at 58°, 9.4 m, in the swath." in description(read)


@pytest.mark.parametrize(("units", "unit_m", "name"), [(Units.METRIC, 1.0, "m"), (Units.US, 0.3048, "ft")])
def test_scale_bar_measures_what_it_says(units: Units, unit_m: float, name: str) -> None:
    read = place_of(SITED, units=units)
    (left, _), (right, _) = read.ends("scale")
    (words,) = [
        each for each in read.words if each.endswith(f" {name}") and each.split()[0].isdigit() and len(each) < 7
    ]
    assert right - left == pytest.approx(float(words.split()[0]) * unit_m, abs=2e-3)


def test_north_is_up() -> None:
    (tail_x, tail_y), (tip_x, tip_y) = place_of(SITED).ends("north")
    assert tip_x == pytest.approx(tail_x)
    assert tip_y > tail_y


def drawings() -> list[Drawing]:
    result = plan(SITED)
    assert result.cut is not None
    return [
        cut_from_side(SITED, result.cut, Units.METRIC),
        cut_from_above(SITED, result.cut, Units.METRIC),
        place_from_above(SITED, result.place, Units.METRIC),
    ]


@pytest.mark.parametrize("index", range(3))
def test_drawing_needs_no_inline_style_and_has_a_description(index: int) -> None:
    drawing = drawings()[index]
    root = parsed(drawing)
    assert all("style" not in each.attrib and each.tag != SVG + "style" for each in root.iter())
    ids = [each.attrib["id"] for each in root.iter() if "id" in each.attrib]
    assert root.attrib["aria-labelledby"].split() == [f"{drawing.key}-title", f"{drawing.key}-desc"] == ids[:2]
    assert root.attrib["role"] == "img"
    assert len(drawing.description) > 80


@pytest.mark.parametrize("index", range(3))
def test_parts_are_told_apart_without_colour(index: int) -> None:
    root = parsed(drawings()[index])
    patterns = {each.attrib["id"] for each in root.iter(SVG + "pattern")}
    fills = {each.attrib["fill"] for each in root.iter() if "fill" in each.attrib}
    assert fills == {f"url(#{name})" for name in patterns} != set()


@pytest.mark.parametrize("index", range(3))
def test_everything_stays_on_the_paper(index: int) -> None:
    drawing = drawings()[index]
    root = parsed(drawing)
    for each in (*root.iter(SVG + "text"), *root.iter(SVG + "polygon")):
        pairs = each.attrib.get("points", f"{each.attrib.get('x', 0)},{each.attrib.get('y', 0)}").split()
        for x, y in (pair.split(",") for pair in pairs):
            assert 0 <= float(x) <= drawing.width
            assert 0 <= float(y) <= drawing.height


def test_words_from_outside_are_escaped() -> None:
    sly = Feature(FeatureKind.TARGET, "<script>&\"'", ((3.0, 3.0),))
    markup = place_from_above(SITED, plan(SITED).place, Units.METRIC, (sly,)).markup()
    assert "<script>" not in markup
    assert any("<script>&\"'" in words for words in place_of(SITED, sly).words)
