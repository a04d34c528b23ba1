"""The cut drawn to scale: from the side and from above, the fall to the right.

Notch (taken out, hatched), hinge (filled) and back cut (a heavy line) are told apart without colour, and every
dimension stands in the reader's unit.
"""

import math
from collections.abc import Iterator

from inventory.units import Units, small_length
from removals.cut import CutGeometry, NotchKind
from removals.felling_input import FellingInput
from removals.svg import Drawing, Pattern, Point, Shape, View, arc

WIDTH = 660.0
STEM_WIDTH = 300.0
CENTRE = 310.0
MARGIN = 34.0
ROW = 34.0
NOTCH_HATCH = Pattern("notch", 45, 9)


def cut_from_side(inp: FellingInput, cut: CutGeometry, units: Units, key: str = "cut-side") -> Drawing:
    """The stem seen square to the fall, level cut at height 0."""
    d_m = inp.diameter_m
    above_m = max(cut.face_height_above_m, cut.back_cut_height_m) + 0.3 * d_m
    below_m = min(cut.face_height_below_m + 0.3 * d_m, inp.cut_height_m)
    scale = STEM_WIDTH / d_m
    view = View(scale, CENTRE, MARGIN + above_m * scale)
    return Drawing(
        key=key,
        title="The cut from the side",
        description=_words(inp, cut, units),
        width=WIDTH,
        height=MARGIN + (above_m + below_m) * scale + 3.6 * ROW,
        units_per_m=scale,
        shapes=(
            *_stem_from_side(view, inp, cut, above_m, below_m, key),
            *_heights(view, inp, cut, units),
            *_widths(view, inp, cut, units, -below_m),
            *_fall(view, (0.62 * d_m, above_m), 0.35 * d_m),
        ),
        patterns=(NOTCH_HATCH,),
    )


def _stem_from_side(
    view: View, inp: FellingInput, cut: CutGeometry, above_m: float, below_m: float, key: str
) -> Iterator[Shape]:
    r_m = inp.diameter_m / 2
    yield view.polygon("wood", ((-r_m, -below_m), (r_m, -below_m), (r_m, above_m), (-r_m, above_m)))
    notch = notch_corners(r_m, cut)
    yield view.polygon("cut-wood notch", notch)
    yield view.hatched(key, NOTCH_HATCH, notch)
    hinge = _hinge_corners(r_m, cut, 0.05 * inp.diameter_m)
    yield view.polygon("hinge", hinge)
    hinge_back_m = r_m - cut.notch_depth_m - cut.hinge_thickness_m
    yield view.line("cut back-cut", (-r_m, cut.back_cut_height_m), (hinge_back_m, cut.back_cut_height_m))
    yield view.line("axis", (0.0, -below_m), (0.0, above_m))
    if below_m == inp.cut_height_m:
        yield view.line("ground", (-2.2 * r_m, -below_m), (2.2 * r_m, -below_m))


def notch_corners(radius_m: float, cut: CutGeometry) -> tuple[Point, Point, Point]:
    """Apex, bark above and bark below; the stem's axis at 0, the level cut at height 0."""
    return (
        (radius_m - cut.notch_depth_m, 0.0),
        (radius_m, cut.face_height_above_m),
        (radius_m, -cut.face_height_below_m),
    )


def _hinge_corners(radius_m: float, cut: CutGeometry, reach_m: float) -> tuple[Point, ...]:
    """The strip between apex and back cut, its true thickness wide and a little higher than the cuts it joins."""
    front_m = radius_m - cut.notch_depth_m
    back_m = front_m - cut.hinge_thickness_m
    top_m = cut.back_cut_height_m + reach_m
    return ((back_m, -reach_m), (front_m, -reach_m), (front_m, top_m), (back_m, top_m))


def _widths(view: View, inp: FellingInput, cut: CutGeometry, units: Units, bottom_m: float) -> Iterator[Shape]:
    """Back cut, notch, hinge and stem, each on a row under the drawing."""
    r_m, row_m = inp.diameter_m / 2, ROW / view.units_per_m
    front_m = r_m - cut.notch_depth_m
    back_m = front_m - cut.hinge_thickness_m
    rows = (
        (1, -r_m, back_m, f"back cut {_small(cut.back_cut_m, units)}"),
        (1, front_m, r_m, f"notch {_small(cut.notch_depth_m, units)}"),
        (2, back_m, front_m, f"hinge {_small(cut.hinge_thickness_m, units)}"),
        (3, -r_m, r_m, f"stem inside bark {_small(inp.diameter_m, units)}"),
    )
    for row, from_m, to_m, words in rows:
        y_m = bottom_m - (row - 0.35) * row_m
        yield from view.dimension((from_m, y_m), (to_m, y_m), words, shift=(0.0, 17.0))


def _heights(view: View, inp: FellingInput, cut: CutGeometry, units: Units) -> Iterator[Shape]:
    """Back cut above the level cut on the left; the faces of the notch and its opening on the right."""
    r_m = inp.diameter_m / 2
    left_m, right_m = -r_m - 16 / view.units_per_m, r_m + 16 / view.units_per_m
    if cut.back_cut_height_m > 0:
        words = f"{_small(cut.back_cut_height_m, units)} above"
        up = (left_m, cut.back_cut_height_m)
        yield from view.dimension((left_m, 0.0), up, words, shift=(-10.0, 5.0), anchor="end")
    for face_m, way in ((cut.face_height_above_m, 1), (cut.face_height_below_m, -1)):
        if face_m > 0:
            words = f"face {_small(face_m, units)}"
            yield from view.dimension((right_m, 0.0), (right_m, way * face_m), words, shift=(10.0, 5.0), anchor="start")
    top = (right_m, cut.face_height_above_m)
    yield view.text(top, f"opening {inp.opening_deg:.0f}°", anchor="start", shift=(10.0, -10.0))


def _fall(view: View, tail: Point, length_m: float) -> Iterator[Shape]:
    tip = (tail[0] + length_m, tail[1])
    yield view.line("lay", tail, tip)
    yield view.arrow_head("arrow-lay", tip, tail)
    yield view.text(tail, "falls this way", anchor="start", shift=(0.0, -10.0))


def cut_from_above(inp: FellingInput, cut: CutGeometry, units: Units, key: str = "cut-above") -> Drawing:
    """The stump from above: notch and back cut with the hinge between them."""
    d_m = inp.diameter_m
    scale = STEM_WIDTH / d_m
    view = View(scale, CENTRE, MARGIN + STEM_WIDTH / 2)
    right_m = d_m / 2 + 14 / scale
    chord_m = cut.hinge_length_m / 2
    return Drawing(
        key=key,
        title="The cut from above",
        description=_words(inp, cut, units),
        width=WIDTH,
        height=MARGIN + STEM_WIDTH + 3.6 * ROW,
        units_per_m=scale,
        shapes=(
            *_stump_from_above(view, inp, cut, key),
            *view.dimension(
                (right_m, -chord_m),
                (right_m, chord_m),
                f"hinge length {_small(cut.hinge_length_m, units)}",
                shift=(10.0, 5.0),
                anchor="start",
            ),
            *_widths(view, inp, cut, units, -d_m / 2),
            *_fall(view, (0.62 * d_m, d_m / 2), 0.35 * d_m),
        ),
        patterns=(NOTCH_HATCH,),
    )


def _stump_from_above(view: View, inp: FellingInput, cut: CutGeometry, key: str) -> Iterator[Shape]:
    r_m = inp.diameter_m / 2
    front_m = r_m - cut.notch_depth_m
    back_m = front_m - cut.hinge_thickness_m
    yield view.circle("wood stem", (0.0, 0.0), r_m)
    notch = slice_between(r_m, front_m, r_m)
    yield view.polygon("cut-wood notch", notch)
    yield view.hatched(key, NOTCH_HATCH, notch)
    hinge = slice_between(r_m, back_m, front_m)
    yield view.polygon("hinge", hinge)
    half_m = math.sqrt(max(0.0, r_m**2 - back_m**2))
    yield view.line("cut back-cut", (back_m, -half_m), (back_m, half_m))
    yield view.line("axis", (-1.1 * r_m, 0.0), (1.1 * r_m, 0.0))


def slice_between(radius_m: float, back_m: float, front_m: float) -> tuple[Point, ...]:
    """Outline of the part of a circle between two lines square to the fall, `back_m` and `front_m` from its centre."""
    back, front = (math.acos(max(-1.0, min(1.0, x / radius_m))) for x in (back_m, front_m))
    centre = (0.0, 0.0)
    return (*arc(centre, radius_m, front, back), *arc(centre, radius_m, -back, -front))


def _small(metres: float, units: Units) -> str:
    return small_length(100 * metres, units)


_FACES = {
    NotchKind.CONVENTIONAL: "a level floor and a sloping roof",
    NotchKind.HUMBOLDT: "a level roof and a sloping floor",
    NotchKind.OPEN_FACE: "a sloping roof and a sloping floor",
}


def _words(inp: FellingInput, cut: CutGeometry, units: Units) -> str:
    """The drawing for those who do not see it."""
    back = (
        f"{_small(cut.back_cut_height_m, units)} above the level cut"
        if cut.back_cut_height_m > 0
        else "level with the apex of the notch"
    )
    return (
        f"The tree falls to the right. Stem {_small(inp.diameter_m, units)} inside bark, cut "
        f"{_small(inp.cut_height_m, units)} above ground. Notch ({inp.notch}) with {_FACES[inp.notch]}, "
        f"{_small(cut.notch_depth_m, units)} deep, opening {inp.opening_deg:.0f}°, "
        f"{_small(cut.face_height_m, units)} high at the bark. Hinge {_small(cut.hinge_thickness_m, units)} thick and "
        f"{_small(cut.hinge_length_m, units)} long. Back cut {_small(cut.back_cut_m, units)} long, {back}."
    )
