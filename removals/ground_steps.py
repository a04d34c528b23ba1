"""Figures of the line and of the ground opened: what the gear must hold, where the top lands, who stands how far away."""

from collections.abc import Iterator

from inventory.units import M_PER_FT
from removals.felling_input import FellingInput, PullLine
from removals.felling_result import FellingPlanResult, Interval, LineRating
from removals.felling_steps import Step
from removals.intervals import SAMPLES
from removals.place import (
    APPROACH_HEIGHTS,
    KEEP_CLEAR_HEIGHTS,
    PULLER_HEIGHTS,
    RETREAT_DISTANCE_M,
    Place,
)


def ground_steps(inp: FellingInput, result: FellingPlanResult) -> Iterator[Step]:
    """Only what holds: the tension inside the method, the ground once a lay is chosen."""
    if result.forces:
        yield _available(inp, result.available_n)
        yield _share(result.forces.held_share)
    if inp.line and result.rating:
        yield from _gear(inp.line, result.rating)
    if result.place.lay_deg is not None:
        yield from _top(inp, result.place)
        yield from _distances(inp, result.place)
        yield _retreat_points(result.place)


def _available(inp: FellingInput, available_n: Interval) -> Step:
    if inp.line:
        formula = "people: Σ body mass · g · effort · tackle; winch: its stall · tackle; tackle = Σ η^i"
        source = f"{inp.line.haul}, tackle and sheaves counted in"
    else:
        formula, source = "the force that wedge or jack is rated for", "as rated"
    low, high = f"{available_n.low:.5g}", f"{available_n.high:.5g}"
    return Step("available_n", "Available force", formula, f"{source}: {low} to {high} N = {available_n.nominal:.6g} N")


def _share(share: float) -> Step:
    held = round(share * SAMPLES)
    return Step(
        "held_share_pct",
        "Share of samples in which the pull holds",
        "mass, drag, hinge, lean, height, diameter and effort drawn from their ranges, with a seed",
        f"{held} of {SAMPLES} samples = {100 * share:.4g} %",
    )


def _gear(line: PullLine, rating: LineRating) -> Iterator[Step]:
    limit_n = line.working_load_limit_n
    entered = "not entered: read it on line, slings and blocks" if limit_n is None else f"entered: {limit_n:.6g} N"
    yield Step(
        "least_working_load_n",
        "Least working load limit of line and gear",
        "≥ the largest tension that pullers or winch can make at the tree",
        f"{entered}; needed = {rating.least_working_load_n:.6g} N",
    )
    if rating.redirect_load_n is not None and line.redirect_legs_deg is not None:
        yield Step(
            "redirect_load_n",
            "Load on the redirect and its sling",
            "2 T cos(γ/2)",
            f"2 · {line.largest_n:.6g} N · cos({line.redirect_legs_deg:g}°/2) = {rating.redirect_load_n:.6g} N",
        )


def _top(inp: FellingInput, place: Place) -> Iterator[Step]:
    yield Step(
        "top_distance_m",
        "The top lands this far out along the lay",
        "H − h_cut",
        f"{inp.height_m:.4g} − {inp.cut_height_m:.4g} m = {place.top_distance_m:.4g} m",
    )
    yield Step(
        "top_side_m",
        "and within this much to either side",
        "(H − h_cut) sin ε + crown radius",
        f"{place.top_distance_m:.4g} m · sin {place.swath_half_deg:g}° + {place.crown_radius_m:.4g} m"
        f" = {place.top_side_m:.4g} m",
    )


def _distances(inp: FellingInput, place: Place) -> Iterator[Step]:
    rows = (
        ("keep_clear_m", "Keep clear along the lay", KEEP_CLEAR_HEIGHTS, place.keep_clear_m),
        ("approach_m", "Nobody approaches within, until the feller says so", APPROACH_HEIGHTS, place.approach_m),
        ("puller_least_m", "Pullers in line stand at least", PULLER_HEIGHTS, place.puller_least_m),
    )
    for key, label, heights, value_m in rows:
        yield Step(key, label, f"{heights:g} H", f"{heights:g} · {inp.height_m:.4g} m = {value_m:.4g} m")


def _retreat_points(place: Place) -> Step:
    points = "; ".join(
        f"{way.bearing_deg:.0f}°: {_compass(way.point_m[0], 'east', 'west')}, {_compass(way.point_m[1], 'north', 'south')}"
        for way in place.retreats
    )
    return Step(
        "retreat_distance_m",
        "Each way out ends at least this far from the stump",
        "25 ft (OAR 437-007-0810), 45° back from the lay; never straight behind",
        f"{points}; {RETREAT_DISTANCE_M / M_PER_FT:.0f} ft = {RETREAT_DISTANCE_M:.4g} m",
    )


def _compass(metres: float, positive: str, negative: str) -> str:
    return f"{abs(metres):.1f} m {positive if metres >= 0 else negative}"
