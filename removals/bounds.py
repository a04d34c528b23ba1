"""Bounds of the felling method. Outside them a plan is refused; it is never extrapolated.

The bounds are this program's own unless a source is named; a city may tighten them, never loosen them. Covered: a
single-stem tree felled from the ground in one piece with notch, hinge and back cut, with or without a line or wedges.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from enum import StrEnum
from typing import cast

from inventory.units import CM_PER_IN, M_PER_FT
from removals import wording
from removals.cut import NotchKind
from removals.felling_input import FellingInput, Haul, Refusal

TOLERANCE = 1e-9


class Area(StrEnum):
    """The figures that a refusal takes away; the forces fall with every refusal."""

    CUT = "cut"
    WEIGHT = "weight"
    FORCES = "forces"
    PLACE = "place"


@dataclass(frozen=True, slots=True)
class Outside:
    area: Area
    sentence: str


@dataclass(frozen=True, slots=True)
class Range:
    low: float
    high: float

    def holds(self, value: float) -> bool:
        return self.low - TOLERANCE <= value <= self.high + TOLERANCE


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """Least and greatest value of each input; build a city's own with `tightened`."""

    diameter_m: Range = Range(0.15, 1.00)
    height_m: Range = Range(4.0, 40.0)
    notch_share: Range = Range(0.20, 1 / 3)
    hinge_share: Range = Range(0.10, 0.15)
    opening_deg: Range = Range(45.0, 70.0)
    open_face_opening_deg: Range = Range(70.0, 90.0)
    cut_height_m: Range = Range(0.1, 1.2)
    back_lean_deg: Range = Range(-15.0, 10.0)
    winch_back_lean_deg: Range = Range(-15.0, 5.0)
    plain_cut_lean_deg: Range = Range(-5.0, 10.0)
    plain_cut_lean_splitting_deg: Range = Range(-3.0, 10.0)
    side_lean_deg: Range = Range(-10.0, 10.0)
    slope_pct: Range = Range(0.0, 35.0)
    line_angle_deg: Range = Range(0.0, 45.0)
    line_off_lay_deg: Range = Range(-15.0, 15.0)
    sound_shell_share: Range = Range(0.3, 1.0)
    gust_ms: Range = Range(0.0, 9.0)
    zone_multiple: Range = Range(1.0, math.inf)
    clear_heights: Range = Range(1.1, math.inf)
    wire_heights: Range = Range(1.5, math.inf)
    months_dead: Range = Range(0.0, 12.0)

    def __post_init__(self) -> None:
        for each in fields(self):
            mine: Range = getattr(self, each.name)
            method = cast("Range", each.default)
            if not (method.low <= mine.low and mine.high <= method.high):
                raise ValueError(f"{each.name} may be tightened, never loosened: {method.low:g} to {method.high:g}.")

    def tightened(self, **ranges: Range) -> "Bounds":
        """These bounds with some of them narrower; ValueError for a wider one."""
        return replace(self, **ranges)


METHOD_BOUNDS = Bounds()

ASH_AND_ELM = frozenset({"Fraxinus", "Ulmus"})
DEAD_BY_DIEBACK = 0.5
WIRE_BASE_M = 10 * M_PER_FT
WIRE_BASE_KV = 50.0
WIRE_STEP_M = 4 * CM_PER_IN / 100
WIRE_STEP_KV = 10.0


def approach_distance_m(kilovolts: float) -> float:
    """Least distance from a line of that voltage for people not qualified for line clearance, m.

    10 ft to 50 kV and 4 in for each 10 kV above: 29 CFR 1910.333(c)(3).
    """
    return WIRE_BASE_M + WIRE_STEP_M * max(0.0, kilovolts - WIRE_BASE_KV) / WIRE_STEP_KV


def counts_as_dead(inp: FellingInput) -> bool:
    """Dead, or a live ash or elm that has lost half of its crown or more."""
    health = inp.health
    declined = health.genus in ASH_AND_ELM and (health.dieback_share or 0.0) >= DEAD_BY_DIEBACK
    return health.dead or declined


def outside_reasons(inp: FellingInput, bounds: Bounds = METHOD_BOUNDS) -> tuple[Outside, ...]:
    """Every bound that the inputs break, one sentence each; empty when the method applies."""
    checks = (_cut, _tree, _lean, _line, _wood, _air, _place, _wires)
    return tuple(reason for check in checks for reason in check(inp, bounds))


def _cut(inp: FellingInput, bounds: Bounds) -> Iterator[Outside]:
    opening = bounds.open_face_opening_deg if inp.notch is NotchKind.OPEN_FACE else bounds.opening_deg
    rows = (
        ("The diameter at the cut", inp.diameter_m, bounds.diameter_m, wording.length),
        ("The notch share", inp.notch_share, bounds.notch_share, wording.percent),
        ("The hinge share", inp.hinge_share, bounds.hinge_share, wording.percent),
        (f"The opening of a notch ({inp.notch})", inp.opening_deg, opening, wording.degrees),
        ("The cut height", inp.cut_height_m, bounds.cut_height_m, wording.length),
    )
    for label, value, allowed, say in rows:
        if not allowed.holds(value):
            yield Outside(
                Area.CUT, f"{label} is {say(value)}; the method covers {say(allowed.low)} to {say(allowed.high)}."
            )


def _tree(inp: FellingInput, bounds: Bounds) -> Iterator[Outside]:
    allowed = bounds.height_m
    if not allowed.holds(inp.height_m):
        span = f"{wording.length(allowed.low)} to {wording.length(allowed.high)}"
        yield Outside(Area.FORCES, f"The tree is {wording.length(inp.height_m)} high; the method covers {span}.")
    for refusal in inp.health.refusals:
        subject = "There is" if refusal in (Refusal.LIGHTNING, Refusal.DARKNESS) else "The tree has"
        area = Area.WEIGHT if refusal in (Refusal.SEVERAL_STEMS, Refusal.PALM) else Area.FORCES
        yield Outside(area, f"{subject} {refusal}.")


def _lean(inp: FellingInput, bounds: Bounds) -> Iterator[Outside]:
    back = inp.back_lean_deg
    if too_far := back_lean_outside(back, bounds):
        yield Outside(Area.FORCES, too_far)
    elif not bounds.winch_back_lean_deg.holds(back) and inp.line and inp.line.haul is Haul.HANDS:
        limit = bounds.winch_back_lean_deg.high
        yield Outside(
            Area.FORCES,
            f"The back lean is {back:.3g}°; over {limit:g}° it takes a winch with progress capture, not hands.",
        )
    elif needs_bored_cut(inp, bounds) and inp.bored_back_cut is False:
        yield Outside(
            Area.FORCES,
            f"The forward lean is {-back:.3g}°; without a bored back cut and a holding strap the stem may split.",
        )
    if too_far := side_lean_outside(inp.side_lean_deg, bounds):
        yield Outside(Area.FORCES, too_far)


def back_lean_outside(back_deg: float, bounds: Bounds) -> str | None:
    """The sentence that refuses a lean against the fall (negative: with it), or None."""
    if bounds.back_lean_deg.holds(back_deg):
        return None
    way, limit = ("back", bounds.back_lean_deg.high) if back_deg > 0 else ("forward", -bounds.back_lean_deg.low)
    return f"The {way} lean is {abs(back_deg):.3g}°; the method covers {limit:g}°."


def side_lean_outside(side_deg: float, bounds: Bounds) -> str | None:
    if bounds.side_lean_deg.holds(side_deg):
        return None
    return f"The side lean is {abs(side_deg):.3g}°; the method covers {bounds.side_lean_deg.high:g}°."


def needs_bored_cut(inp: FellingInput, bounds: Bounds = METHOD_BOUNDS) -> bool:
    """Forward lean over 5°, or over 3° in wood that splits easily (common practice)."""
    splits = inp.health.splits_easily
    allowed = bounds.plain_cut_lean_splitting_deg if splits else bounds.plain_cut_lean_deg
    return inp.back_lean_deg < allowed.low - TOLERANCE


def _line(inp: FellingInput, bounds: Bounds) -> Iterator[Outside]:
    if inp.line is None or inp.line.bearing_deg is None:
        return
    if inp.site.lay_deg is None:
        yield Outside(
            Area.FORCES, "The line has a bearing and the tree no lay: choose the lay, or leave the bearing out."
        )
    elif not bounds.line_off_lay_deg.holds(off := inp.line_off_lay_deg):
        limit = bounds.line_off_lay_deg.high if off > 0 else -bounds.line_off_lay_deg.low
        yield Outside(
            Area.FORCES,
            f"The line runs {wording.off_lay(off)}; the method covers {limit:g}°: set the pullers or the block nearer to "
            "the lay, or turn the lay.",
        )


def _wood(inp: FellingInput, bounds: Bounds) -> Iterator[Outside]:
    shell = inp.health.sound_shell_share
    if shell is not None and not bounds.sound_shell_share.holds(shell):
        yield Outside(
            Area.FORCES,
            f"The sound shell is {shell:.2g} of the radius at the cut; the method needs {bounds.sound_shell_share.low:g}.",
        )
    if inp.health.hinge_decayed:
        yield Outside(Area.FORCES, "The wood of the hinge is decayed.")
    if counts_as_dead(inp):
        yield from _dead(inp.health.months_dead, bounds)


def _dead(months: float | None, bounds: Bounds) -> Iterator[Outside]:
    if months is None:
        yield Outside(Area.FORCES, "It is not known since when the tree is dead; that counts as past the policy.")
    elif not bounds.months_dead.holds(months):
        limit = bounds.months_dead.high
        yield Outside(Area.FORCES, f"The tree has been dead for {months:.3g} months; the policy ends at {limit:g}.")


def _air(inp: FellingInput, bounds: Bounds) -> Iterator[Outside]:
    gust, limit = inp.strongest_gust_ms, bounds.gust_ms.high
    if not bounds.gust_ms.holds(gust):
        yield Outside(
            Area.FORCES,
            f"The gust is {wording.speed(gust)}; the method ends at {wording.speed(limit)}.",
        )


def _place(inp: FellingInput, bounds: Bounds) -> Iterator[Outside]:
    site = inp.site
    if not bounds.zone_multiple.holds(site.zone_multiple):
        least = bounds.zone_multiple.low
        yield Outside(
            Area.PLACE, f"A drop zone of {site.zone_multiple:g} tree heights is too small; {least:g} is the least."
        )
    if too_steep := slope_outside(site.slope_pct, bounds):
        yield Outside(Area.FORCES, too_steep)
    needed_m = bounds.clear_heights.low * inp.height_m
    if site.clear_length_m is not None and site.clear_length_m < needed_m - TOLERANCE:
        room = wording.length(site.clear_length_m)
        yield Outside(Area.FORCES, f"The lay is clear for {room}; the tree needs {wording.length(needed_m)}.")


def slope_outside(slope_pct: float, bounds: Bounds) -> str | None:
    if bounds.slope_pct.holds(slope_pct):
        return None
    return f"The slope is {slope_pct:g} %; the method covers {bounds.slope_pct.high:g} %."


def wire_outside(distance_m: float, height_m: float, bounds: Bounds) -> str | None:
    """The sentence that stops the felling for a wire at a distance from the stump, or None."""
    needed_m = bounds.wire_heights.low * height_m
    if distance_m >= needed_m - TOLERANCE:
        return None
    return (
        f"A wire is {wording.length(distance_m)} from the stump, within {wording.length(needed_m)}: "
        "stop until its owner isolates it."
    )


def _wires(inp: FellingInput, bounds: Bounds) -> Iterator[Outside]:
    site = inp.site
    if site.wire_distance_m is not None and (near := wire_outside(site.wire_distance_m, inp.height_m, bounds)):
        yield Outside(Area.FORCES, near)
    if site.wire_gap_m is None:
        return
    if site.wire_kv is None:
        yield Outside(Area.FORCES, "A wire is near crown, line or tools and its voltage is not known.")
        return
    approach_m = approach_distance_m(site.wire_kv)
    if site.wire_gap_m < approach_m - TOLERANCE:
        yield Outside(
            Area.FORCES,
            f"Crown, line or tools come within {wording.length(site.wire_gap_m)} of a wire; "
            f"at {site.wire_kv:g} kV {wording.length(approach_m)} is the least.",
        )
