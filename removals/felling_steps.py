"""Every figure of a plan opened: its formula, and the same with the plan's numbers in it."""

from collections.abc import Iterator
from dataclasses import dataclass

from removals.felling_input import FellingInput
from removals.felling_result import FellingPlanResult, Forces
from removals.intervals import nominal_draw, problem_for
from removals.pull import HingeProblem, LineGeometry, anchor_setback_m, line_turn_deg, side_arm_m
from removals.weight import GRAVITY


@dataclass(frozen=True, slots=True)
class Step:
    """`key` is the figure's name in the JSON of a plan, `numbers` its formula filled in, ending in the value and unit."""

    key: str
    label: str
    formula: str
    numbers: str


def steps(inp: FellingInput, result: FellingPlanResult) -> tuple[Step, ...]:
    """The opened figures of a plan in the order in which they follow from each other; only those that hold."""
    parts = (_cut_steps(inp, result), _weight_steps(result), _force_steps(inp, result), _place_steps(inp, result))
    return tuple(step for part in parts for step in part)


def _cut_steps(inp: FellingInput, result: FellingPlanResult) -> Iterator[Step]:
    cut = result.cut
    if cut is None:
        return
    d_cm, n_cm, t_cm = 100 * inp.diameter_m, 100 * cut.notch_depth_m, 100 * cut.hinge_thickness_m
    r_cm = d_cm / 2
    yield Step("notch_depth_cm", "Notch depth", "n = f · D", f"{inp.notch_share:.4g} · {d_cm:.4g} cm = {n_cm:.4g} cm")
    yield Step("hinge_thickness_cm", "Hinge", "t = share · D", f"{inp.hinge_share:.4g} · {d_cm:.4g} cm = {t_cm:.4g} cm")
    yield Step(
        "hinge_length_cm",
        "Hinge length",
        "L = 2 √(r² − (r − n)²)",
        f"2 √({r_cm:.4g}² − ({r_cm:.4g} − {n_cm:.4g})²) = {100 * cut.hinge_length_m:.4g} cm",
    )
    yield Step(
        "back_cut_cm",
        "Back cut length",
        "b = D − n − t",
        f"{d_cm:.4g} − {n_cm:.4g} − {t_cm:.4g} = {100 * cut.back_cut_m:.4g} cm",
    )
    yield _back_cut_height(d_cm, 100 * cut.back_cut_height_m)
    yield Step(
        "stem_behind_hinge_m",
        "Stem axis behind the hinge",
        "p = D/2 − n − t/2",
        f"{r_cm:.4g} − {n_cm:.4g} − {t_cm / 2:.4g} = {100 * cut.stem_behind_hinge_m:.4g} cm",
    )


def _back_cut_height(d_cm: float, height_cm: float) -> Step:
    key, label = "back_cut_height_cm", "Back cut above the level cut"
    if height_cm == 0:
        return Step(key, label, "0: an open face has no level cut", "level with the apex, 0 cm")
    return Step(key, label, "max(3 cm, D/10)", f"max(3, {d_cm:.4g} / 10) = {height_cm:.4g} cm")


def _weight_steps(result: FellingPlanResult) -> Iterator[Step]:
    mass = result.mass
    if mass is None:
        return
    yield Step("green_mass_kg", "Green mass", mass.basis, f"{mass.formula} = {mass.kg:.5g} kg")
    yield Step("weight_n", "Weight", "W = m · g", f"{mass.kg:.5g} kg · {GRAVITY} m/s² = {mass.weight_n:.5g} N")


def _force_steps(inp: FellingInput, result: FellingPlanResult) -> Iterator[Step]:
    if result.forces is None:
        return
    problem = problem_for(inp, nominal_draw(inp))
    yield from _moment_steps(inp, problem, result.forces)
    if problem.line:
        lines = _turned_line_steps if problem.line.off_lay_deg else _line_steps
        yield from lines(problem, problem.line, result.forces)
    yield _needed_step(problem, result.forces)
    yield from _stop_steps(problem, result.forces, result.available_n.nominal)
    yield _side_step(inp, problem, result.forces)


def _moment_steps(inp: FellingInput, problem: HingeProblem, forces: Forces) -> Iterator[Step]:
    w_n = problem.mass_kg * GRAVITY
    yield Step(
        "weight_moment_nm",
        "Moment of the weight",
        "M_w = W (o + p)",
        f"{w_n:.6g} N · ({problem.offset_m:.4g} + {problem.behind_m:.4g}) m = {forces.weight_moment_nm:.6g} N·m",
    )
    yield Step(
        "wind_force_n",
        "Wind force",
        "F = ½ ρ C_d A v²",
        f"½ · 1.225 · {problem.drag:.3g} · {problem.crown_area_m2:.4g} m² · ({problem.wind_ms:.3g} m/s)²"
        f" = {forces.wind_force_n:.6g} N",
    )
    yield Step(
        "wind_moment_nm",
        "Moment of the wind",
        "M_v = F z_v",
        f"{forces.wind_force_n:.6g} N · {problem.crown_z_m:.4g} m = {forces.wind_moment_nm:.6g} N·m",
    )
    yield Step(
        "hinge_moment_nm",
        "Moment of the hinge (an upper estimate)",
        "M_h = MOR L t² / 6",
        f"{inp.mor_pa / 1e6:.4g} MPa · {problem.hinge_length_m:.5g} m · ({problem.hinge_thickness_m:.4g} m)² / 6"
        f" = {forces.hinge_moment_nm:.6g} N·m",
    )


def _line_steps(problem: HingeProblem, line: LineGeometry, forces: Forces) -> Iterator[Step]:
    back_m, angle = anchor_setback_m(problem, line), forces.line_angle_deg
    yield Step(
        "line_angle_deg",
        "Angle of the line",
        "θ = atan((z_a + h_cut − z_p) / (s + x_b)), x_b = max(0, p + o z_a / z_c)",
        f"atan({line.anchor_z_m + line.cut_above_puller_m:.4g} / ({line.distance_m:.4g} + {back_m:.4g})) = {angle:.6g}°",
    )
    yield Step(
        "lever_arm_m",
        "Lever arm of the line",
        "z_a cos θ − x_b sin θ",
        f"{line.anchor_z_m:.4g} · cos {angle:.5g}° − {back_m:.4g} · sin {angle:.5g}° = {forces.arm_m:.5g} m",
    )


def _turned_line_steps(problem: HingeProblem, line: LineGeometry, forces: Forces) -> Iterator[Step]:
    """Those of a line off the lay, and what it pulls to the side."""
    back_m, angle, off = anchor_setback_m(problem, line), forces.line_angle_deg, forces.line_off_lay_deg
    turn, s_m = line_turn_deg(problem, line), line.distance_m
    yield Step(
        "line_off_lay_deg",
        "The line off the lay (right is positive), seen from the stump",
        "δ = bearing − lay; at the anchor φ = atan(s sin δ / (s cos δ + x_b))",
        f"φ = atan({s_m:.4g} · sin {off:.5g}° / ({s_m:.4g} · cos {off:.5g}° + {back_m:.4g})) = {turn:.5g}°; δ = {off:.5g}°",
    )
    yield Step(
        "line_angle_deg",
        "Angle of the line",
        "θ = atan((z_a + h_cut − z_p) cos φ / (s cos δ + x_b)), x_b = max(0, p + o z_a / z_c)",
        f"atan({line.anchor_z_m + line.cut_above_puller_m:.4g} · cos {turn:.5g}° / "
        f"({s_m:.4g} · cos {off:.5g}° + {back_m:.4g})) = {angle:.6g}°",
    )
    yield Step(
        "lever_arm_m",
        "Lever arm of the line along the lay",
        "z_a cos θ cos φ − x_b sin θ",
        f"{line.anchor_z_m:.4g} · cos {angle:.5g}° · cos {turn:.5g}° − {back_m:.4g} · sin {angle:.5g}°"
        f" = {forces.arm_m:.5g} m",
    )
    arm_m, pulled_nm = side_arm_m(problem, line), forces.line_side_moment_nm
    yield Step(
        "line_side_moment_nm",
        "Moment of the line to the side (right is positive)",
        "M_T = T z_a cos θ sin φ, T the needed tension, or the most that can be pulled if that is less",
        f"{pulled_nm / arm_m:.6g} N · {arm_m:.5g} m = {pulled_nm:.6g} N·m",
    )


def _needed_step(problem: HingeProblem, forces: Forces) -> Step:
    weight = forces.weight_moment_nm
    resisting = (
        f"{problem.factor:g} · ({max(weight, 0.0):.6g} + {forces.wind_moment_nm:.6g} + {forces.hinge_moment_nm:.6g})"
    )
    helping = f" − {-weight:.6g}" if weight < 0 else ""
    arm = "arm" if problem.line else "(b + t/2)"
    return Step(
        "needed_n",
        "Needed tension" if problem.line else "Needed force of wedge or jack",
        f"max(0, k (max(M_w, 0) + M_v + M_h) − max(−M_w, 0)) / {arm}",
        f"max(0, {resisting}{helping}) N·m / {forces.arm_m:.5g} m = {forces.needed_n.nominal:.6g} N",
    )


def _stop_steps(problem: HingeProblem, forces: Forces, available_n: float) -> Iterator[Step]:
    if forces.stop_wind.nominal_ms is None:
        return
    spare = available_n * forces.arm_m + max(-forces.weight_moment_nm, 0.0)
    resisting = max(forces.weight_moment_nm, 0.0) + forces.hinge_moment_nm
    yield Step(
        "stop_wind_ms",
        "Stop wind at the crown's centre",
        "v = √(((T arm + max(−M_w, 0)) / k − max(M_w, 0) − M_h) / (½ ρ C_d A z_v))",
        f"√(({spare:.6g} / {problem.factor:g} − {resisting:.6g}) / (½ · 1.225 · {problem.drag:.3g} · "
        f"{problem.crown_area_m2:.4g} · {problem.crown_z_m:.4g})) = {forces.stop_wind.nominal_ms:.4g} m/s",
    )
    wind = forces.stop_wind
    if wind.low_ms is not None and wind.printed_ms is not None:
        ends = f"{wind.low_ms:.4g}" if wind.across_ms is None else f"min({wind.low_ms:.4g}, {wind.across_ms:.4g})"
        yield Step(
            "stop_wind_printed_ms",
            "Stop wind for the crew, held at 2 m",
            "min(cap, least at the unfavourable ends, against and across the fall / 1.5)",
            f"{ends} / 1.5, at most the cap = {wind.printed_ms:.4g} m/s",
        )


def _side_step(inp: FellingInput, problem: HingeProblem, forces: Forces) -> Step:
    lean, formula = f"{problem.mass_kg * GRAVITY:.6g} N · {abs(inp.side_lean_m):.4g} m", "W o_side"
    if forces.line_side_moment_nm:
        signed = f"{problem.mass_kg * GRAVITY:.6g} N · {inp.side_lean_m:.4g} m"
        lean, formula = (
            f"max({lean}, |{signed} + {forces.line_side_moment_nm:.6g}|)",
            "max(|W o_side|, |W o_side + M_T|)",
        )
    return Step(
        "side_moment_nm",
        "Sideways moment and its limit",
        f"{formula} + ½ ρ C_d A v_side² z_v ≤ 0.25 · MOR t L² / 6",
        f"{lean} + wind across at {inp.wind_side_ms:.3g} m/s"
        f" = {forces.side_moment_nm:.6g} N·m; limit {forces.side_capacity_nm:.6g} N·m",
    )


def _place_steps(inp: FellingInput, result: FellingPlanResult) -> Iterator[Step]:
    place, multiple = result.place, inp.site.zone_multiple
    if place.drop_zone_m is not None:
        yield Step(
            "drop_zone_m",
            "Drop zone: nobody who is not in the operation",
            "multiple · H",
            f"{multiple:g} · {inp.height_m:.4g} m = {place.drop_zone_m:.4g} m",
        )
    if place.lay_deg is not None:
        right, left = (retreat.bearing_deg for retreat in place.retreats)
        yield Step(
            "retreat_bearings_deg",
            "Retreat bearings",
            "(lay + 135) mod 360, (lay + 225) mod 360",
            f"({place.lay_deg:g} + 135) mod 360 = {right:g}°, ({place.lay_deg:g} + 225) mod 360 = {left:g}°",
        )
