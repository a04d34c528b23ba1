"""The rose of directions, to scale, north up: which ways are clear, which are blocked and by what, which are proposed.

Told apart without colour: clear ways are open paper, accepted ones hatched wide, blocked ones hatched close and
crosswise to them, proposals bold and numbered.
"""

from collections.abc import Iterator, Sequence

from inventory.units import Units
from removals.bounds import METHOD_BOUNDS
from removals.lay_finder import STEP_DEG, Lay, LayFindings, LayStatus
from removals.lay_words import rose_words, runs
from removals.map_parts import (
    SIDE,
    STUMP,
    Feature,
    feature_shapes,
    feature_words,
    features_of,
    north,
    placed_labels,
    scale_bar,
    stump,
    view_for,
)
from removals.place import point_m, sector
from removals.svg import Drawing, Pattern, Point, Shape, View
from removals.things import Thing

BLOCKED_HATCH = Pattern("blocked", 45, 7)
ACCEPTED_HATCH = Pattern("accepted", 135, 13)
HATCHES = {LayStatus.BLOCKED: BLOCKED_HATCH, LayStatus.ACCEPTED: ACCEPTED_HATCH}
NUMBER_AT = 1.09
LEGEND_TOP = SIDE + 36.0
SWATCH = 16.0


def rose(findings: LayFindings, things: Sequence[Thing], units: Units, key: str = "rose") -> Drawing:
    """The sectors reach as far as the swath; the paper as far as a wire would stop the felling."""
    reach_m = METHOD_BOUNDS.wire_heights.low * findings.tree.height_m
    view = view_for(reach_m)
    features = features_of(things, findings.hit, reach_m)
    marks = tuple(_proposals(view, findings))
    return Drawing(
        key=key,
        title="Which ways are clear",
        description=_words(findings, features, units),
        width=SIDE,
        height=SIDE + 62.0,
        units_per_m=view.units_per_m,
        shapes=(
            *_sectors(view, findings, key),
            *(shape for feature in features for shape in feature_shapes(view, feature)),
            *stump(view, findings.tree.crown_radius_m),
            *marks,
            *placed_labels(view, features, [mark for mark in marks if mark.tag == "text"]),
            *north(view),
            *scale_bar(view, units),
            *_legend(key),
        ),
        patterns=(BLOCKED_HATCH, ACCEPTED_HATCH),
    )


def _words(findings: LayFindings, features: Sequence[Feature], units: Units) -> str:
    here = (feature_words(each, units) for each in features)
    return " ".join(("North is up; the stump is in the middle.", rose_words(findings), *here))


def _sectors(view: View, findings: LayFindings, key: str) -> Iterator[Shape]:
    for status, first_deg, last_deg in runs(findings.lays):
        corners = _corners(first_deg, last_deg, findings.tree.swath.reach_m)
        yield view.polygon(f"rose-{status}", corners)
        if status in HATCHES:
            yield view.hatched(key, HATCHES[status], corners)


def _corners(first_deg: float, last_deg: float, reach_m: float) -> tuple[Point, ...]:
    """A sector half a step wider than its bearings on both sides; the whole circle without a seam."""
    span_deg = (last_deg - first_deg) % 360.0 + STEP_DEG
    arc = sector(first_deg + (span_deg - STEP_DEG) / 2, span_deg / 2, reach_m)
    return arc if span_deg >= 360.0 else (STUMP, *arc)


def _proposals(view: View, findings: LayFindings) -> Iterator[Shape]:
    for number, lay in enumerate(findings.proposed, start=1):
        tip = point_m(lay.bearing_deg, findings.tree.height_m)
        yield view.line("proposed", STUMP, tip)
        yield view.arrow_head("arrow", tip, STUMP)
        yield _number(view, number, lay, findings.tree.swath.reach_m)


def _number(view: View, number: int, lay: Lay, reach_m: float) -> Shape:
    east_m, _ = at = point_m(lay.bearing_deg, NUMBER_AT * reach_m)
    anchor = "middle" if abs(east_m) < reach_m / 4 else "start" if east_m > 0 else "end"
    return view.text(at, f"{number}: {lay.bearing_deg:.0f}°", anchor=anchor, css="proposed-number", shift=(0.0, 5.0))


def _legend(key: str) -> Iterator[Shape]:
    """What the hatching means, under the rose."""
    paper = View(1.0, 0.0, LEGEND_TOP)
    for place, status in enumerate(LayStatus):
        left = 16.0 + place * SIDE / 3
        corners = ((left, 0.0), (left + SWATCH, 0.0), (left + SWATCH, -SWATCH), (left, -SWATCH))
        yield paper.polygon(f"rose-{status} legend", corners)
        if status in HATCHES:
            yield paper.hatched(key, HATCHES[status], corners)
        yield paper.text((left + SWATCH, -SWATCH), status, anchor="start", shift=(8.0, -2.0))
