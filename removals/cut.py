"""Geometry of the felling cut in a round stem: notch, hinge and back cut.

Exact for a circular section of diameter D inside bark at the cut. Lengths in metres, angles in degrees.
Which face slopes (OSHA logging eTool): conventional has a level floor and a sloping roof, Humboldt a level roof and a
sloping floor, an open face slopes both.
"""

import math
from dataclasses import dataclass
from enum import StrEnum


class NotchKind(StrEnum):
    CONVENTIONAL = "conventional"
    HUMBOLDT = "humboldt"
    OPEN_FACE = "open face"


OPEN_FACE_BELOW_DEG = 20.0
"""Part of an open face's opening that lies below the apex (OSHA logging eTool: 70 above and 20 below)."""

BACK_CUT_SHARE = 0.10
BACK_CUT_LEAST_M = 0.03
"""Back cut D/10 and at least 3 cm above the level cut (a saw maker's rule; OSHA's inch, 29 CFR 1910.266(h)(2)(vii),
is then kept as well)."""

DBH_TO_CUT = 1.10
DBH_TO_CUT_LOW = 1.00
DBH_TO_CUT_HIGH = 1.25
BREAST_HEIGHT_M = 1.37


@dataclass(frozen=True, slots=True)
class CutGeometry:
    """All lengths in metres, for the drawing and the saw."""

    notch_depth_m: float
    hinge_thickness_m: float
    hinge_length_m: float
    back_cut_m: float
    back_cut_height_m: float
    face_height_above_m: float
    face_height_below_m: float
    stem_behind_hinge_m: float

    @property
    def face_height_m(self) -> float:
        return self.face_height_above_m + self.face_height_below_m


def hinge_length_m(diameter_m: float, notch_depth_m: float) -> float:
    """Chord of the stem at the apex of the notch: L = 2 sqrt(r² - (r - n)²), m. ValueError outside the stem."""
    if not 0 <= notch_depth_m <= diameter_m:
        raise ValueError("The notch cannot be deeper than the stem is thick.")
    radius_m = diameter_m / 2
    return 2 * math.sqrt(max(0.0, radius_m**2 - (radius_m - notch_depth_m) ** 2))


def stem_behind_hinge_m(diameter_m: float, notch_depth_m: float, hinge_thickness_m: float) -> float:
    """Stem axis behind the middle of the hinge, p = D/2 - n - t/2, m; negative when the axis stands before it."""
    return diameter_m / 2 - notch_depth_m - hinge_thickness_m / 2


def back_cut_height_m(kind: NotchKind, diameter_m: float) -> float:
    """Back cut above the level cut, m; an open face has no level cut, so its back cut meets the apex (0)."""
    if kind is NotchKind.OPEN_FACE:
        return 0.0
    return max(BACK_CUT_LEAST_M, BACK_CUT_SHARE * diameter_m)


def face_heights_m(kind: NotchKind, notch_depth_m: float, opening_deg: float) -> tuple[float, float]:
    """Height of the notch at the bark above and below the apex, m: n tan(angle) on each sloping side."""
    below_deg = {NotchKind.CONVENTIONAL: 0.0, NotchKind.HUMBOLDT: opening_deg}.get(kind, OPEN_FACE_BELOW_DEG)
    above_deg = opening_deg - below_deg
    return notch_depth_m * _tan(above_deg), notch_depth_m * _tan(below_deg)


def cut_geometry(
    kind: NotchKind, diameter_m: float, notch_share: float, hinge_share: float, opening_deg: float
) -> CutGeometry:
    """The whole cut from the shares of the diameter; ValueError when notch and hinge leave no back cut."""
    notch_m = notch_share * diameter_m
    hinge_m = hinge_share * diameter_m
    if notch_m + hinge_m >= diameter_m:
        raise ValueError("Notch and hinge leave nothing for the back cut.")
    above_m, below_m = face_heights_m(kind, notch_m, opening_deg)
    return CutGeometry(
        notch_depth_m=notch_m,
        hinge_thickness_m=hinge_m,
        hinge_length_m=hinge_length_m(diameter_m, notch_m),
        back_cut_m=diameter_m - notch_m - hinge_m,
        back_cut_height_m=back_cut_height_m(kind, diameter_m),
        face_height_above_m=above_m,
        face_height_below_m=below_m,
        stem_behind_hinge_m=stem_behind_hinge_m(diameter_m, notch_m, hinge_m),
    )


def dbh_factor(cut_height_m: float) -> float:
    """Diameter at the cut inside bark over dbh: 1.10 (range 1.00-1.25), 1.00 when cut above breast height."""
    return 1.0 if cut_height_m > BREAST_HEIGHT_M else DBH_TO_CUT


def _tan(angle_deg: float) -> float:
    return math.tan(math.radians(angle_deg))
