"""The form of a tree in figures: slenderness, lean, live crown, roots lost. Each with a flag where a source draws a line.

* Slenderness H/D: over 80 is a flag for conifers (Wonn & O'Hara 2001). No number holds for broadleaves in cities; 50 was
  rejected by pull tests. It is shown, and flagged for conifers alone.
* Lean: no authority gives an angle. With recent root breakage, a mound or lifted soil it is high (USFS guide to hazard rating
  codes), whatever the angle.
* Live crown ratio: the share of the height that bears live crown; under 30 % is a flag (from memory of common practice).
* Roots lost inside the critical root radius, 12 × D (1 ft for each inch of diameter; 18 × D for an old or stressed tree; both
  from memory): over 40 % is high, less is moderate (USFS guide). A straight cut at the stem takes 35 % of the pull resistance
  (Smiley 2008, Arboriculture & Urban Forestry 34(2)).

Flags advise; the inspector rates.
"""

from dataclasses import dataclass
from math import isfinite

HEIGHT_MAX_M, DIAMETER_MAX_CM, LEAN_MAX_DEG = 130.0, 500.0, 90.0
SLENDER_CONIFER = 80.0
LIVE_CROWN_LINE = 0.30
ROOTS_LOST_LINE = 0.40
CRITICAL_RADIUS, CRITICAL_RADIUS_STRESSED = 12.0, 18.0
"""Times the diameter at breast height."""


@dataclass(frozen=True)
class FormFigure:
    """``value`` in the unit that its function names; ``flag`` is a sentence, empty where no line is passed."""

    value: float
    flag: str
    source: str


def _within(value: float, low: float, high: float, sentence: str) -> None:
    if not (isfinite(value) and low <= value <= high):
        raise ValueError(sentence)


def slenderness(height_m: float, dbh_cm: float, *, conifer: bool) -> FormFigure:
    """Height over diameter at breast height, both in the same unit. ValueError outside the bounds of a tree."""
    _within(height_m, 1.4, HEIGHT_MAX_M, f"The height is {height_m:g} m; it lies from 1.4 to {HEIGHT_MAX_M:g} m.")
    _within(dbh_cm, 0.1, DIAMETER_MAX_CM, f"The diameter is {dbh_cm:g} cm; it lies from 0.1 to {DIAMETER_MAX_CM:g} cm.")
    ratio = 100 * height_m / dbh_cm
    slender = conifer and ratio > SLENDER_CONIFER
    flag = f"Slenderness of {ratio:.0f}: over 80 for a conifer." if slender else ""
    return FormFigure(ratio, flag, "Wonn & O'Hara 2001, for conifers; no number holds for broadleaves in cities")


def lean(angle_deg: float, *, soil_lifted: bool) -> FormFigure:
    """Degrees from upright. Not the angle is flagged but the soil or the roots that gave way."""
    _within(
        angle_deg, 0, LEAN_MAX_DEG, f"The lean is {angle_deg:g}°; it lies from 0 to {LEAN_MAX_DEG:g}° from upright."
    )
    flag = "A lean with lifted soil or torn roots: high, whatever its angle." if soil_lifted and angle_deg > 0 else ""
    return FormFigure(angle_deg, flag, "USFS guide to hazard rating codes; no authority gives an angle")


def live_crown_ratio(share: float) -> FormFigure:
    """Of the height, 0 to 1."""
    _within(share, 0, 1, f"The live crown is {share:g} of the height; it is a share from 0 to 1.")
    flag = f"Live crown of {100 * share:.0f} % of the height: under 30 %." if share < LIVE_CROWN_LINE else ""
    return FormFigure(share, flag, "Line from memory of common practice")


def roots_lost(share: float) -> FormFigure:
    """Of the roots inside the critical radius, 0 to 1."""
    _within(share, 0, 1, f"The roots lost are {share:g} of those near the stem; it is a share from 0 to 1.")
    flag = ""
    if share > 0:
        grade = "high, over 40 %" if share > ROOTS_LOST_LINE else "moderate"
        flag = f"{100 * share:.0f} % of the roots near the stem lost: {grade}."
    return FormFigure(share, flag, "USFS guide to hazard rating codes")


def critical_root_radius_m(dbh_cm: float, *, old_or_stressed: bool = False) -> float:
    """Inside it lost roots count."""
    _within(dbh_cm, 0.1, DIAMETER_MAX_CM, f"The diameter is {dbh_cm:g} cm; it lies from 0.1 to {DIAMETER_MAX_CM:g} cm.")
    return dbh_cm / 100 * (CRITICAL_RADIUS_STRESSED if old_or_stressed else CRITICAL_RADIUS)
