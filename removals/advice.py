"""Sentences beside the figures of a felling plan: what the crew must keep to, and what would change the verdict."""

from collections.abc import Iterator
from dataclasses import replace

from removals import wording
from removals.bounds import Bounds, counts_as_dead, needs_bored_cut
from removals.cut import NotchKind
from removals.felling_input import DESIGN_FACTOR, FellingInput, Haul
from removals.felling_result import Forces, Interval
from removals.intervals import nominal_draw, problem_for
from removals.lines import EFFORT_SPREAD
from removals.place import APPROACH_HEIGHTS, PULLER_HEIGHTS
from removals.pull import (
    WEDGE_LEAST_BACK_CUT_M,
    WEDGE_LIFT_ONE_M,
    WEDGE_LIFT_STACKED_M,
    needed_n,
    wedge_lift_m,
    wedge_tip_lean_m,
    weight_moment_nm,
)

CAUTION = (
    "A planning aid for qualified people: the person on site decides, and local codes and licensed practice come first."
)
ALTERNATIVES = (
    "Dismantle it from a lift.",
    "Take it down with a crane.",
    "Use a machine that holds the stem.",
    "Call in a specialist.",
)
EARLY_HINGE_DEG = 70.0
ANCHOR_SHARE_HIGH = 0.75
ANCHOR_SHARE_LOW = 2 / 3
LEVEL_DEG = 90.0


def conditions(inp: FellingInput, bounds: Bounds) -> tuple[str, ...]:
    """What the plan takes for granted on site; common practice unless a source is named."""
    return (*_line_conditions(inp, bounds), *_tree_conditions(inp, bounds))


def _line_conditions(inp: FellingInput, bounds: Bounds) -> Iterator[str]:
    line = inp.line
    if line is None:
        yield "Crew of two or more; nobody saws alone."
        return
    yield "Crew of three or more; nobody saws alone."
    yield "Keep the line slack until the hinge is set and the feller has left; then pull."
    if not bounds.winch_back_lean_deg.holds(inp.back_lean_deg):
        yield f"The back lean is {inp.back_lean_deg:.3g}°: use a winch with progress capture, never hands."
    elif line.haul is not Haul.WINCH and weight_moment_nm(problem_for(inp, nominal_draw(inp))) > 0:
        yield "The weight sits behind the hinge: hold it with progress capture or wedges, never with hands alone."
    if line.bearing_deg is not None and inp.line_off_lay_deg != 0:
        yield (
            f"The line ends at {line.bearing_deg:.3g}° from the stump, {wording.off_lay(inp.line_off_lay_deg)}, and pulls "
            "the tree to that side: set it by compass, and sight along it before the cut."
        )
    near_m = PULLER_HEIGHTS * inp.height_m
    if line.distance_m < near_m and line.redirected is None:
        yield (
            f"{wording.length(line.distance_m)} is within {PULLER_HEIGHTS} tree heights ({wording.length(near_m)}): "
            "lead the line through a block there, and let the pullers stand outside the fall."
        )
    if line.redirected:
        yield "Redirect only through a block, never round a tree or a stump (WAC 296-54-541)."
    if line.anchor_height_m > ANCHOR_SHARE_HIGH * inp.height_m:
        yield "The anchor is above three quarters of the height: check that the stem is sound and thick enough there."


def _tree_conditions(inp: FellingInput, bounds: Bounds) -> Iterator[str]:
    yield f"Nobody comes within {APPROACH_HEIGHTS:g} tree heights until the feller says it is safe (OSHA CPL 02-01-022)."
    if needs_bored_cut(inp, bounds):
        yield "The tree leans forward: bore the back cut and leave a holding strap, or the stem may split and kick."
    if counts_as_dead(inp):
        yield "The tree is dead: do not rely on the hinge alone, and look out for falling wood."
    if inp.downhill and inp.opening_deg < EARLY_HINGE_DEG:
        yield f"Downhill with an opening under {EARLY_HINGE_DEG:g}° the hinge breaks early."
    if inp.crown_area_m2 * inp.drag == 0:
        yield "No crown area is given, so the wind is not reckoned; the printed stop wind is the cap of the method."
    if inp.design_factor < DESIGN_FACTOR:
        yield f"The design factor is under {DESIGN_FACTOR:g}, so the plan cannot be called adequate."
    yield f"Weight: {inp.mass.basis}; {wording.mass(inp.mass.low_kg)} to {wording.mass(inp.mass.high_kg)}."


def faults(inp: FellingInput, forces: Forces) -> tuple[str, ...]:
    """Arrangements that no amount of pull makes adequate."""
    if inp.line is None:
        return tuple(_no_line_faults(inp, forces))
    near_m = PULLER_HEIGHTS * inp.height_m
    if inp.line.redirected is False and inp.line.distance_m < near_m:
        where = f", {wording.off_lay(inp.line_off_lay_deg)}" if inp.line_off_lay_deg else ""
        away = f"{wording.length(near_m)} away at least, or off it through a block"
        return (f"The pullers stand in the fall{where}: {away}.",)
    return ()


def line_to_the_side(inp: FellingInput) -> str:
    """After a refusal for what the hinge has to hold sideways: the line's part in it, and the way out."""
    if inp.line_off_lay_deg == 0:
        return ""
    return f" The line runs {wording.off_lay(inp.line_off_lay_deg)}: set it along the lay, or turn the lay."


def _no_line_faults(inp: FellingInput, forces: Forces) -> Iterator[str]:
    if counts_as_dead(inp):
        yield "A dead tree may not rely on the hinge alone: it takes a line."
    if forces.needed_n.nominal <= 0:
        return
    if inp.wedges is None:
        yield "Neither a line nor rated wedges are planned."
    else:
        yield from _wedge_faults(inp, inp.wedges.stacked)


def _wedge_faults(inp: FellingInput, stacked: bool) -> Iterator[str]:
    problem = problem_for(inp, nominal_draw(inp))
    lift_m, limit_m = wedge_lift_m(problem), WEDGE_LIFT_STACKED_M if stacked else WEDGE_LIFT_ONE_M
    if lift_m > limit_m:
        yield f"The wedges would have to lift {lift_m * 1000:.0f} mm; {limit_m * 1000:.0f} mm is their limit."
    if problem.back_cut_m < WEDGE_LEAST_BACK_CUT_M:
        least = wording.length(WEDGE_LEAST_BACK_CUT_M)
        yield f"The back cut is {wording.length(problem.back_cut_m)} long; wedges need {least}."
    tip_m = inp.back_lean_m * (inp.height_m - inp.cut_height_m) / inp.com_z_m
    allowed_m = wedge_tip_lean_m(inp.height_m, inp.diameter_m)
    if tip_m > allowed_m:
        yield f"The tip leans back {wording.length(tip_m)}; wedging corrects {wording.length(allowed_m)} at most."


def changes(inp: FellingInput, forces: Forces, available_n: Interval) -> tuple[str, ...]:
    """What would change a verdict that falls short, one thing at a time."""
    return (*_stronger(inp, forces, available_n), *_easier(inp, forces))


def _stronger(inp: FellingInput, forces: Forces, available_n: Interval) -> Iterator[str]:
    if inp.line is None:
        yield "A pull line would change it."
        return
    if available_n.low < forces.needed_n.high:
        sure = available_n.low / available_n.nominal if available_n.nominal else 1 - EFFORT_SPREAD
        yield f"A pull of {wording.force(forces.needed_n.high / sure)} at the tree would hold at the unfavourable ends as well."
    anchor_m = ANCHOR_SHARE_HIGH * inp.height_m
    if inp.line.anchor_height_m < ANCHOR_SHARE_LOW * inp.height_m:
        needed = _needed(replace(inp, line=replace(inp.line, anchor_height_m=anchor_m)))
        yield f"An anchor at {wording.length(anchor_m)} would need {wording.force(needed)}."


def _easier(inp: FellingInput, forces: Forces) -> Iterator[str]:
    if inp.line and inp.line_off_lay_deg != 0:
        along = replace(inp, line=replace(inp.line, bearing_deg=None))
        yield f"A line along the lay would need {wording.force(_needed(along))} and pull nothing to the side."
    if inp.hinge_share > 0.10:
        yield f"A hinge of a tenth of the diameter would need {wording.force(_needed(replace(inp, hinge_share=0.10)))}."
    if inp.wind_against_ms > 0:
        yield f"Still air would need {wording.force(_needed(replace(inp, wind_against_ms=0.0)))}."
    if inp.back_lean_m > 0:
        yield "A lay nearer to the way the tree leans would need less."


def _needed(inp: FellingInput) -> float:
    return needed_n(problem_for(inp, nominal_draw(inp)))


def butt(inp: FellingInput) -> str:
    """How the butt behaves when the notch closes."""
    closes = f"The notch closes when the tree has turned by {inp.opening_deg:.3g}°"
    if inp.notch is NotchKind.OPEN_FACE and inp.opening_deg >= LEVEL_DEG:
        end = "on level ground the hinge holds until the stem lies, and the butt stays on the stump"
    else:
        short = LEVEL_DEG - inp.opening_deg
        end = f"the hinge breaks while the stem is still {short:.3g}° above level, and the butt may slide, kick or roll"
    slope = "; downhill it leaves the stump sooner and runs farther" if inp.downhill else ""
    return f"{closes}; {end}{slope}."
