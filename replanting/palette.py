"""How a taxon of the palette fits a place: one fact a line, each with its figures.

Growing space by mature size: 4, 6 and 8 ft for small, medium and large (Van Wert, Ohio, code §98.15). Under overhead lines
a tree's greatest mature height stays within 25 ft (a published size limit; utilities differ, the local one comes first).
A place or a taxon of which a figure is not known gives a fact that says so, never a guess.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

M_UNDER_LINES = 25 * 0.3048
# The published limits are whole feet; a metric tape reads 4 ft as 1.2 m, and that is no reason against a tree.
TAPE_M = 0.05
SPACE_M = {"small": 4 * 0.3048, "medium": 6 * 0.3048, "large": 8 * 0.3048}


@dataclass(frozen=True)
class Site:
    """Where a tree would stand; None or empty: not known. ``zone`` is the number of the USDA hardiness zone."""

    zone: int | None
    space_m: float | None
    overhead_lines: bool | None
    light: str
    moisture: str


@dataclass(frozen=True)
class Traits:
    """What of a taxon decides the fit; heights in metres at maturity."""

    zone_min: int | None
    zone_max: int | None
    height_max_m: float | None
    size_class: str
    light: tuple[str, ...]
    moisture: tuple[str, ...]


@dataclass(frozen=True)
class Fact:
    """``what`` names what was compared; ``fits`` is None when the place or the taxon does not say."""

    what: str
    fits: bool | None
    words: str


def metres(m: float) -> str:
    return f"{m:.1f} m"


def fit(site: Site, traits: Traits, length: Callable[[float], str] = metres) -> tuple[Fact, ...]:
    """The facts in a fixed order; ``length`` writes a length in metres in the reader's unit."""
    return (
        _zone(site, traits),
        _space(site, traits, length),
        _lines(site, traits, length),
        _one_of("light", site.light, traits.light),
        _one_of("soil moisture", site.moisture, traits.moisture),
    )


def suits(site: Site, traits: Traits) -> bool:
    """Nothing that is known speaks against it."""
    return all(fact.fits is not False for fact in fit(site, traits))


def _zone(site: Site, traits: Traits) -> Fact:
    if site.zone is None or traits.zone_min is None or traits.zone_max is None:
        return _unknown("hardiness zone")
    inside = traits.zone_min <= site.zone <= traits.zone_max
    words = f"hardy in zones {traits.zone_min} to {traits.zone_max}; here: {site.zone}"
    return Fact("hardiness zone", inside, words)


def _space(site: Site, traits: Traits, length: Callable[[float], str]) -> Fact:
    needed_m = SPACE_M.get(traits.size_class)
    if site.space_m is None or needed_m is None:
        return _unknown("growing space")
    words = f"a {traits.size_class} tree asks for {length(needed_m)} of growing space; here: {length(site.space_m)}"
    return Fact("growing space", site.space_m >= needed_m - TAPE_M, words)


def _lines(site: Site, traits: Traits, length: Callable[[float], str]) -> Fact:
    if site.overhead_lines is None or traits.height_max_m is None:
        return _unknown("overhead lines")
    if not site.overhead_lines:
        return Fact("overhead lines", True, "no overhead lines")
    words = f"grows up to {length(traits.height_max_m)} under overhead lines; {length(M_UNDER_LINES)} at most"
    return Fact("overhead lines", traits.height_max_m <= M_UNDER_LINES + TAPE_M, words)


def _one_of(what: str, here: str, wanted: tuple[str, ...]) -> Fact:
    if not here or not wanted:
        return _unknown(what)
    return Fact(what, here in wanted, f"asks for {' or '.join(wanted)} {what}; here: {here}")


def _unknown(what: str) -> Fact:
    return Fact(what, None, f"{what} not known")
