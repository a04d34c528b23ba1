"""Moments about the hinge, and the pull or lift that brings a tree over.

Axes: +x with the fall, +y to its right, +z up, origin at the middle of the hinge; heights here are above the cut. SI throughout:
newtons, metres, pascals, metres per second; angles in degrees.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from inventory.units import M_PER_FT
from removals.weight import GRAVITY

AIR_DENSITY = 1.225
DEFAULT_EFFORT = 0.25
EFFORT_CAP = 0.50
SIDE_SHARE_OF_HINGE = 0.25
SHEAVE_EFFICIENCY = {"bearing sheave": 0.9, "plain sheave": 0.8, "carabiner": 0.5}
WEDGE_LIFT_ONE_M = 0.025
WEDGE_LIFT_STACKED_M = 0.040
WEDGE_LEAST_BACK_CUT_M = 0.15
WEDGE_TIP_CAP_FT = 13.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LineGeometry:
    """The line: anchor above the cut, distance from the hinge to the redirect or the hands, cut above those hands.

    `off_lay_deg` is how far to the right of the lay they stand, seen from the hinge.
    """

    anchor_z_m: float
    distance_m: float
    cut_above_puller_m: float
    off_lay_deg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class HingeProblem:
    """One set of numbers about the hinge, without any uncertainty. Without a line the force acts in the back cut."""

    mass_kg: float
    offset_m: float
    com_z_m: float
    behind_m: float
    hinge_length_m: float
    hinge_thickness_m: float
    back_cut_m: float
    mor_pa: float
    wind_ms: float
    crown_area_m2: float
    drag: float
    crown_z_m: float
    factor: float
    line: LineGeometry | None


def com_offset_m(plumb_offset_m: float, plumb_z_m: float, com_z_m: float) -> float:
    """Offset of the centre of mass from a plumbed point: o = u z_c / z. Store which point was plumbed with it."""
    return plumb_offset_m * com_z_m / plumb_z_m


def weight_moment_nm(problem: HingeProblem) -> float:
    """W (o + p), positive against the fall."""
    return problem.mass_kg * GRAVITY * (problem.offset_m + problem.behind_m)


def wind_force_n(wind_ms: float, area_m2: float, drag: float) -> float:
    """F = ½ ρ C_d A v², below 10 m/s on the still-air silhouette."""
    return 0.5 * AIR_DENSITY * drag * area_m2 * wind_ms**2


def wind_moment_nm(problem: HingeProblem) -> float:
    return wind_force_n(problem.wind_ms, problem.crown_area_m2, problem.drag) * problem.crown_z_m


def hinge_moment_nm(problem: HingeProblem) -> float:
    """M_h = MOR L t² / 6: an upper estimate, the tree usually tips before the strip breaks."""
    return problem.mor_pa * problem.hinge_length_m * problem.hinge_thickness_m**2 / 6


def anchor_setback_m(problem: HingeProblem, line: LineGeometry) -> float:
    """How far behind the hinge the anchor stands: x_b = max(0, p + o z_a / z_c)."""
    return max(0.0, problem.behind_m + problem.offset_m * line.anchor_z_m / problem.com_z_m)


def line_angle_deg(problem: HingeProblem, line: LineGeometry) -> float:
    """How steeply the line rises to the anchor."""
    run_m = math.hypot(*line_run_m(problem, line))
    return math.degrees(math.atan2(line.anchor_z_m + line.cut_above_puller_m, run_m))


def line_run_m(problem: HingeProblem, line: LineGeometry) -> tuple[float, float]:
    """The line seen from above, from the anchor: with the fall and to the right of it."""
    off = math.radians(line.off_lay_deg)
    ahead_m = line.distance_m * math.cos(off) + anchor_setback_m(problem, line)
    return ahead_m, line.distance_m * math.sin(off)


def line_turn_deg(problem: HingeProblem, line: LineGeometry) -> float:
    """The line's own angle with the fall, seen from above: less than the bearing's, as the anchor stands behind."""
    ahead_m, right_m = line_run_m(problem, line)
    return math.degrees(math.atan2(right_m, ahead_m))


def lever_arm_m(problem: HingeProblem, line: LineGeometry) -> float:
    """Arm of the line about the hinge: z_a cos θ cos φ - x_b sin θ, φ the turn of the line from the fall."""
    angle, turn = math.radians(line_angle_deg(problem, line)), math.radians(line_turn_deg(problem, line))
    ahead = math.cos(angle) * math.cos(turn)
    return line.anchor_z_m * ahead - anchor_setback_m(problem, line) * math.sin(angle)


def side_arm_m(problem: HingeProblem, line: LineGeometry) -> float:
    """Arm with which the line pulls the tree to the right of the fall: z_a cos θ sin φ; negative to the left."""
    angle, turn = math.radians(line_angle_deg(problem, line)), math.radians(line_turn_deg(problem, line))
    return line.anchor_z_m * math.cos(angle) * math.sin(turn)


def lift_arm_m(problem: HingeProblem) -> float:
    """Arm of a wedge or jack at the back of the stem: b + t/2."""
    return problem.back_cut_m + problem.hinge_thickness_m / 2


def force_arm_m(problem: HingeProblem) -> float:
    return lever_arm_m(problem, problem.line) if problem.line else lift_arm_m(problem)


def demand_nm(problem: HingeProblem) -> float:
    """Moment the pull has to make: the factor on what resists, none on the forward lean that helps."""
    weight = weight_moment_nm(problem)
    resisting = max(weight, 0.0) + wind_moment_nm(problem) + hinge_moment_nm(problem)
    return problem.factor * resisting - max(-weight, 0.0)


def needed_n(problem: HingeProblem) -> float:
    """Tension in the line (or force of the wedge), N; infinite when the force has no arm about the hinge."""
    demand = demand_nm(problem)
    if demand <= 0:
        return 0.0
    arm_m = force_arm_m(problem)
    return demand / arm_m if arm_m > 0 else math.inf


def stop_wind_ms(problem: HingeProblem, available_n: float) -> float | None:
    """Gust against the fall at which the available force is just enough, m/s.

    None when it is not enough in still air; infinite when the wind finds no crown.
    """
    weight = weight_moment_nm(problem)
    spare = (available_n * force_arm_m(problem) + max(-weight, 0.0)) / problem.factor
    wind_nm = spare - max(weight, 0.0) - hinge_moment_nm(problem)
    if wind_nm < 0:
        return None
    per_square = wind_force_n(1.0, problem.crown_area_m2, problem.drag) * problem.crown_z_m
    return math.sqrt(wind_nm / per_square) if per_square > 0 else math.inf


def line_side_moment_nm(problem: HingeProblem, largest_n: float) -> float:
    """Sideways moment of the line at the tension that brings the tree over, positive to the right of the fall.

    Never more than pullers or winch can make: the tree goes before they reach more than is needed.
    """
    if problem.line is None or problem.line.off_lay_deg == 0:
        return 0.0
    return min(needed_n(problem), largest_n) * side_arm_m(problem, problem.line)


def side_moment_nm(
    weight_n: float, side_offset_m: float, side_force_n: float, crown_z_m: float, line_nm: float = 0.0
) -> float:
    """Sideways moment about the hinge: lean and line with their sides, the gust to whichever side is worse.

    A line against the lean is no help: until it is pulled the lean acts alone.
    """
    lean_nm = weight_n * side_offset_m
    return max(abs(lean_nm), abs(lean_nm + line_nm)) + abs(side_force_n) * crown_z_m


def side_capacity_nm(mor_pa: float, hinge_thickness_m: float, hinge_length_m: float) -> float:
    """A quarter of the hinge's bending strength across its length: 0.25 MOR t L² / 6."""
    return SIDE_SHARE_OF_HINGE * mor_pa * hinge_thickness_m * hinge_length_m**2 / 6


def tackle_advantage(parts: int, efficiency: float, redirects: int = 0) -> float:
    """Pull at the tree per newton of effort: the sum of η^i over the n parts, times η for each redirect."""
    if parts < 1 or redirects < 0 or not 0 < efficiency <= 1:
        raise ValueError("A tackle has one part or more, no fewer than 0 redirects and an efficiency from 0 to 1.")
    return float(sum(efficiency**i for i in range(parts))) * efficiency**redirects


def hand_pull_n(body_masses_kg: Sequence[float], effort: float = DEFAULT_EFFORT) -> float:
    """Pull of people on good footing, N: body weight times effort (0.25, at most 0.5)."""
    if not 0 < effort <= EFFORT_CAP:
        raise ValueError(f"Effort is a share of body weight, more than 0 and at most {EFFORT_CAP}.")
    return sum(body_masses_kg) * GRAVITY * effort


def redirect_load_n(tension_n: float, legs_deg: float) -> float:
    """Load on a redirect and its sling: 2 T cos(γ/2), γ between the legs."""
    return 2 * tension_n * math.cos(math.radians(legs_deg) / 2)


def wedge_lift_m(problem: HingeProblem) -> float:
    """Lift at the back of the stem that brings the centre of mass over the hinge: max(0, o + p)(b + t/2)/z_c."""
    return max(0.0, problem.offset_m + problem.behind_m) * lift_arm_m(problem) / problem.com_z_m


def wedge_tip_lean_m(height_m: float, diameter_m: float) -> float:
    """Back-lean of the tip that two inches of wedging may correct, m (segment method of OSHA's logging eTool).

    floor(4N/15)/2 feet for N = H/D segments; never above the table, whose last row is 13 ft for 100 segments and more.
    """
    segments = height_m / diameter_m
    return min(math.floor(4 * segments / 15 + 1e-9) / 2, WEDGE_TIP_CAP_FT) * M_PER_FT
