"""What the crews of the demo measured once a tree lay: the same for a tag every time."""

import math
from random import Random

from removals.models import FellingPlan
from removals.outcome import Went

STEERS_DEG = 4.0
DIAMETER_SPREAD = 0.04
HEIGHT_SPREAD = 0.05
NEAR_MISSES = (
    "A dead limb came down beside the puller; he stood on the far side of the redirect.",
    "A cyclist passed the closed gate; the sentry called stop before the back cut.",
)


def went(tag: str, told: str, plan: FellingPlan) -> Went:
    """A little off the plan in direction, diameter and height; now and then a near miss was told."""
    dice = Random(tag)  # noqa: S311
    off_deg = round(dice.gauss(0, STEERS_DEG))
    if "2 m left" in told:
        off_deg = -round(math.degrees(math.asin(2.0 / plan.inputs["height_m"])))
    swath_deg = plan.results["place"]["swath_half_deg"]
    return Went(
        as_planned=abs(off_deg) <= swath_deg,
        hinge_held=True,
        actual_lay_deg=(plan.results["place"]["lay_deg"] + off_deg) % 360,
        near_miss=dice.choice(NEAR_MISSES) if dice.random() < 0.15 else "",
        diameter_cm=round(100 * plan.inputs["diameter_m"] * dice.gauss(1, DIAMETER_SPREAD), 1),
        height_m=round(plan.inputs["height_m"] * dice.gauss(1, HEIGHT_SPREAD), 1),
    )
