"""What a storm leaves behind, in the order in which it is dangerous to people.

The order is this program's own: people trapped, then wires down; emergency ways blocked; hanging limbs and split stems over
places in constant or frequent use; new leans with lifted soil; then the rest; inside each by use of the place, then by size.
What is not known counts as the worst that it could be: a size that nobody has measured never puts a find further down.

The figures of the reimbursement record are those of the United States' federal disaster aid for debris (FEMA): limbs of 2 in
or more at the break that hang over a used area (read in part), trees of 6 in or more at 4.5 ft with half of the crown lost, a
split trunk, uprooted, or leaning more than 30 degrees with disturbed ground (30 degrees and half the crown: from memory).
They advise what to write down, and decide nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from hazards.matrix import Occupancy
from inventory.units import CM_PER_IN

ENERGISED = "Wires are down: treat them as energised. Keep everybody away, touch nothing that touches them, and call the utility."
NEAR_WIRES = (
    "Any wire that is down or touched counts as energised: keep everybody away, touch nothing that touches it, "
    "and call the utility."
)
PEOPLE_FIRST = "People are trapped: call the emergency services before anything else."

SIZE_MAX_CM = 500.0
LIMB_LEAST_CM = 2 * CM_PER_IN
STEM_LEAST_CM = 6 * CM_PER_IN
CROWN_LOST_LEAST_PCT = 50
LEAN_MORE_THAN_DEG = 30


class FindKind(Enum):
    PEOPLE_TRAPPED = "people trapped"
    WIRES_DOWN = "wires down"
    BLOCKED_WAY = "blocked way"
    HANGING_LIMB = "hanging limb"
    SPLIT = "split stem or union"
    NEW_LEAN = "new lean with lifted soil"
    UPROOTED = "uprooted"
    ON_STRUCTURE = "on a structure"


# As buttons and lists say it.
KIND_WORDS = {
    FindKind.PEOPLE_TRAPPED: "People trapped",
    FindKind.WIRES_DOWN: "Wires down",
    FindKind.BLOCKED_WAY: "Way blocked",
    FindKind.HANGING_LIMB: "Hanging limb",
    FindKind.SPLIT: "Split stem or union",
    FindKind.NEW_LEAN: "New lean, soil lifted",
    FindKind.UPROOTED: "Uprooted",
    FindKind.ON_STRUCTURE: "On a structure",
}


class Group(Enum):
    """The order of the groups, the most dangerous first, with what a sentence calls them."""

    TRAPPED = "people are trapped"
    WIRES = "wires are down"
    EMERGENCY_WAY = "an emergency way is blocked"
    OVERHEAD = "it hangs or splits over a place in much use"
    LEANING = "a new lean, and the soil has lifted"
    REST = "after what hangs, leans or blocks the way of help"

    @property
    def rank(self) -> int:
        return list(Group).index(self)


MUCH_USED = frozenset({Occupancy.CONSTANT, Occupancy.FREQUENT})
OVERHEAD_KINDS = frozenset({FindKind.HANGING_LIMB, FindKind.SPLIT})


@dataclass(frozen=True)
class Find:
    """One find. ``size_cm``: the diameter of the limb or stem where it broke or stands; None: not measured."""

    kind: FindKind
    occupancy: Occupancy
    wires: bool = False
    emergency_way: bool = False
    size_cm: float | None = None

    def __post_init__(self) -> None:
        if self.size_cm is not None and not 0 < self.size_cm <= SIZE_MAX_CM:
            raise ValueError(
                f"a diameter of {self.size_cm} cm is out of bounds; it is above 0 and up to {SIZE_MAX_CM:.0f} cm"
            )


def group_of(find: Find) -> Group:
    """The most dangerous of the groups that the find belongs to."""
    if find.kind is FindKind.PEOPLE_TRAPPED:
        return Group.TRAPPED
    if find.wires or find.kind is FindKind.WIRES_DOWN:
        return Group.WIRES
    if find.emergency_way:
        return Group.EMERGENCY_WAY
    if find.kind in OVERHEAD_KINDS and find.occupancy in MUCH_USED:
        return Group.OVERHEAD
    return Group.LEANING if find.kind is FindKind.NEW_LEAN else Group.REST


_USES = len(Occupancy)
_SIZES = round(SIZE_MAX_CM * 10) + 1


def danger_key(find: Find) -> int:
    """The place in the order as one number, the smallest first: the group, then the use, then the size in millimetres."""
    size_cm = SIZE_MAX_CM if find.size_cm is None else find.size_cm
    less_used = _USES - 1 - find.occupancy.rank
    smaller = round((SIZE_MAX_CM - size_cm) * 10)
    return (group_of(find).rank * _USES + less_used) * _SIZES + smaller


def why(find: Find) -> str:
    """``Wires are down; the place is in frequent use; 30 cm across.``: the inputs of the key, in its order."""
    group = group_of(find)
    first = group.value if group is not Group.REST else f"{find.kind.value}, {group.value}"
    size = "its size is not measured, so held for large" if find.size_cm is None else f"{find.size_cm:.0f} cm across"
    words = f"{first}; the place is in {find.occupancy.value} use; {size}."
    return words[0].upper() + words[1:]


def cautions(find: Find) -> tuple[str, ...]:
    """What must be read wherever the find is shown."""
    said = (PEOPLE_FIRST,) if find.kind is FindKind.PEOPLE_TRAPPED else ()
    return (*said, ENERGISED) if find.wires or find.kind is FindKind.WIRES_DOWN else said


@dataclass(frozen=True)
class Claim:
    """What the record for reimbursement asks for; None or False where it is not there. Diameters in cm."""

    kind: FindKind
    size_cm: float | None = None
    dbh_cm: float | None = None
    stump_cm: float | None = None
    crown_lost_pct: int | None = None
    lean_deg: int | None = None
    much_used: bool = False
    located: bool = False
    photographed: bool = False
    public_property: bool | None = None


@dataclass(frozen=True)
class Advice:
    """``meets``: what the figures reach, a sentence each; ``missing``: what the record still lacks."""

    meets: tuple[str, ...]
    missing: tuple[str, ...]


def reimbursement(claim: Claim) -> Advice:
    """What a record for reimbursement would say and what it still lacks. Advice: the programme's own rules decide."""
    return Advice(tuple(_meets(claim)), tuple(_missing(claim)))


def _meets(claim: Claim) -> list[str]:
    said: list[str] = []
    if claim.kind is FindKind.HANGING_LIMB and claim.much_used and (claim.size_cm or 0) >= LIMB_LEAST_CM:
        said.append("A limb of 2 in (5 cm) or more at the break hangs over a used area.")
    if (claim.dbh_cm or 0) >= STEM_LEAST_CM and (threat := _threat_of_tree(claim)):
        said.append(f"A tree of 6 in (15 cm) or more at breast height: {threat}.")
    return said


def _threat_of_tree(claim: Claim) -> str:
    if claim.kind is FindKind.SPLIT:
        return "its trunk is split"
    if claim.kind is FindKind.UPROOTED:
        return "it is uprooted"
    if (claim.crown_lost_pct or 0) >= CROWN_LOST_LEAST_PCT:
        return "half of its crown or more is lost"
    if claim.kind is FindKind.NEW_LEAN and (claim.lean_deg or 0) > LEAN_MORE_THAN_DEG:
        return "it leans more than 30° and the ground is disturbed"
    return ""


def _missing(claim: Claim) -> list[str]:
    lacks = {
        "its position": not claim.located,
        "a photo": not claim.photographed,
        "whether it stands on public ground": claim.public_property is None,
        "the diameter at the break": claim.kind is FindKind.HANGING_LIMB and claim.size_cm is None,
        "the diameter at breast height, 4.5 ft (1.37 m)": claim.kind is not FindKind.HANGING_LIMB
        and claim.dbh_cm is None,
        "the stump's diameter at 2 ft (0.6 m)": claim.kind is FindKind.UPROOTED and claim.stump_cm is None,
    }
    return [what for what, lacking in lacks.items() if lacking]
