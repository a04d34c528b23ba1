"""Losses of hollow stems against published tables and against the mechanics of a tube, integrated numerically.

Sources: Wagener 1963 (USFS); Coder 1989; Smiley & Fraedrich 1992, J. Arboric. 18(4); Kane & Ryan 2004 (the rows of their table
that are named below); Huang et al. 2017, R. Soc. Open Sci. 4:160972; USFS guide to hazard rating codes.
"""

import io
import json
from math import pi

import pytest
from django.core.management import CommandError, call_command
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from hazards.strength import CAUTIONS, Hollow, coder_pct, open_cavity_pct, strength, wagener_pct

# Worked by hand from the published formulas: D, t, r -> Wagener, Coder, Smiley & Fraedrich, per cent.
WORKED = [
    ((24, 4, 0.0), (29.6296, 19.7531, 29.6296)),
    ((24, 4, 0.15), (29.6296, 19.7531, 40.1852)),
    ((30, 4.5, 0.10), (34.3, 24.01, 40.87)),
    ((20, 2, 0.0), (51.2, 40.96, 51.2)),
    ((36, 6, 0.25), (29.6296, 19.7531, 47.2222)),
]


@pytest.mark.parametrize(("measured", "losses"), WORKED)
def test_worked_examples(measured, losses):
    found = strength(Hollow.with_shell(*measured))
    assert (found.wagener_pct, found.coder_pct, found.open_cavity_pct) == pytest.approx(losses, abs=5e-5)


@pytest.mark.parametrize(("hollow_share", "coder", "wagener"), [(0.6037, 13, 22), (0.4481, 4, 9)])
def test_rows_of_kane_and_ryan_2004(hollow_share, coder, wagener):
    hollow = Hollow(100, 100 * hollow_share)
    assert (round(coder_pct(hollow)), round(wagener_pct(hollow))) == (coder, wagener)


def test_a_shell_of_three_tenths_leaves_76_per_cent_as_in_huang_et_al_2017():
    assert round(100 - coder_pct(Hollow.with_shell(100, 15))) == 76


def second_moment(radius: float, centre: float, axis: float) -> float:
    """Of a disc about a line, by integrating strips: ∫ (x − axis)² · chord dx."""
    return quad(
        lambda x: (x - axis) ** 2 * 2 * max(0.0, radius**2 - (x - centre) ** 2) ** 0.5, centre - radius, centre + radius
    )[0]


def loss_of_section_modulus(stem: float, hollow: float, off_centre: float) -> float:
    """Per cent, bent about the weakest direction, from the shapes alone."""
    area = stem**2 - hollow**2
    centroid = -(hollow**2) * off_centre / area
    moment = second_moment(stem, 0, centroid) - second_moment(hollow, off_centre, centroid)
    return 100 * (1 - moment / (stem - centroid) / (pi * stem**3 / 4))


@pytest.mark.parametrize(("stem", "hollow"), [(12, 8), (30, 10), (25, 24)])
def test_coder_is_the_section_modulus_of_a_concentric_tube(stem, hollow):
    assert coder_pct(Hollow(2 * stem, 2 * hollow)) == pytest.approx(loss_of_section_modulus(stem, hollow, 0), rel=1e-6)


def test_the_caution_about_a_hollow_off_the_centre_is_true():
    assert round(loss_of_section_modulus(12, 8, 2)) == 37
    assert round(coder_pct(Hollow(24, 16))) == 20
    assert any("37 % where the formula says 20 %" in caution for caution in CAUTIONS)


hollows = st.builds(
    lambda diameter, share, opening: Hollow(diameter, diameter * share, opening),
    st.floats(1, 500),
    st.floats(0, 0.99),
    st.floats(0, 0.99),
)


@given(hollows)
def test_losses_lie_between_nothing_and_all_and_an_opening_only_adds(hollow):
    assert 0 <= coder_pct(hollow) <= wagener_pct(hollow) <= open_cavity_pct(hollow) + 1e-9 <= 100 + 1e-9


@given(hollows, st.floats(0.1, 10))
def test_losses_do_not_depend_on_the_unit(hollow, unit):
    if hollow.diameter_cm * unit > 500:
        return
    other = Hollow(hollow.diameter_cm * unit, hollow.decay_diameter_cm * unit, hollow.opening)
    assert open_cavity_pct(other) == pytest.approx(open_cavity_pct(hollow), abs=1e-6)


class TestFlags:
    def test_none_for_a_sound_stem(self):
        assert strength(Hollow(60, 0)).flags == ()

    def test_the_shell_rule_is_met_on_its_line(self):
        assert strength(Hollow.with_shell(24, 4)).shell_rule_met
        assert not strength(Hollow.with_shell(24, 3.9)).shell_rule_met

    def test_every_line_of_a_thin_shell(self):
        assert strength(Hollow.with_shell(50, 5)).flags == (
            "Loss of 51.2 % (Wagener): at or over the 33 % line.",
            "Loss of 41.0 % (Coder): caution.",
            "Shell of 0.20 of the radius (Mattheck & Breloer): under 0.30.",
            "Less than 1 in of sound wood for each 6 in of diameter (USFS).",
        )

    def test_an_opening_hides_the_shell_ratio(self):
        found = strength(Hollow.with_shell(50, 5, 0.1))
        assert found.shell_ratio is None
        assert not any("radius" in flag for flag in found.flags)

    def test_an_opening_over_a_third_is_critical_whatever_the_figures(self):
        assert strength(Hollow(60, 0, 0.34)).flags[0].startswith("Critical: ")
        assert not any("Critical" in flag for flag in strength(Hollow(60, 0, 1 / 3)).flags)

    def test_the_shell_ratio_flag_starts_below_its_line(self):
        assert not any("radius" in flag for flag in strength(Hollow.with_shell(100, 15)).flags)
        assert any("radius" in flag for flag in strength(Hollow.with_shell(100, 14.9)).flags)


NAN = float("nan")


@pytest.mark.parametrize(
    "measured",
    [
        (0, 0, 0),
        (501, 0, 0),
        (60, 60, 0),
        (60, -1, 0),
        (60, 10, 1),
        (60, 10, -0.1),
        (NAN, 1, 0),
        (60, NAN, 0),
        (60, 1, NAN),
    ],
)
def test_refuses_outside_its_bounds(measured):
    with pytest.raises(ValueError, match=r"lies|share"):
        Hollow(*measured)


@pytest.mark.parametrize("shell_cm", [0, -1, 31, NAN])
def test_refuses_a_shell_that_cannot_be(shell_cm):
    with pytest.raises(ValueError, match="up to half the diameter"):
        Hollow.with_shell(60, shell_cm)


class TestCommand:
    def ask(self, monkeypatch, text: str, *arguments: str) -> str:
        monkeypatch.setattr("sys.stdin", io.StringIO(text))
        out = io.StringIO()
        call_command("strength", *arguments, stdout=out)
        return out.getvalue()

    def test_answers_in_json(self, monkeypatch):
        found = json.loads(self.ask(monkeypatch, '{"diameter_cm": 24, "shell_cm": 4, "opening": 0.15}', "--json"))
        assert found == {
            "wagener_pct": pytest.approx(29.6296, abs=5e-5),
            "coder_pct": pytest.approx(19.7531, abs=5e-5),
            "open_cavity_pct": pytest.approx(40.1852, abs=5e-5),
            "shell_ratio": None,
            "shell_rule_met": True,
            "flags": ["Loss of 40.2 % (Smiley & Fraedrich): at or over the 33 % line."],
        }

    def test_takes_the_decayed_column_instead(self, monkeypatch):
        found = json.loads(self.ask(monkeypatch, '{"diameter_cm": 24, "decay_diameter_cm": 16}', "--json"))
        assert found["shell_ratio"] == pytest.approx(1 / 3)

    def test_says_it_in_words_with_the_cautions(self, monkeypatch):
        said = self.ask(monkeypatch, '{"diameter_cm": 24, "shell_cm": 4}')
        assert "Loss by Wagener 29.6 %, by Coder 19.8 %." in said
        assert CAUTIONS[0] in said

    @pytest.mark.parametrize(
        ("text", "words", "status"),
        [
            ("wood", "is not JSON", 2),
            ("[]", "Give diameter_cm", 2),
            ('{"diameter_cm": 24, "girth": 3, "shell_cm": 1}', "Give diameter_cm", 2),
            ('{"diameter_cm": 24}', "one of the two", 2),
            ('{"diameter_cm": 24, "shell_cm": 4, "decay_diameter_cm": 16}', "one of the two", 2),
            ('{"diameter_cm": "24", "shell_cm": 4}', "give a number", 2),
            ('{"diameter_cm": 24, "shell_cm": 13}', "up to half the diameter", 1),
            ('{"diameter_cm": 24, "shell_cm": 4, "opening": 1.5}', "share of the circumference", 1),
        ],
    )
    def test_refuses_in_a_sentence(self, monkeypatch, text, words, status):
        with pytest.raises(CommandError, match=words) as refused:
            self.ask(monkeypatch, text, "--json")
        assert refused.value.returncode == status
