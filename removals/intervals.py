"""Uncertain inputs: the corners of their box, and a seeded sample of it.

Mass over its range, drag by crown, hinge from nothing to its full strength at the greatest modulus, hinge 0 to 1 cm
thicker than planned, offset ± max(0.1 m, 1° of the centre of mass's height), heights ± 10 %, measured diameter ± 3 %, a
hand pull ± 20 %. The design factor stays. Height scales what was measured with it: anchor, crown, centre of mass.
"""

import math
from dataclasses import dataclass
from itertools import product
from random import Random

from removals.cut import hinge_length_m, stem_behind_hinge_m
from removals.felling_input import COM_SHARE_OF_HEIGHT, FellingInput
from removals.pull import HingeProblem, LineGeometry, needed_n

HEIGHT_SPREAD = 0.10
THICKER_HINGE_M = 0.01
OFFSET_LEAST_M = 0.1
OFFSET_DEG = 1.0
SAMPLES = 2000
SEED = 1


@dataclass(frozen=True, slots=True)
class Draw:
    """One choice of the uncertain inputs."""

    mass_kg: float
    drag: float
    mor_pa: float
    thicker_m: float = 0.0
    shift_m: float = 0.0
    height_scale: float = 1.0
    diameter_scale: float = 1.0


def offset_spread_m(inp: FellingInput) -> float:
    return max(OFFSET_LEAST_M, math.tan(math.radians(OFFSET_DEG)) * inp.com_z_m)


def nominal_draw(inp: FellingInput) -> Draw:
    return Draw(inp.mass.kg, inp.drag, inp.mor_pa)


def problem_for(inp: FellingInput, draw: Draw) -> HingeProblem:
    """The numbers about the hinge for one draw."""
    diameter_m = inp.diameter_m * draw.diameter_scale
    notch_m = inp.notch_share * diameter_m
    hinge_m = inp.hinge_share * diameter_m + draw.thicker_m
    return HingeProblem(
        mass_kg=draw.mass_kg,
        offset_m=inp.back_lean_m + draw.shift_m,
        com_z_m=_com_z_m(inp, draw.height_scale),
        behind_m=stem_behind_hinge_m(diameter_m, notch_m, hinge_m),
        hinge_length_m=hinge_length_m(diameter_m, notch_m),
        hinge_thickness_m=hinge_m,
        back_cut_m=diameter_m - notch_m - hinge_m,
        mor_pa=draw.mor_pa,
        wind_ms=inp.wind_against_ms,
        crown_area_m2=inp.crown_area_m2,
        drag=draw.drag,
        crown_z_m=max(0.0, inp.crown_centre_m * draw.height_scale - inp.cut_height_m),
        factor=inp.design_factor,
        line=_line(inp, draw.height_scale),
    )


def corners(inp: FellingInput) -> tuple[HingeProblem, ...]:
    """Every combination of the ends of the uncertain inputs."""
    shift_m = offset_spread_m(inp)
    ends = product(
        (inp.mass.low_kg, inp.mass.high_kg),
        (inp.drag_low, inp.drag_high),
        (0.0, inp.mor_high_pa),
        (0.0, THICKER_HINGE_M),
        (-shift_m, shift_m),
        (1 - HEIGHT_SPREAD, 1 + HEIGHT_SPREAD),
        (inp.diameter_low_share, inp.diameter_high_share),
    )
    return tuple(problem_for(inp, Draw(*end)) for end in ends)


def held_share(inp: FellingInput, pull: tuple[float, float, float], seed: int = SEED, samples: int = SAMPLES) -> float:
    """Share of seeded samples in which the pull (least, likely, greatest, N) is at least what is needed."""
    random = Random(seed)  # noqa: S311 - a repeatable sample, no secret
    low_n, likely_n, high_n = pull
    held = sum(
        needed_n(problem_for(inp, _draw(inp, random))) <= random.triangular(low_n, high_n, likely_n)
        for _ in range(samples)
    )
    return held / samples


def _draw(inp: FellingInput, random: Random) -> Draw:
    """Mass log-normal with its range as one sigma, drag triangular, the rest even over its range."""
    shift_m = offset_spread_m(inp)
    return Draw(
        mass_kg=_mass_kg(inp, random.gauss()),
        drag=random.triangular(inp.drag_low, inp.drag_high, inp.drag),
        mor_pa=random.uniform(inp.mor_low_pa, inp.mor_high_pa) * random.random(),
        thicker_m=random.uniform(0.0, THICKER_HINGE_M),
        shift_m=random.uniform(-shift_m, shift_m),
        height_scale=random.uniform(1 - HEIGHT_SPREAD, 1 + HEIGHT_SPREAD),
        diameter_scale=random.triangular(inp.diameter_low_share, inp.diameter_high_share, 1.0),
    )


def _mass_kg(inp: FellingInput, sigmas: float) -> float:
    mass = inp.mass
    spread = mass.high_kg / mass.kg if sigmas > 0 else mass.kg / mass.low_kg
    return mass.kg * float(spread**sigmas)


def _com_z_m(inp: FellingInput, height_scale: float) -> float:
    """A measured centre of mass keeps its height; the assumed one moves with the tree's."""
    if inp.com_height_m is not None:
        return inp.com_z_m
    return COM_SHARE_OF_HEIGHT * inp.height_m * height_scale - inp.cut_height_m


def _line(inp: FellingInput, height_scale: float) -> LineGeometry | None:
    if inp.line is None:
        return None
    return LineGeometry(
        anchor_z_m=inp.line.anchor_height_m * height_scale - inp.cut_height_m,
        distance_m=inp.line.distance_m,
        cut_above_puller_m=inp.cut_height_m - inp.line.puller_height_m,
        off_lay_deg=inp.line_off_lay_deg,
    )
