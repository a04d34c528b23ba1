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
# Whose measures say how a tree is built and how it stands.
ROOTS_CUT, LIFTED_SOIL = "cut or torn roots", "soil lifted or cracked"
LEAN, NEW_LEAN, LIVE_CROWN = "lean", "new lean with lifted soil", "short live crown"

_CIRCUMFERENCE = Measure("%", "of the circumference", 100)
_ROOTS_LOST = Measure("%", "of the roots near the stem", 100)
_THICKNESS = Measure("cm", "thickest", 200)
_SHELL = Measure("cm", "sound wood, thinnest of at least three readings", 200)
_OF_HEIGHT = Measure("%", "of the height that bears live crown", 100)
_ANGLE = Measure("°", "from upright", 90)

KINDS: dict[str, tuple[Kind, ...]] = {
    "roots": (
        Kind(ROOTS_CUT, _ROOTS_LOST),
        Kind("girdling roots", _CIRCUMFERENCE),
        Kind("decay in roots"),
        Kind("fruiting bodies on the ground"),
        Kind(LIFTED_SOIL),
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
        Kind(LEAN, _ANGLE),
        Kind(NEW_LEAN),
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
        Kind(LIVE_CROWN, _OF_HEIGHT),
        Kind("shoots from old wood"),
        Kind("earlier topping"),
        Kind("signs of a pest"),
    ),
}
