"""The place and the taxa of a choice, read from what is stored into what the palette computes with."""

from __future__ import annotations

import re

from inventory.models import Park, Species, Tree
from replanting.diversity import Taxon
from replanting.palette import Site, Traits


def zone_of(park: Park) -> int | None:
    """``6a`` → 6; None when the park has none."""
    number = re.match(r"\d+", park.hardiness_zone)
    return int(number[0]) if number else None


def site_of(removed: Tree) -> Site:
    """The spot of the removed tree."""
    return Site(
        zone=zone_of(removed.park),
        space_m=removed.growing_space_m,
        overhead_lines=removed.overhead_lines,
        light=removed.light,
        moisture=removed.soil_moisture,
    )


def traits_of(species: Species) -> Traits:
    return Traits(
        zone_min=species.zone_min,
        zone_max=species.zone_max,
        height_max_m=species.height_max_m,
        size_class=species.size_class,
        light=tuple(species.light),
        moisture=tuple(species.moisture),
    )


def taxon_of(species: Species) -> Taxon:
    return Taxon(species.botanical, species.genus, species.family)
