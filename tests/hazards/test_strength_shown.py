"""The hollow stem of an inspection: drawn to scale, its figures opened, refused where the rules do not hold."""

import re
from math import cos, pi, sin

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from hazards.cross_section import MIDDLE, cross_section
from hazards.models import Defect
from hazards.observation import DefectFound
from hazards.strength import CAUTIONS, Hollow
from hazards.strength_shown import OVER_BARK, PRESENT, SEVERAL, Girth, StemShown, stems_shown
from inventory.access import Role
from inventory.units import Units
from tests.factories import TreeFactory
from tests.hazards.factories import inspect

hollows = st.builds(
    lambda diameter, share, opening: Hollow(diameter, diameter * share, opening),
    st.floats(5, 500),
    st.floats(0.01, 0.99),
    st.one_of(st.just(0.0), st.floats(0.02, 0.97)),
)


def corners(path: str, radius: float) -> list[tuple[float, float]]:
    """The points of a path that lie at a distance from the middle."""
    numbers = [(float(x), float(y)) for x, y in re.findall(r"(?:[ML]|[01]) (-?\d+\.\d) (-?\d+\.\d)", path)]
    return [(x, y) for x, y in numbers if abs(((x - MIDDLE) ** 2 + (y - MIDDLE) ** 2) ** 0.5 - radius) < 0.2]


class TestDrawing:
    @given(hollows)
    def test_stem_shell_and_hollow_keep_their_proportions(self, hollow):
        drawn = cross_section(hollow, bar_cm=10)
        assert 2 * drawn.radius == pytest.approx(drawn.units_per_cm * hollow.diameter_cm)
        assert 2 * drawn.hollow_radius == pytest.approx(drawn.units_per_cm * hollow.decay_diameter_cm, abs=0.11)
        assert drawn.shell_to - drawn.shell_from == pytest.approx(drawn.units_per_cm * hollow.shell_cm, abs=0.11)
        assert drawn.bar == pytest.approx(10 * drawn.units_per_cm, abs=0.06)

    @pytest.mark.parametrize("opening", [0.1, 0.25, 0.5, 0.75])
    def test_the_opening_takes_its_share_of_the_circumference(self, opening):
        drawn = cross_section(Hollow(60, 42, opening), bar_cm=10)
        half = pi * opening
        ends = [(MIDDLE + drawn.radius * sin(side * half), MIDDLE + drawn.radius * cos(half)) for side in (-1, 1)]
        found = corners(drawn.wood, drawn.radius)
        for end in ends:
            assert any(abs(x - end[0]) < 0.2 and abs(y - end[1]) < 0.2 for x, y in found)

    def test_a_hollow_as_large_as_the_line_has_lost_33_per_cent(self):
        drawn = cross_section(Hollow(60, 42), bar_cm=10)
        assert 100 * (drawn.line_radius / drawn.radius) ** 3 == pytest.approx(33, abs=0.1)

    def test_no_line_beside_an_opening(self):
        assert cross_section(Hollow(60, 42, 0.1), bar_cm=10).line_radius == 0


def shell(value: float | None) -> Defect:
    return Defect(part="trunk", kind="decay inside", value=value, unit="cm")


def opening(value: float | None, part: str = "trunk") -> Defect:
    return Defect(part=part, kind="open cavity" if part == "trunk" else "decay or cavity", value=value, unit="%")


def shown(*defects: Defect, girth: Girth | None = None, units: Units = Units.METRIC) -> list[StemShown]:
    return stems_shown(girth or Girth(60.0), defects, units)


class TestFigures:
    def test_a_closed_hollow(self):
        (stem,) = shown(shell(9.0))
        assert {each.label: each.figure for each in stem.figures} == {
            "Loss, Wagener": "34.3 %",
            "Loss, Coder": "24.0 %",
            "Shell over radius, Mattheck & Breloer": "0.30",
            "1 in of shell per 6 in": "not met",
        }
        assert all(each.formula and each.steps and each.source for each in stem.figures)
        assert stem.cautions == (OVER_BARK, *CAUTIONS)

    def test_an_opening_brings_its_own_loss_and_takes_the_ratio_away(self):
        (stem,) = shown(shell(9.0), opening(10.0))
        figures = {each.label: each.figure for each in stem.figures}
        assert figures["Loss with the opening, Smiley & Fraedrich"] == "40.9 %"
        assert "Shell over radius, Mattheck & Breloer" not in figures

    def test_the_steps_carry_the_numbers_in_the_readers_unit(self):
        (stem,) = shown(shell(4 * 2.54), girth=Girth(24 * 2.54), units=Units.US)
        assert stem.figures[0].steps[:2] == (
            "d = D − 2t = 24.000 in − 2 × 4.000 in = 16.000 in",
            "100 × (16.000 in / 24.000 in)³ = 29.6 %",
        )

    def test_the_thinnest_shell_and_the_largest_opening_count(self):
        (stem,) = shown(shell(12.0), shell(9.0), opening(5.0), opening(10.0))
        assert stem.measured == ["D 60.0 cm", "sound shell t 9.0 cm", "opening 10 % of the circumference"]

    def test_says_that_the_diameter_is_of_another_day(self):
        (stem,) = shown(shell(9.0), girth=Girth(60.0, present=True))
        assert stem.cautions[0] == PRESENT


class TestRefusals:
    @pytest.mark.parametrize(
        ("defects", "girth", "sentence"),
        [
            ([shell(9.0)], Girth(None), "No diameter was measured"),
            ([shell(31.0)], Girth(60.0), "The shell is 31 cm in a stem of 60 cm"),
            ([shell(9.0)], Girth(60.0, several_stems=True), SEVERAL),
            ([opening(20.0)], Girth(60.0), "No sound shell was measured"),
            ([opening(20.0, "root collar")], Girth(60.0), "No shell is measured at the root collar"),
            ([shell(9.0), opening(100.0)], Girth(60.0), "The opening is 1; it is a share of the circumference"),
            ([shell(0.0)], Girth(60.0), "The shell is 0 cm in a stem of 60 cm"),
        ],
    )
    def test_outside_the_rules_there_is_a_sentence_and_no_figure(self, defects, girth, sentence):
        (stem,) = shown(*defects, girth=girth)
        assert stem.missing.startswith(sentence)
        assert (stem.drawing, stem.figures) == (None, ())

    @pytest.mark.parametrize("part", ["trunk", "root collar"])
    def test_a_wide_opening_is_critical_without_a_shell(self, part):
        (stem,) = shown(opening(40.0, part))
        assert stem.flags[0].startswith("Critical: the opening is over a third of the circumference")

    def test_what_was_not_measured_is_not_shown(self):
        assert shown(shell(None), opening(None), Defect(part="limb", kind="decay or cavity", value=30.0)) == []


@pytest.mark.django_db
class TestPage:
    def test_the_page_of_the_look_shows_the_stem(self, as_role):
        found = (DefectFound("trunk", "decay inside", 9.0, "cm"), DefectFound("trunk", "open cavity", 40.0, "%"))
        seen = inspect(TreeFactory(dbh_cm=60.0), dbh_cm=60.0, defects=found)
        html = as_role(Role.READER).get(reverse("hazards:inspection", args=[seen.pk])).content.decode()
        assert "The trunk cut across, to scale" in html
        assert "Critical: the opening is over a third" in html
        assert "Smiley &amp; Fraedrich 1992" in html

    def test_a_look_without_a_hollow_has_no_such_chapter(self, as_role):
        seen = inspect(TreeFactory())
        assert (
            "Strength left"
            not in as_role(Role.READER).get(reverse("hazards:inspection", args=[seen.pk])).content.decode()
        )
