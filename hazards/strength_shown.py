"""The strength left in a hollow stem as the page of an inspection shows it: a drawing, and figures that open.

The diameter is that at breast height, over the bark: bark makes D, and so the loss for a given shell, too large rather than
too small.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from hazards.cross_section import CrossSection, cross_section
from hazards.defects import CAVITY, DECAY_INSIDE, OPEN_CAVITY
from hazards.models import Defect, Part
from hazards.strength import (
    CAUTIONS,
    LOSS_LINE_PCT,
    SHELL_RATIO_LINE,
    Hollow,
    Strength,
    coder_pct,
    open_cavity_pct,
    opening_flag,
    shell_ratio,
    shell_rule_met,
    strength,
    wagener_pct,
)
from inventory.units import CM_PER_IN, Units, small_length

OVER_BARK = "The diameter was taken at breast height over the bark; with the bark off, the same shell would give a smaller loss."


PRESENT = "This look measured no diameter; the tree's present one is used."
SEVERAL = "The tree has several stems, and which one is hollow is not recorded: no loss is worked out."


@dataclass(frozen=True)
class Girth:
    """The diameter at breast height that counts for a look; ``present``: the tree's of today, for the look has none."""

    diameter_cm: float | None
    present: bool = False
    several_stems: bool = False


@dataclass(frozen=True)
class Figure:
    """One figure of `components/open_number.html`."""

    label: str
    figure: str
    formula: str
    steps: Sequence[str]
    source: str


@dataclass(frozen=True)
class StemShown:
    """``drawing`` and ``figures`` are missing where ``missing`` says why."""

    part: str
    measured: Sequence[str]
    flags: Sequence[str]
    missing: str = ""
    drawing: CrossSection | None = None
    bar_label: str = ""
    figures: Sequence[Figure] = ()
    cautions: Sequence[str] = ()


def stems_shown(girth: Girth, defects: Iterable[Defect], units: Units) -> list[StemShown]:
    """For the trunk and the root collar, where a shell or an opening was measured."""
    found = [defect for defect in defects if defect.value is not None]
    # A shell of nothing is a measure too: the rules refuse it in words.
    inside = [defect for defect in found if (defect.part, defect.kind) == (Part.TRUNK, DECAY_INSIDE)]
    shells = [defect.value for defect in inside if defect.value is not None]
    trunk = _opening(found, Part.TRUNK, OPEN_CAVITY)
    collar = _opening(found, Part.ROOT_COLLAR, CAVITY)
    shown = []
    if shells or trunk is not None:
        shown.append(_trunk(girth, min(shells, default=None), trunk or 0.0, units))
    if collar is not None:
        shown.append(
            _only_open(Part.ROOT_COLLAR, collar, "No shell is measured at the root collar: no loss is worked out.")
        )
    return shown


def _opening(defects: Iterable[Defect], part: str, kind: str) -> float | None:
    """As a share of the circumference, the largest of several."""
    shares = [defect.value / 100 for defect in defects if (defect.part, defect.kind) == (part, kind) and defect.value]
    return max(shares, default=None)


def _trunk(girth: Girth, shell_cm: float | None, opening: float, units: Units) -> StemShown:
    if shell_cm is None:
        return _only_open(Part.TRUNK, opening, "No sound shell was measured: no loss is worked out.")
    if girth.several_stems:
        return _only_open(Part.TRUNK, opening, SEVERAL)
    if girth.diameter_cm is None:
        return _only_open(Part.TRUNK, opening, "No diameter was measured: no loss is worked out.")
    try:
        hollow = Hollow.with_shell(girth.diameter_cm, shell_cm, opening)
    except ValueError as refused:
        return _only_open(Part.TRUNK, opening, f"{refused} No loss is worked out.")
    return _whole(hollow, units, present=girth.present)


def _only_open(part: str, opening: float, missing: str) -> StemShown:
    measured = [_opening_words(opening)] if opening else []
    return StemShown(part, measured, [flag for flag in [opening_flag(opening)] if flag], missing)


def _opening_words(opening: float) -> str:
    return f"opening {100 * opening:.0f} % of the circumference"


def _whole(hollow: Hollow, units: Units, *, present: bool) -> StemShown:
    found = strength(hollow)
    bar_cm = 10 * CM_PER_IN if units is Units.US else 20.0
    bar_cm = bar_cm if bar_cm < hollow.diameter_cm else bar_cm / 10
    return StemShown(
        part=Part.TRUNK,
        measured=[
            f"D {small_length(hollow.diameter_cm, units)}",
            f"sound shell t {small_length(hollow.shell_cm, units)}",
            *([_opening_words(hollow.opening)] if hollow.opening else []),
        ],
        flags=found.flags,
        drawing=cross_section(hollow, bar_cm),
        bar_label=f"{bar_cm / CM_PER_IN:.0f} in" if units is Units.US else f"{bar_cm:.0f} cm",
        figures=figures(hollow, found, units),
        cautions=(*((PRESENT,) if present else ()), OVER_BARK, *CAUTIONS),
    )


def figures(hollow: Hollow, found: Strength, units: Units) -> list[Figure]:
    """Each measure with its formula, the numbers in it, its line and its source."""
    big, small = small_length(hollow.diameter_cm, units), small_length(hollow.decay_diameter_cm, units)
    column = f"d = D − 2t = {big} − 2 × {small_length(hollow.shell_cm, units)} = {small}"
    return [
        Figure(
            "Loss, Wagener",
            f"{found.wagener_pct:.1f} %",
            "100 d³/D³",
            (column, f"100 × ({small} / {big})³ = {wagener_pct(hollow):.1f} %", f"Line: {LOSS_LINE_PCT:g} %."),
            "Wagener 1963, USFS Pacific Southwest",
        ),
        Figure(
            "Loss, Coder",
            f"{found.coder_pct:.1f} %",
            "100 d⁴/D⁴",
            (column, f"100 × ({small} / {big})⁴ = {coder_pct(hollow):.1f} %", "Caution from 20 %, hazard from 45 %."),
            "Coder 1989: the loss of section modulus of a concentric tube; lines from memory",
        ),
        *([_open_figure(hollow, column)] if hollow.opening else [_ratio_figure(hollow, units)]),
        Figure(
            "1 in of shell per 6 in",
            "met" if found.shell_rule_met else "not met",
            "t ≥ D/6",
            (
                f"{small_length(hollow.shell_cm, units)} {'≥' if shell_rule_met(hollow) else '<'} "
                f"{small_length(hollow.diameter_cm / 6, units)}",
            ),
            "USFS guide to hazard rating codes",
        ),
    ]


def _open_figure(hollow: Hollow, column: str) -> Figure:
    loss = open_cavity_pct(hollow)
    return Figure(
        "Loss with the opening, Smiley & Fraedrich",
        f"{loss:.1f} %",
        "100 [d³ + r (D³ − d³)]/D³",
        (
            column,
            f"{wagener_pct(hollow):.1f} % + {hollow.opening:.2f} × (100 − {wagener_pct(hollow):.1f}) % = {loss:.1f} %",
            f"Line: {LOSS_LINE_PCT:g} %. t/R holds for closed hollows only and is left out.",
        ),
        "Smiley & Fraedrich 1992, Journal of Arboriculture 18(4)",
    )


def _ratio_figure(hollow: Hollow, units: Units) -> Figure:
    ratio = shell_ratio(hollow) or 0.0
    radius = small_length(hollow.diameter_cm / 2, units)
    return Figure(
        "Shell over radius, Mattheck & Breloer",
        f"{ratio:.2f}",
        "t/R",
        (f"{small_length(hollow.shell_cm, units)} / {radius} = {ratio:.2f}", f"Line: {SHELL_RATIO_LINE:.2f}."),
        "Mattheck & Breloer; for closed hollows",
    )
