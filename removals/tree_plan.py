"""A felling plan from what an inventory knows of a tree: defaults fill the rest, and each one is said."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum

from removals.bounds import METHOD_BOUNDS, Bounds
from removals.cut import DBH_TO_CUT_HIGH, DBH_TO_CUT_LOW, NotchKind, dbh_factor
from removals.felling import plan
from removals.felling_input import (
    COM_SHARE_OF_HEIGHT,
    DRAG_CONIFER,
    DRAG_IN_LEAF,
    DRAG_LEAFLESS,
    FellingInput,
    Health,
    PullLine,
    Refusal,
    Site,
    Wedges,
)
from removals.felling_result import FellingPlanResult
from removals.place import resolve, resolve_wind
from removals.pull import com_offset_m
from removals.weight import GreenMass, JenkinsGroup, entered_mass, group_named, mass_by_species, usable
from removals.woods import Basis, is_conifer, strength_for, wood_for

ASSUMED_GUST_MS = 5.0
SPREAD_SHARE_OF_HEIGHT = 0.5
BASE_SHARE_OF_HEIGHT = 0.3
DEFAULT_ANCHOR_SHARE = 2 / 3
DEFAULT_LINE_HEIGHTS = 1.5
SPLITTING_GENERA = frozenset({"Fraxinus", "Quercus", "Carya", "Populus", "Liriodendron"})
MEASURED_SPREAD = 0.03


class PlumbPoint(StrEnum):
    """Which point of the tree was plumbed: the same two metres differ 1.7-fold in pull between them."""

    TIP = "tip"
    CROWN_CENTRE = "crown centre"
    OTHER = "another point"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lean:
    """Lean by clinometer (`degrees`), or by the offset of a plumbed point and its height above ground."""

    toward_deg: float | None = None
    degrees: float | None = None
    plumb_offset_m: float = 0.0
    plumb_height_m: float | None = None
    plumb_point: PlumbPoint = PlumbPoint.OTHER

    def offset_m(self, com_z_m: float, cut_height_m: float) -> float:
        """Horizontal offset of the centre of mass from the stem's centre at the cut."""
        if self.degrees is not None:
            return com_z_m * math.tan(math.radians(self.degrees))
        if self.plumb_height_m is None or self.plumb_height_m <= cut_height_m:
            raise ValueError("A plumbed lean needs the height of the plumbed point, above the cut.")
        return com_offset_m(self.plumb_offset_m, self.plumb_height_m - cut_height_m, com_z_m)


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingTree:
    """A tree as it stands; None is what nobody measured."""

    dbh_cm: float
    height_m: float
    botanical: str = ""
    species_group: str | None = None
    crown_spread_m: float | None = None
    crown_base_m: float | None = None
    diameter_at_cut_cm: float | None = None
    green_mass_kg: float | None = None
    lean: Lean | None = None
    leafless: bool = False
    dead: bool = False
    months_dead: float | None = None
    dieback_share: float | None = None
    sound_shell_share: float | None = None
    hinge_decayed: bool = False
    frozen: bool = False
    refusals: tuple[Refusal, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What the planner chooses: the cut, the weather planned for, and what brings the tree over."""

    notch: NotchKind = NotchKind.OPEN_FACE
    notch_share: float = 0.25
    opening_deg: float = 90.0
    hinge_share: float = 0.10
    cut_height_m: float = 0.8
    bored_back_cut: bool | None = None
    gust_ms: float | None = None
    wind_from_deg: float | None = None
    line: PullLine | None = None
    wedges: Wedges | None = None
    site: Site = field(default_factory=Site)


@dataclass(frozen=True, slots=True)
class TreePlan:
    """The plan with its input and the sentences that say what was assumed rather than measured."""

    inp: FellingInput
    result: FellingPlanResult
    assumed: tuple[str, ...]


def plan_for_tree(tree: StandingTree, choices: Choices | None = None, bounds: Bounds = METHOD_BOUNDS) -> TreePlan:
    """The felling plan of a standing tree; what is not measured is assumed and listed."""
    choices = choices or Choices()
    inp = input_for_tree(tree, choices)
    return TreePlan(inp, plan(inp, bounds), tuple(_assumed(tree, choices)))


def input_for_tree(tree: StandingTree, choices: Choices) -> FellingInput:
    """The input of a plan with defaults filled in; ValueError for a lean that is only half measured."""
    spread_m, base_m = _crown_m(tree)
    low_share, likely_m, high_share = _diameter(tree, choices)
    drag, drag_low, drag_high = _drag(tree)
    strength = strength_for(tree.botanical)
    back_m, side_m = _lean_m(tree, choices)
    against_ms, across_ms = _wind_ms(choices)
    return FellingInput(
        diameter_m=likely_m,
        diameter_low_share=low_share,
        diameter_high_share=high_share,
        notch=choices.notch,
        notch_share=choices.notch_share,
        opening_deg=choices.opening_deg,
        hinge_share=choices.hinge_share,
        cut_height_m=choices.cut_height_m,
        height_m=tree.height_m,
        crown_spread_m=spread_m,
        crown_base_m=base_m,
        mass=_mass(tree),
        back_lean_m=back_m,
        side_lean_m=side_m,
        mor_pa=1e6 * strength.mor_mpa,
        mor_low_pa=1e6 * strength.low_mpa,
        mor_high_pa=1e6 * strength.high_mpa,
        wind_against_ms=against_ms,
        wind_side_ms=across_ms,
        gust_ms=_gust_ms(choices),
        crown_area_m2=math.pi / 4 * spread_m * (tree.height_m - base_m),
        crown_centre_m=(tree.height_m + base_m) / 2,
        drag=drag,
        drag_low=drag_low,
        drag_high=drag_high,
        line=choices.line,
        wedges=choices.wedges,
        bored_back_cut=choices.bored_back_cut,
        health=_health(tree),
        site=choices.site,
    )


def group_for(tree: StandingTree) -> JenkinsGroup:
    """The tree's species group; without one, mixed hardwood or pine."""
    if tree.species_group:
        return group_named(tree.species_group)
    return group_named("pine" if is_conifer(tree.botanical) else "mixed hardwood")


def default_anchor_height_m(height_m: float) -> float:
    """Two thirds of the height (common practice)."""
    return DEFAULT_ANCHOR_SHARE * height_m


def default_line_distance_m(height_m: float) -> float:
    """One and a half heights: the pullers stand outside the fall."""
    return DEFAULT_LINE_HEIGHTS * height_m


def _crown_m(tree: StandingTree) -> tuple[float, float]:
    spread_m = SPREAD_SHARE_OF_HEIGHT * tree.height_m if tree.crown_spread_m is None else tree.crown_spread_m
    base_m = BASE_SHARE_OF_HEIGHT * tree.height_m if tree.crown_base_m is None else tree.crown_base_m
    return spread_m, base_m


def _diameter(tree: StandingTree, choices: Choices) -> tuple[float, float, float]:
    """Diameter at the cut, m, between its least and greatest share."""
    if tree.diameter_at_cut_cm is not None:
        return 1 - MEASURED_SPREAD, tree.diameter_at_cut_cm / 100, 1 + MEASURED_SPREAD
    likely = dbh_factor(choices.cut_height_m)
    return DBH_TO_CUT_LOW / likely, likely * tree.dbh_cm / 100, DBH_TO_CUT_HIGH / likely


def _mass(tree: StandingTree) -> GreenMass:
    if tree.green_mass_kg is not None:
        return entered_mass(tree.green_mass_kg)
    wood, group = wood_for(tree.botanical), group_for(tree)
    return mass_by_species(group, tree.dbh_cm, tree.height_m, wood, leafless=tree.leafless, dead=tree.dead)


def _drag(tree: StandingTree) -> tuple[float, float, float]:
    if tree.leafless or tree.dead:
        return DRAG_LEAFLESS
    return DRAG_CONIFER if is_conifer(tree.botanical) or group_for(tree).softwood else DRAG_IN_LEAF


def _lean_m(tree: StandingTree, choices: Choices) -> tuple[float, float]:
    """Offsets against the fall and to its right; a lean of unknown direction counts fully against and sideways."""
    if tree.lean is None:
        return 0.0, 0.0
    com_z_m = COM_SHARE_OF_HEIGHT * tree.height_m - choices.cut_height_m
    offset_m = tree.lean.offset_m(com_z_m, choices.cut_height_m)
    if tree.lean.toward_deg is None or choices.site.lay_deg is None:
        return offset_m, offset_m
    return resolve(offset_m, tree.lean.toward_deg, choices.site.lay_deg)


def _wind_ms(choices: Choices) -> tuple[float, float]:
    gust_ms = _gust_ms(choices)
    if choices.wind_from_deg is None or choices.site.lay_deg is None:
        return gust_ms, gust_ms
    return resolve_wind(gust_ms, choices.wind_from_deg, choices.site.lay_deg)


def _gust_ms(choices: Choices) -> float:
    return ASSUMED_GUST_MS if choices.gust_ms is None else choices.gust_ms


def _health(tree: StandingTree) -> Health:
    genus = tree.botanical.partition(" ")[0].capitalize()
    return Health(
        genus=genus,
        dead=tree.dead,
        months_dead=tree.months_dead,
        dieback_share=tree.dieback_share,
        sound_shell_share=tree.sound_shell_share,
        hinge_decayed=tree.hinge_decayed,
        splits_easily=genus in SPLITTING_GENERA or tree.dead or tree.frozen,
        refusals=tree.refusals,
    )


def _assumed(tree: StandingTree, choices: Choices) -> Iterator[str]:
    yield from _assumed_sizes(tree)
    yield from _assumed_wood(tree)
    yield from _assumed_directions(tree, choices)


def _assumed_sizes(tree: StandingTree) -> Iterator[str]:
    if tree.diameter_at_cut_cm is None:
        yield "The diameter at the cut is taken from the dbh: 1.10 times, within 1.00 to 1.25; measure it inside bark."
    if tree.crown_spread_m is None:
        yield "The crown's spread is taken as half of the height."
    if tree.crown_base_m is None:
        yield "The crown is taken to begin at three tenths of the height."
    yield f"The centre of mass is taken at {COM_SHARE_OF_HEIGHT} of the height."


def _assumed_wood(tree: StandingTree) -> Iterator[str]:
    if tree.green_mass_kg is None:
        yield from _assumed_mass(tree)
    strength = strength_for(tree.botanical)
    if strength.basis is not Basis.SPECIES:
        yield (
            f"The strength of the hinge wood is the mean of its {_kin(strength.basis)}: {strength.mor_mpa:.3g} MPa, "
            f"within {strength.low_mpa:.3g} to {strength.high_mpa:.3g}."
        )
    if tree.sound_shell_share is None:
        yield "The stem is taken as sound at the cut; sound it before work."


def _assumed_mass(tree: StandingTree) -> Iterator[str]:
    wood, group = wood_for(tree.botanical), group_for(tree)
    if not tree.species_group:
        yield f"The species group is taken as {group.name}."
    if not usable(group, tree.dbh_cm):
        yield "No Jenkins equation covers this stem: its weight is a form-factor estimate, plus or minus 40 %."
    if wood.basis is not Basis.SPECIES:
        source = "the generic row" if wood.basis is Basis.GENERIC else f"the mean of {wood.row.botanical}"
        yield f"Density and moisture of the wood are taken from {source}."


def _kin(basis: Basis) -> str:
    return "genus" if basis is Basis.GENUS else "kind, hardwood or conifer"


def _assumed_directions(tree: StandingTree, choices: Choices) -> Iterator[str]:
    lay_open = choices.site.lay_deg is None
    if tree.lean is None:
        yield "The tree is taken to stand upright; measure its lean."
    elif lay_open or tree.lean.toward_deg is None:
        yield "The lean counts fully against the fall and fully sideways until its direction and the lay are known."
    if choices.gust_ms is None:
        yield f"A gust of {ASSUMED_GUST_MS:g} m/s is planned for."
    if lay_open or choices.wind_from_deg is None:
        yield "The gust counts fully against the fall and fully across it until its direction and the lay are known."
