"""The form of a tree as the page of an inspection shows it: figures that open, and the flags that they raise."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from hazards.defects import LEAN, LIFTED_SOIL, LIVE_CROWN, NEW_LEAN, ROOTS_CUT
from hazards.models import Defect, Part
from hazards.strength_shown import Figure, Girth
from hazards.tree_form import FormFigure, critical_root_radius_m, lean, live_crown_ratio, roots_lost, slenderness
from inventory.models import Condition
from inventory.units import Units, distance, small_length


@dataclass(frozen=True)
class FormShown:
    flags: list[str]
    figures: list[Figure]


@dataclass(frozen=True)
class Stature:
    """What of the tree itself the figures need."""

    girth: Girth
    height_m: float | None
    conifer: bool
    condition: str


def form_shown(stature: Stature, defects: Iterable[Defect], units: Units) -> FormShown:
    """Every figure whose measures were taken; one that the rules refuse is left out."""
    found = list(defects)
    made = [
        _slenderness(stature, units),
        _lean(found),
        _live_crown(found),
        _roots(stature, found, units),
    ]
    pairs = [each for each in made if each is not None]
    return FormShown([flag for flag, _ in pairs if flag], [figure for _, figure in pairs])


Pair = tuple[str, Figure]


def _measured(defects: Iterable[Defect], part: str, kind: str) -> list[float]:
    return [each.value for each in defects if (each.part, each.kind) == (part, kind) and each.value is not None]


def _pair(form: FormFigure, label: str, figure: str, formula: str, *steps: str) -> Pair:
    return form.flag, Figure(label, figure, formula, steps, form.source)


def _slenderness(stature: Stature, units: Units) -> Pair | None:
    height_m, dbh_cm = stature.height_m, stature.girth.diameter_cm
    if height_m is None or dbh_cm is None or stature.girth.several_stems:
        return None
    try:
        form = slenderness(height_m, dbh_cm, conifer=stature.conifer)
    except ValueError:
        return None
    step = f"{distance(height_m, units)} / {small_length(dbh_cm, units)} = {form.value:.0f}"
    line = "Line for conifers: 80." if stature.conifer else "No line holds for broadleaves in cities; it is shown only."
    return _pair(form, "Slenderness", f"{form.value:.0f}", "H/D", step, line)


def _lean(defects: list[Defect]) -> Pair | None:
    angle = max(_measured(defects, Part.TRUNK, LEAN), default=None)
    if angle is None:
        return None
    found = {(each.part, each.kind) for each in defects}
    moved = bool({(Part.TRUNK, NEW_LEAN), (Part.ROOTS, LIFTED_SOIL)} & found)
    said = "The soil has lifted or the lean is new." if moved else "Nothing says that soil or roots gave way."
    return _pair(lean(angle, soil_lifted=moved), "Lean", f"{angle:.0f}°", "from upright", said)


def _live_crown(defects: list[Defect]) -> Pair | None:
    share = min(_measured(defects, Part.CROWN, LIVE_CROWN), default=None)
    if share is None:
        return None
    return _pair(live_crown_ratio(share / 100), "Live crown", f"{share:.0f} %", "live crown / H", "Line: 30 %.")


def _roots(stature: Stature, defects: list[Defect], units: Units) -> Pair | None:
    share = max(_measured(defects, Part.ROOTS, ROOTS_CUT), default=None)
    if share is None:
        return None
    steps = [
        "Line: 40 % of those inside the critical radius. A straight cut at the stem takes 35 % of the pull resistance."
    ]
    if dbh_cm := stature.girth.diameter_cm:
        stressed = stature.condition in {Condition.POOR, Condition.DYING, Condition.DEAD}
        radius_m = critical_root_radius_m(dbh_cm, old_or_stressed=stressed)
        times = 18 if stressed else 12
        steps.insert(0, f"Critical radius {times} × {small_length(dbh_cm, units)} = {distance(radius_m, units)}.")
    return _pair(roots_lost(share / 100), "Roots lost", f"{share:.0f} %", "of the roots near the stem", *steps)
