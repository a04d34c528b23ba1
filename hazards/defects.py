"""What is commonly found on each part of a tree, in the order in which one walks around it.

The kinds are common practice; where the practice measures one, the measure says of what. A list to tick, not a limit: an
inspector may write any other finding.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Measure:
    """``unit`` as stored (``%``, ``cm`` or ``°``), what is measured, and the largest value that can be right."""

    unit: str
    of: str
    maximum: float


@dataclass(frozen=True)
class Kind:
    name: str
    measure: Measure | None = None


# Whose measures say how hollow a stem is.
DECAY_INSIDE, OPEN_CAVITY, CAVITY = "decay inside", "open cavity", "decay or cavity"

_CIRCUMFERENCE = Measure("%", "of the circumference", 100)
_ROOTS_LOST = Measure("%", "of the roots near the stem", 100)
_THICKNESS = Measure("cm", "thickest", 200)
_SHELL = Measure("cm", "sound wood, thinnest of at least three readings", 200)
_ANGLE = Measure("°", "from upright", 90)

KINDS: dict[str, tuple[Kind, ...]] = {
    "roots": (
        Kind("cut or torn roots", _ROOTS_LOST),
        Kind("girdling roots", _CIRCUMFERENCE),
        Kind("decay in roots"),
        Kind("fruiting bodies on the ground"),
        Kind("soil lifted or cracked"),
        Kind("soil raised, compacted or wet"),
    ),
    "root collar": (
        Kind(CAVITY, _CIRCUMFERENCE),
        Kind("crack"),
        Kind("fruiting bodies"),
        Kind("collar buried"),
        Kind("wound from mower or impact"),
    ),
    "trunk": (
        Kind(OPEN_CAVITY, _CIRCUMFERENCE),
        Kind(DECAY_INSIDE, _SHELL),
        Kind("bark dead or missing", _CIRCUMFERENCE),
        Kind("lean", _ANGLE),
        Kind("new lean with lifted soil"),
        Kind("crack"),
        Kind("fruiting bodies"),
    ),
    "union": (
        Kind("included bark"),
        Kind("crack"),
        Kind("decay"),
        Kind("leaders of equal size"),
    ),
    "limb": (
        Kind("dead limbs", _THICKNESS),
        Kind("broken or hanging limb", _THICKNESS),
        Kind("overlong or end-heavy limb"),
        Kind("crack"),
        Kind(CAVITY),
    ),
    "crown": (
        Kind("dead top"),
        Kind("thin or small leaves"),
        Kind("lopsided crown"),
        Kind("shoots from old wood"),
        Kind("earlier topping"),
        Kind("signs of a pest"),
    ),
}
