"""How a taxon of the palette fits a place: one fact a line, each with its figures.

Growing space by mature size: 4, 6 and 8 ft for small, medium and large (Van Wert, Ohio, code §98.15); 3, 5 and 8 ft are
common too. Heights near lines: `wires`. The steps from a good to a fair and a poor fit of light, soil and salt are this
program's own reading of the palette's tolerances. A figure that is not known gives a fact that says so, never a guess.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from inventory.units import M_PER_FT
from replanting.wires import THREE_SIZES, WireRule

# The published limits are whole feet; a metric tape reads 4 ft as 1.2 m, and that is no reason against a tree.
TAPE_M = 0.05
LIGHTS = ("full", "part", "shade")
MOISTURES = ("dry", "medium", "wet")
DEGREES = ("low", "medium", "high")
PH_FAIR = 0.5


class Grade(Enum):
    GOOD = "fits"
    FAIR = "fair"
    POOR = "does not fit"
    UNKNOWN = "not known"


@dataclass(frozen=True)
class Site:
    """Where a tree would stand; None or empty: not known. ``zone`` is the number of the USDA hardiness zone.

    ``wires_m`` is the distance on the ground to the nearest overhead line, infinity where there is none. ``moisture`` holds
    one word, or both ends of a soil that swings between them. ``view_m``: nothing higher may stand before a view to keep.
    """

    zone: int | None = None
    space_m: float | None = None
    wires_m: float | None = None
    light: str = ""
    moisture: tuple[str, ...] = ()
    ph: float | None = None
    salt: str = ""
    view_m: float | None = None


@dataclass(frozen=True)
class Traits:
    """What of a taxon decides the choice; the names are those of the palette's columns."""

    botanical: str
    genus: str
    family: str
    zone_min: int | None = None
    zone_max: int | None = None
    height_min_m: float | None = None
    height_max_m: float | None = None
    spread_max_m: float | None = None
    size_class: str = ""
    light: tuple[str, ...] = ()
    moisture: tuple[str, ...] = ()
    flood_tolerance: str = ""
    drought_tolerance: str = ""
    ph_min: float | None = None
    ph_max: float | None = None
    salt_tolerance: str = ""
    pests: tuple[str, ...] = ()
    flag: str = ""


@dataclass(frozen=True)
class SpaceRule:
    """The least width of growing space in feet for a small, a medium and a large tree."""

    key: str
    feet: tuple[float, float, float]
    source: str

    def needed_m(self, size_class: str) -> float | None:
        sizes = ("small", "medium", "large")
        return self.feet[sizes.index(size_class)] * M_PER_FT if size_class in sizes else None


SPACE_4_6_8 = SpaceRule("4-6-8", (4, 6, 8), "Van Wert, Ohio, code §98.15")
SPACE_3_5_8 = SpaceRule("3-5-8", (3, 5, 8), "common practice")
SPACE_RULES = {rule.key: rule for rule in (SPACE_4_6_8, SPACE_3_5_8)}
HEIGHTS = ("maximum", "typical")


@dataclass(frozen=True)
class Rules:
    """A city's choice among the published rules; ``height`` says which height of a taxon is held against lines and views."""

    wires: WireRule = THREE_SIZES
    space: SpaceRule = SPACE_4_6_8
    height: str = "maximum"


DEFAULT_RULES = Rules()


@dataclass(frozen=True)
class Fact:
    """``what`` names what was compared; ``words`` hold both figures."""

    what: str
    grade: Grade
    words: str


def metres(m: float) -> str:
    return f"{m:.1f} m"


Length = Callable[[float], str]


def fit(site: Site, taxon: Traits, rules: Rules = DEFAULT_RULES, length: Length = metres) -> tuple[Fact, ...]:
    """The facts in a fixed order; ``length`` writes a length in metres in the reader's unit."""
    return (
        _zone(site, taxon),
        _space(site, taxon, rules.space, length),
        _wires(site, taxon, rules, length),
        _light(site, taxon),
        _moisture(site, taxon),
        _ph(site, taxon),
        _salt(site, taxon),
        _view(site, taxon, rules, length),
    )


def suits(site: Site, taxon: Traits, rules: Rules = DEFAULT_RULES) -> bool:
    """Nothing that is known speaks against it."""
    return all(fact.grade is not Grade.POOR for fact in fit(site, taxon, rules))


def height_m(taxon: Traits, compared: str) -> float | None:
    """The greatest height at maturity, or the typical one: the middle of the palette's range."""
    if taxon.height_max_m is None or taxon.height_min_m is None or compared == "maximum":
        return taxon.height_max_m
    return (taxon.height_min_m + taxon.height_max_m) / 2


def _zone(site: Site, taxon: Traits) -> Fact:
    if site.zone is None or taxon.zone_min is None or taxon.zone_max is None:
        return _unknown("hardiness zone")
    hardy = taxon.zone_min <= site.zone <= taxon.zone_max
    return _in_or_out(
        "hardiness zone", hardy, f"hardy in zones {taxon.zone_min} to {taxon.zone_max}; here: {site.zone}"
    )


def _space(site: Site, taxon: Traits, rule: SpaceRule, length: Length) -> Fact:
    needed_m = rule.needed_m(taxon.size_class)
    if site.space_m is None or needed_m is None:
        return _unknown("growing space")
    words = f"a {taxon.size_class} tree asks for {length(needed_m)} of growing space; here: {length(site.space_m)}"
    return _in_or_out("growing space", site.space_m >= needed_m - TAPE_M, words)


def _wires(site: Site, taxon: Traits, rules: Rules, length: Length) -> Fact:
    height = height_m(taxon, rules.height)
    if site.wires_m is None or height is None:
        return _unknown("overhead lines")
    if math.isinf(site.wires_m):
        return Fact("overhead lines", Grade.GOOD, "no overhead lines")
    where = f", {length(site.wires_m)} from overhead lines" if site.wires_m else " under overhead lines"
    limit_m = rules.wires.limit_m(site.wires_m)
    most = f"{length(limit_m)} at most" if math.isfinite(limit_m) else "any height may stand there"
    words = f"grows up to {length(height)}{where}; {most}"
    return _in_or_out("overhead lines", height <= limit_m + TAPE_M, words)


def _light(site: Site, taxon: Traits) -> Fact:
    if not site.light or not taxon.light:
        return _unknown("light")
    here = LIGHTS.index(site.light)
    away = min(abs(here - LIGHTS.index(light)) for light in taxon.light)
    return Fact("light", _by_steps(away), f"asks for {' or '.join(taxon.light)} light; here: {site.light}")


def _moisture(site: Site, taxon: Traits) -> Fact:
    if not site.moisture or not taxon.moisture:
        return _unknown("soil moisture")
    grade = max((_in_soil(here, taxon) for here in site.moisture), key=_WORST.index)
    words = f"asks for {' or '.join(taxon.moisture)} soil; here: {' and '.join(site.moisture)}"
    return Fact("soil moisture", grade, words + _tolerance(site, taxon))


def _in_soil(here: str, taxon: Traits) -> Grade:
    """A taxon named for the soil fits; one that bears its drought or its flood is fair; one that does not is out."""
    if here in taxon.moisture:
        return Grade.GOOD
    bears = {"dry": taxon.drought_tolerance, "wet": taxon.flood_tolerance}.get(here, "medium")
    return Grade.FAIR if bears in ("medium", "high") else Grade.POOR


def _tolerance(site: Site, taxon: Traits) -> str:
    dry = f"drought tolerance {taxon.drought_tolerance}" if "dry" in site.moisture and taxon.drought_tolerance else ""
    wet = f"flood tolerance {taxon.flood_tolerance}" if "wet" in site.moisture and taxon.flood_tolerance else ""
    said = ", ".join(part for part in (dry, wet) if part)
    return f" ({said})" if said else ""


def _ph(site: Site, taxon: Traits) -> Fact:
    if site.ph is None or taxon.ph_min is None or taxon.ph_max is None:
        return _unknown("soil pH")
    beyond = max(taxon.ph_min - site.ph, site.ph - taxon.ph_max, 0)
    grade = Grade.GOOD if not beyond else Grade.FAIR if round(beyond, 6) <= PH_FAIR else Grade.POOR
    return Fact("soil pH", grade, f"asks for pH {taxon.ph_min:.1f} to {taxon.ph_max:.1f}; here: {site.ph:.1f}")


def _salt(site: Site, taxon: Traits) -> Fact:
    if not site.salt or not taxon.salt_tolerance:
        return _unknown("salt")
    short = DEGREES.index(site.salt) - DEGREES.index(taxon.salt_tolerance)
    return Fact("salt", _by_steps(max(short, 0)), f"salt tolerance {taxon.salt_tolerance}; salt here: {site.salt}")


def _view(site: Site, taxon: Traits, rules: Rules, length: Length) -> Fact:
    height = height_m(taxon, rules.height)
    if site.view_m is None or height is None:
        return _unknown("view to keep")
    words = f"grows up to {length(height)}; the view asks for {length(site.view_m)} at most"
    return _in_or_out("view to keep", height <= site.view_m + TAPE_M, words)


_WORST = (Grade.GOOD, Grade.FAIR, Grade.POOR)


def _by_steps(away: int) -> Grade:
    return _WORST[min(away, 2)]


def _in_or_out(what: str, fits: bool, words: str) -> Fact:
    return Fact(what, Grade.GOOD if fits else Grade.POOR, words)


def _unknown(what: str) -> Fact:
    return Fact(what, Grade.UNKNOWN, f"{what} not known")
