"""The colours of the style sheet against WCAG 2.2: 4.5 : 1 for text (1.4.3), 3 : 1 for edges and signs (1.4.11).

Relative luminance and contrast ratio as defined in WCAG 2.2, https://www.w3.org/TR/WCAG22/#dfn-relative-luminance.
"""

import itertools
import re
from itertools import pairwise
from pathlib import Path

import pytest

SHEET = Path(__file__).resolve().parents[2] / "config" / "static" / "css" / "hingewood.css"
SCHEMES = ("light", "dark")
RAMP = ("low", "moderate", "high", "extreme")

TEXT_PAIRS = [
    ("ink", "paper"),
    ("ink", "sheet"),
    ("ink", "sunken"),
    ("ink", "clay-wash"),
    ("ink-soft", "paper"),
    ("ink-soft", "sheet"),
    ("ink-soft", "sunken"),
    ("clay", "paper"),
    ("clay", "sheet"),
    ("clay", "sunken"),
    ("clay-deep", "paper"),
    ("clay-deep", "sheet"),
    ("clay-deep", "sunken"),
    ("on-clay", "clay"),
    ("on-clay", "clay-deep"),
    ("paper", "ink"),
    *((f"on-{rating}", rating) for rating in RAMP),
]
EDGE_PAIRS = [
    ("edge", "paper"),
    ("edge", "sheet"),
    ("plum-edge", "paper"),
    ("plum-edge", "sheet"),
    ("clay", "clay-wash"),
    ("high", "paper"),
    ("extreme", "paper"),
]


def declared(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6});", block))


def colours(scheme: str) -> dict[str, str]:
    css = SHEET.read_text()
    light, dark = (declared(block) for block in re.findall(r":root \{(.*?)\}", css, re.DOTALL))
    return light if scheme == "light" else light | dark


def field_colours(scheme: str) -> dict[str, str]:
    """On a field page some are darker, or lighter in the dark."""
    light, dark = (declared(block) for block in re.findall(r"\.field-page \{([^}]*#[^}]*)\}", SHEET.read_text()))
    return colours(scheme) | (light if scheme == "light" else light | dark)


def luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    # The ends of the scale by definition; #767676 and #949494 on white are the usual edges of 4.5 and 3 (computed by hand).
    [
        ("#000000", "#ffffff", 21.0),
        ("#ffffff", "#ffffff", 1.0),
        ("#767676", "#ffffff", 4.54),
        ("#949494", "#ffffff", 3.03),
    ],
)
def test_the_ratio_is_the_published_one(one: str, other: str, expected: float) -> None:
    assert contrast(one, other) == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize(("text", "ground"), TEXT_PAIRS)
def test_text_is_readable(scheme: str, text: str, ground: str) -> None:
    named = colours(scheme)
    assert contrast(named[text], named[ground]) >= 4.5


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize(("edge", "ground"), EDGE_PAIRS)
def test_edges_and_signs_are_seen(scheme: str, edge: str, ground: str) -> None:
    named = colours(scheme)
    assert contrast(named[edge], named[ground]) >= 3


@pytest.mark.parametrize("scheme", SCHEMES)
def test_each_step_of_the_risk_ramp_stands_further_from_the_paper(scheme: str) -> None:
    named = colours(scheme)
    steps = [contrast(named[rating], named["paper"]) for rating in RAMP]
    assert steps == sorted(steps)
    # Seen as greys (in print, by colour-blind eyes) neighbours still differ.
    assert all(contrast(named[a], named[b]) >= 1.4 for a, b in pairwise(RAMP))


def test_the_dark_scheme_names_no_colour_that_the_light_one_lacks() -> None:
    css = SHEET.read_text()
    light, dark = (declared(block) for block in re.findall(r":root \{(.*?)\}", css, re.DOTALL))
    assert set(dark) == set(light)


def test_colours_stand_in_the_properties_alone() -> None:
    _, _, rest = SHEET.read_text().partition("/* ---- Ground")
    assert rest
    assert not re.findall(r"#[0-9a-fA-F]{3,8}\b|rgba?\(|hsla?\(", rest)


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize(
    ("text", "ground"),
    [
        *itertools.product(("ink", "ink-soft", "clay"), ("paper", "sheet", "sunken")),
        ("ink", "clay-wash"),
        ("on-clay", "clay"),
        ("paper", "ink"),
        *((f"on-{rating}", rating) for rating in RAMP),
    ],
)
def test_a_field_page_is_read_in_the_sun(scheme: str, text: str, ground: str) -> None:
    """The enhanced contrast of WCAG 2.2 (1.4.6): seven to one."""
    named = field_colours(scheme)
    assert contrast(named[text], named[ground]) >= 7


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("ground", ["paper", "sheet"])
def test_the_edges_of_a_field_page_are_seen_in_the_sun(scheme: str, ground: str) -> None:
    named = field_colours(scheme)
    assert contrast(named["edge"], named[ground]) >= 4.5
