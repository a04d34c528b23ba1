"""A hollow stem cut across, to scale: the wood, the hollow, the opening, and how large a closed hollow may be at the line.

Where in the stem the hollow and its opening lie is not measured: the hollow is drawn in the middle, the opening below.
"""

from dataclasses import dataclass
from math import cos, pi, sin

from hazards.strength import LOSS_LINE_PCT, Hollow

SIDE, MARGIN = 400.0, 40.0
MIDDLE = SIDE / 2
SCALE_BAR_Y = SIDE - 8


@dataclass(frozen=True)
class CrossSection:
    """Paths and lengths in units of the drawing; ``line_radius`` is 0 where an opening makes the line meaningless."""

    units_per_cm: float
    wood: str
    radius: float
    hollow_radius: float
    line_radius: float
    shell_from: float
    shell_to: float
    bar: float

    @property
    def bar_end(self) -> float:
        return MARGIN + self.bar


def cross_section(hollow: Hollow, bar_cm: float) -> CrossSection:
    """With a scale bar of ``bar_cm``. The stem fills the paper, whatever its size."""
    radius = MIDDLE - MARGIN
    per_cm = radius / (hollow.diameter_cm / 2)
    inner = per_cm * hollow.decay_diameter_cm / 2
    return CrossSection(
        units_per_cm=per_cm,
        wood=_wood(radius, inner, hollow.opening),
        radius=radius,
        hollow_radius=_short(inner),
        line_radius=0.0 if hollow.opening else _short(radius * (LOSS_LINE_PCT / 100) ** (1 / 3)),
        shell_from=_short(MIDDLE + inner),
        shell_to=_short(MIDDLE + radius),
        bar=_short(bar_cm * per_cm),
    )


def _wood(outer: float, inner: float, opening: float) -> str:
    """The ring without its opening, as a path; a closed ring is two circles."""
    if not opening:
        return f"{_circle(outer)} {_circle(inner)}" if inner else _circle(outer)
    first, last = pi / 2 + pi * opening, pi / 2 - pi * opening
    large = int(opening < 0.5)
    there = f"M {_at(outer, first)} A {outer:.1f} {outer:.1f} 0 {large} 1 {_at(outer, last)}"
    back = (
        f"L {_at(inner, last)} A {inner:.1f} {inner:.1f} 0 {large} 0 {_at(inner, first)}" if inner else f"L {_at(0, 0)}"
    )
    return f"{there} {back} Z"


def _circle(radius: float) -> str:
    half = f"A {radius:.1f} {radius:.1f} 0 1 1"
    return f"M {_at(radius, 0)} {half} {_at(radius, pi)} {half} {_at(radius, 0)} Z"


def _at(radius: float, angle: float) -> str:
    """Angles from the right, towards the lower side of the paper."""
    return f"{MIDDLE + radius * cos(angle):.1f} {MIDDLE + radius * sin(angle):.1f}"


def _short(number: float) -> float:
    return round(number, 1)
