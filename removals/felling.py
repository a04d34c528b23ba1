"""The felling plan: from a tree's measurements to cuts, forces, distances and a verdict.

`plan` takes a `FellingInput` and gives a `FellingPlanResult`. Outside the bounds of the method it refuses and names the
alternatives; it never extrapolates. The verdict is *adequate* when the pull holds at the unfavourable ends of all
uncertain inputs together, *marginal* when it holds at the nominal values only, else *not adequate*.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

from removals import advice, wording
from removals.bounds import METHOD_BOUNDS, Area, Bounds, Outside, outside_reasons
from removals.cut import CutGeometry, cut_geometry
from removals.felling_input import DESIGN_FACTOR, FellingInput, Haul
from removals.felling_result import FellingPlanResult, Forces, Interval, LineRating, StopWind, Verdict
from removals.in_the_way import accepted_in_swath, in_the_way
from removals.intervals import (
    HEIGHT_SPREAD,
    THICKER_HINGE_M,
    Draw,
    corners,
    held_share,
    nominal_draw,
    offset_spread_m,
    problem_for,
)
from removals.lay_words import seen_words
from removals.place import place_for
from removals.pull import (
    HingeProblem,
    force_arm_m,
    hinge_moment_nm,
    line_angle_deg,
    line_side_moment_nm,
    needed_n,
    redirect_load_n,
    side_capacity_nm,
    side_moment_nm,
    stop_wind_ms,
    wedge_lift_m,
    weight_moment_nm,
    wind_force_n,
    wind_moment_nm,
)
from removals.weight import GRAVITY

METHOD_VERSION = "2"
"""2: wind across the lay lowers the stop wind too."""

PRINTED_GUST_FACTOR = 1.5
"""From the gust at the crown's centre to what a crew reads on an instrument held at 2 m."""

ROUNDING = 1 + 1e-9


def plan(inp: FellingInput, bounds: Bounds = METHOD_BOUNDS) -> FellingPlanResult:
    """The plan for these inputs under the method's bounds or a city's tighter ones."""
    outside = (*outside_reasons(inp, bounds), *in_the_way(inp, bounds))
    if not outside:
        outside = tuple(_force_reasons(inp, bounds))
    if outside:
        return _refused(inp, outside)
    return _judged(inp, bounds)


def _refused(inp: FellingInput, outside: Sequence[Outside]) -> FellingPlanResult:
    areas = {reason.area for reason in outside}
    return FellingPlanResult(
        method_version=METHOD_VERSION,
        verdict=Verdict.OUTSIDE,
        reasons=tuple(reason.sentence for reason in outside),
        changes=(),
        conditions=(),
        alternatives=advice.ALTERNATIVES,
        caution=advice.CAUTION,
        cut=None if Area.CUT in areas else _cut(inp),
        mass=None if Area.WEIGHT in areas else inp.mass,
        forces=None,
        available_n=_available_n(inp),
        rating=None,
        place=place_for(inp, zone_holds=Area.PLACE not in areas),
        butt="",
    )


def _judged(inp: FellingInput, bounds: Bounds) -> FellingPlanResult:
    forces, available_n = _forces(inp, bounds), _available_n(inp)
    faults = advice.faults(inp, forces)
    verdict = _verdict(inp, forces, available_n, faults)
    return FellingPlanResult(
        method_version=METHOD_VERSION,
        verdict=verdict,
        reasons=(*faults, *_reasons(inp, forces, available_n)),
        changes=() if verdict is Verdict.ADEQUATE else advice.changes(inp, forces, available_n),
        conditions=(*advice.conditions(inp, bounds), *_accepted(inp, bounds)),
        alternatives=advice.ALTERNATIVES if verdict is Verdict.NOT_ADEQUATE else (),
        caution=advice.CAUTION,
        cut=_cut(inp),
        mass=inp.mass,
        forces=forces,
        available_n=available_n,
        rating=_rating(inp),
        place=place_for(inp),
        butt=advice.butt(inp),
    )


def _accepted(inp: FellingInput, bounds: Bounds) -> Iterator[str]:
    for each in accepted_in_swath(inp, bounds):
        yield f"The swath holds {seen_words(each.thing)}: accepted by name; nobody and nothing else may be there."


def _cut(inp: FellingInput) -> CutGeometry:
    return cut_geometry(inp.notch, inp.diameter_m, inp.notch_share, inp.hinge_share, inp.opening_deg)


def _nominal(inp: FellingInput) -> HingeProblem:
    return problem_for(inp, nominal_draw(inp))


def _available_n(inp: FellingInput) -> Interval:
    """Force at the tree: of the line, else the rating of the wedges, else none."""
    if inp.line:
        return Interval(inp.line.pull_low_n, inp.line.pull_n, inp.line.pull_high_n)
    rated_n = inp.wedges.rated_n if inp.wedges else 0.0
    return Interval(rated_n, rated_n, rated_n)


def _force_reasons(inp: FellingInput, bounds: Bounds) -> Iterator[Outside]:
    """Refusals that only the figures about the hinge can show."""
    problem = _nominal(inp)
    if problem.line:
        angle_deg = line_angle_deg(problem, problem.line)
        if not bounds.line_angle_deg.holds(angle_deg):
            limit = bounds.line_angle_deg.high
            yield Outside(Area.FORCES, f"The line rises at {angle_deg:.3g}°; the method covers 0 to {limit:g}°.")
        if min(force_arm_m(each) for each in corners(inp)) <= 0:
            yield Outside(Area.FORCES, "The line has no lever arm about the hinge: anchor it higher.")
        yield from _overload(inp)
    moment, capacity = _side(inp)
    if moment > capacity * ROUNDING:
        yield Outside(
            Area.FORCES,
            f"Sideways the hinge would have to hold {moment:,.0f} N·m; {capacity:,.0f} N·m is its limit."
            f"{advice.line_to_the_side(inp)}",
        )


def _overload(inp: FellingInput) -> Iterator[Outside]:
    line = inp.line
    if line is None or line.working_load_limit_n is None or line.largest_n <= line.working_load_limit_n:
        return
    who = "The winch stalls" if line.haul is Haul.WINCH else "The pullers can reach a tension"
    yield Outside(
        Area.FORCES,
        f"{who} at {wording.force(line.largest_n)}, above the line's working load limit of "
        f"{wording.force(line.working_load_limit_n)}.",
    )


def _side(inp: FellingInput) -> tuple[float, float]:
    """Sideways moment and what the hinge may take of it, N·m, at the nominal values."""
    problem = _nominal(inp)
    force_n = wind_force_n(inp.wind_side_ms, inp.crown_area_m2, inp.drag)
    line_nm = line_side_moment_nm(problem, _largest_n(inp))
    moment = side_moment_nm(inp.mass.weight_n, inp.side_lean_m, force_n, problem.crown_z_m, line_nm)
    return moment, side_capacity_nm(inp.mor_pa, problem.hinge_thickness_m, problem.hinge_length_m)


@dataclass(frozen=True, slots=True)
class _SideEnds:
    """Sideways at the unfavourable ends together: moment in still air, per (m/s)² of gust across, and the hinge's limit."""

    still_nm: float
    per_square_nm: float
    capacity_nm: float

    def holds(self, gust_ms: float) -> bool:
        return self.still_nm + self.per_square_nm * gust_ms**2 <= self.capacity_nm

    def stop_ms(self) -> float | None:
        """The gust across in which the hinge just holds; None: not in still air; infinite: no wind finds a crown."""
        spare_nm = self.capacity_nm - self.still_nm
        if spare_nm < 0:
            return None
        return math.sqrt(spare_nm / self.per_square_nm) if self.per_square_nm > 0 else math.inf


def _side_ends(inp: FellingInput) -> _SideEnds:
    """An upright tree's unknown side lean counts too."""
    tall = 1 + HEIGHT_SPREAD
    slim = inp.diameter_low_share
    problem = problem_for(inp, Draw(inp.mass.high_kg, inp.drag_high, inp.mor_low_pa, 0.0, 0.0, tall, slim))
    line_nm = max((line_side_moment_nm(each, _largest_n(inp)) for each in corners(inp)), key=abs)
    spread_m = offset_spread_m(inp)
    # Against the line's side a light tree is the worse one.
    ends = product((inp.mass.low_kg, inp.mass.high_kg), (inp.side_lean_m - spread_m, inp.side_lean_m + spread_m))
    return _SideEnds(
        still_nm=max(side_moment_nm(kg * GRAVITY, o_m, 0.0, problem.crown_z_m, line_nm) for kg, o_m in ends),
        per_square_nm=wind_force_n(1.0, inp.crown_area_m2, inp.drag_high) * problem.crown_z_m,
        capacity_nm=side_capacity_nm(inp.mor_low_pa, problem.hinge_thickness_m, problem.hinge_length_m),
    )


def _largest_n(inp: FellingInput) -> float:
    return inp.line.largest_n if inp.line else 0.0


def _forces(inp: FellingInput, bounds: Bounds) -> Forces:
    problem, ends, available_n = _nominal(inp), corners(inp), _available_n(inp)
    needs = [needed_n(each) for each in ends]
    bare, thicker = (
        replace(problem, mor_pa=0.0),
        problem_for(inp, replace(nominal_draw(inp), thicker_m=THICKER_HINGE_M)),
    )
    side_moment, side_capacity = _side(inp)
    side_ends = _side_ends(inp)
    # No wind across is reckoned with: then none can set the stop wind either.
    across_ms = side_ends.stop_ms() if inp.wind_side_ms else math.inf
    return Forces(
        weight_moment_nm=weight_moment_nm(problem),
        wind_force_n=wind_force_n(problem.wind_ms, problem.crown_area_m2, problem.drag),
        wind_moment_nm=wind_moment_nm(problem),
        hinge_moment_nm=hinge_moment_nm(problem),
        arm_m=force_arm_m(problem),
        line_angle_deg=line_angle_deg(problem, problem.line) if problem.line else None,
        line_off_lay_deg=inp.line_off_lay_deg,
        line_side_moment_nm=line_side_moment_nm(problem, _largest_n(inp)),
        needed_n=Interval(min(needs), needed_n(problem), max(needs)),
        needed_without_hinge_n=needed_n(bare),
        needed_thicker_hinge_n=needed_n(thicker),
        stop_wind=_stop_wind(problem, ends, available_n, across_ms, bounds.gust_ms.high),
        side_moment_nm=side_moment,
        side_capacity_nm=side_capacity,
        side_holds_at_ends=side_ends.holds(inp.wind_side_ms),
        held_share=held_share(inp, (available_n.low, available_n.nominal, available_n.high)),
        wedge_lift_m=None if problem.line else wedge_lift_m(problem),
    )


def _stop_wind(
    problem: HingeProblem,
    ends: Sequence[HingeProblem],
    available_n: Interval,
    across_ms: float | None,
    cap_ms: float,
) -> StopWind:
    """The crew's figure is the least of what pull and hinge stand at the unfavourable ends."""
    nominal_ms = stop_wind_ms(problem, available_n.nominal)
    low_ms = _least([stop_wind_ms(each, available_n.low) for each in ends])
    if nominal_ms is not None and math.isinf(nominal_ms):
        low_ms = nominal_ms  # no crown to blow on: the cap alone is printed
    least_ms = _least([low_ms, across_ms])
    return StopWind(
        counted=problem.crown_area_m2 * problem.drag > 0,
        nominal_ms=_finite(nominal_ms),
        low_ms=_finite(low_ms),
        across_ms=_finite(across_ms),
        printed_ms=None if least_ms is None else min(cap_ms, least_ms / PRINTED_GUST_FACTOR),
    )


def _finite(gust_ms: float | None) -> float | None:
    return None if gust_ms is None or math.isinf(gust_ms) else gust_ms


def _least(winds: Sequence[float | None]) -> float | None:
    """The least of them, and None as soon as one does not even stand still air."""
    known = [wind for wind in winds if wind is not None]
    return min(known) if len(known) == len(winds) else None


def _verdict(inp: FellingInput, forces: Forces, available_n: Interval, faults: Sequence[str]) -> Verdict:
    if faults or not _enough(available_n.nominal, forces.needed_n.nominal):
        return Verdict.NOT_ADEQUATE
    sure = _enough(available_n.low, forces.needed_n.high) and forces.side_holds_at_ends
    if sure and inp.design_factor >= DESIGN_FACTOR:
        return Verdict.ADEQUATE
    return Verdict.MARGINAL


def _enough(available_n: float, needed_n: float) -> bool:
    return available_n * ROUNDING >= needed_n


def _reasons(inp: FellingInput, forces: Forces, available_n: Interval) -> Iterator[str]:
    needed, source = forces.needed_n, "line" if inp.line else "wedge or jack"
    if not _enough(available_n.nominal, needed.nominal):
        yield f"The {source} needs {wording.force(needed.nominal)}; {wording.force(available_n.nominal)} is available."
        return
    yield f"At the nominal values {wording.force(needed.nominal)} of {wording.force(available_n.nominal)} is needed."
    ends = f"{wording.force(needed.high)} needed and {wording.force(available_n.low)} available"
    holds = "still holds" if _enough(available_n.low, needed.high) else "does not hold"
    yield f"At the unfavourable ends together, {ends}, it {holds}."
    yield f"The pull holds in {wording.percent(forces.held_share)} of a seeded sample of the uncertain inputs."
    if not forces.side_holds_at_ends:
        yield "Sideways the hinge does not hold at the unfavourable ends of weight, lean and wind."


def _rating(inp: FellingInput) -> LineRating | None:
    line = inp.line
    if line is None:
        return None
    legs_deg = line.redirect_legs_deg
    return LineRating(
        least_working_load_n=line.largest_n,
        redirect_load_n=None if legs_deg is None else redirect_load_n(line.largest_n, legs_deg),
    )
