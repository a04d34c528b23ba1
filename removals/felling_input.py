"""What a felling plan is computed from: one tree, one cut, one wind, and what brings the tree over.

SI with the unit in each name. Heights are above the ground at the stump. Leans and wind are already resolved against
the fall and across it (`place.resolve` does that). Every field is plain data, so that a plan can be kept as computed.
"""

import math
from dataclasses import dataclass, field
from enum import StrEnum

from removals.cut import NotchKind
from removals.things import Thing
from removals.weight import GreenMass

COM_SHARE_OF_HEIGHT = 0.45
"""Height of the centre of mass above ground over the tree's height, unless measured: an assumption of this program."""

DESIGN_FACTOR = 1.5
ZONE_MULTIPLE = 2.0
STEERING_ERROR_DEG = 10.0


class Haul(StrEnum):
    HANDS = "hands"
    WINCH = "winch with progress capture"
    UNSTATED = "not stated"


class Refusal(StrEnum):
    """What takes a tree out of the method at a look; the value ends 'The tree has ...' or 'There is ...'."""

    HUNG = "hung limbs or another tree lodged in it"
    CRACK = "a crack or an included union below the anchor"
    SNOW = "a load of snow or ice"
    VINES = "vines into a neighbouring tree"
    SEVERAL_STEMS = "several stems"
    PALM = "the build of a palm or a tree fern"
    LIGHTNING = "lightning within 30 minutes"
    DARKNESS = "darkness"


@dataclass(frozen=True, slots=True, kw_only=True)
class PullLine:
    """A line in the tree. Tensions are at the tree; `largest_n` is the most that pullers or winch can make there.

    `distance_m` and `bearing_deg` lead from the stump to the pullers, or to the block that turns the line; a bearing of
    None is the lay.
    """

    anchor_height_m: float
    distance_m: float
    pull_n: float
    pull_low_n: float
    pull_high_n: float
    largest_n: float
    puller_height_m: float = 0.0
    bearing_deg: float | None = None
    haul: Haul = Haul.UNSTATED
    redirected: bool | None = None
    redirect_legs_deg: float | None = None
    working_load_limit_n: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Wedges:
    """Wedges or a jack in the back cut and the force they are rated for."""

    rated_n: float
    stacked: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Health:
    """What is known of the wood. `sound_shell_share` is the thinnest sound shell at the cut over the radius."""

    genus: str = ""
    dead: bool = False
    months_dead: float | None = None
    dieback_share: float | None = None
    sound_shell_share: float | None = None
    hinge_decayed: bool = False
    splits_easily: bool = True
    refusals: tuple[Refusal, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """The place around the stump: bearings from true north, distances from it; `wire_gap_m` is from crown or line.

    `things`: what is known to stand there, kept with the plan; `accepted`: names of those that the tree may fall on;
    `wires_noted`: the inventory notes overhead lines at this tree.
    """

    lay_deg: float | None = None
    zone_multiple: float = ZONE_MULTIPLE
    steering_error_deg: float = STEERING_ERROR_DEG
    declination_deg: float | None = None
    slope_pct: float = 0.0
    downhill_deg: float | None = None
    clear_length_m: float | None = None
    wire_distance_m: float | None = None
    wire_gap_m: float | None = None
    wire_kv: float | None = None
    things: tuple[Thing, ...] = ()
    accepted: tuple[str, ...] = ()
    wires_noted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FellingInput:
    """`back_lean_m` and `side_lean_m` are offsets of the centre of mass: against the fall, and to the right of it."""

    diameter_m: float
    notch: NotchKind
    notch_share: float
    opening_deg: float
    hinge_share: float
    cut_height_m: float
    height_m: float
    crown_spread_m: float
    crown_base_m: float
    mass: GreenMass
    back_lean_m: float
    side_lean_m: float
    mor_pa: float
    wind_against_ms: float
    crown_area_m2: float
    drag: float
    crown_centre_m: float
    line: PullLine | None
    wedges: Wedges | None = None
    design_factor: float = DESIGN_FACTOR
    com_height_m: float | None = None
    wind_side_ms: float = 0.0
    gust_ms: float = 0.0
    bored_back_cut: bool | None = None
    diameter_low_share: float = 0.97
    diameter_high_share: float = 1.03
    drag_low: float
    drag_high: float
    mor_low_pa: float
    mor_high_pa: float
    health: Health = field(default_factory=Health)
    site: Site = field(default_factory=Site)

    @property
    def com_z_m(self) -> float:
        """Centre of mass above the cut."""
        above_ground_m = COM_SHARE_OF_HEIGHT * self.height_m if self.com_height_m is None else self.com_height_m
        return above_ground_m - self.cut_height_m

    @property
    def strongest_gust_ms(self) -> float:
        return max(self.gust_ms, self.wind_against_ms, self.wind_side_ms)

    @property
    def back_lean_deg(self) -> float:
        """Lean of the centre of mass against the fall; negative with it."""
        return math.degrees(math.atan2(self.back_lean_m, self.com_z_m))

    @property
    def side_lean_deg(self) -> float:
        return math.degrees(math.atan2(self.side_lean_m, self.com_z_m))

    @property
    def line_off_lay_deg(self) -> float:
        """How far to the right of the lay the line runs, -180 to 180; 0 along it and without line, bearing or lay."""
        lay_deg = self.site.lay_deg
        if self.line is None or self.line.bearing_deg is None or lay_deg is None:
            return 0.0
        return (self.line.bearing_deg - lay_deg + 180.0) % 360.0 - 180.0

    @property
    def downhill(self) -> bool:
        """Whether the tree falls downhill; on a slope of unknown direction it is taken to."""
        if self.site.slope_pct <= 0:
            return False
        if self.site.downhill_deg is None or self.site.lay_deg is None:
            return True
        return math.cos(math.radians(self.site.downhill_deg - self.site.lay_deg)) > 0


DRAG_IN_LEAF = (0.40, 0.25, 0.70)
DRAG_CONIFER = (0.60, 0.35, 0.80)
DRAG_LEAFLESS = (0.18, 0.10, 0.25)
"""Drag coefficient and its range below 10 m/s on the still-air silhouette. From 0.15-0.22 (broadleaves) and 0.22-0.47
(conifers) at 20 m/s (Vollsinger et al. 2005; Rudnicki et al. 2004), raised to low speed by the in-leaf exponent 1.64;
leaves two to three times the leafless load (Angelou et al. 2019, Forestry 92:381)."""


def drag_range(drag: float) -> tuple[float, float]:
    """Range of an entered drag coefficient: that of the crown whose default lies nearest, widened to hold the entry."""
    _, low, high = min((DRAG_IN_LEAF, DRAG_CONIFER, DRAG_LEAFLESS), key=lambda row: abs(row[0] - drag))
    return min(low, drag), max(high, drag)
