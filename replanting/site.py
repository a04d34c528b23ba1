"""The place and the taxa of a choice, read from what is stored into what the palette computes with."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import Any

from inventory.models import Species, Tree
from replanting.diversity import Taxon
from replanting.fit import MOISTURES, Site, Traits
from replanting.models import ReplacementTask

_FIGURES = tuple(field.name for field in fields(Traits))


def zone_number(zone: str) -> int | None:
    """``6a`` → 6; None when there is none."""
    number = re.match(r"\d+", zone)
    return int(number[0]) if number else None


def site_of_task(task: ReplacementTask) -> Site:
    """Where the task's tree is to stand: of another spot than the removed tree's only the park's zone is known."""
    if task.on_the_old_spot:
        return site_of(task.removed_tree)
    return Site(zone=zone_number(task.site_park.hardiness_zone))


def site_of(removed: Tree) -> Site:
    """The spot of the removed tree. Lines whose distance nobody stored are taken to run right above."""
    return Site(
        zone=zone_number(removed.park.hardiness_zone),
        space_m=removed.growing_space_m,
        wires_m={True: 0.0, False: math.inf, None: None}[removed.overhead_lines],
        light=removed.light,
        moisture=(removed.soil_moisture,) if removed.soil_moisture in MOISTURES else (),
    )


def traits_of(species: Species) -> Traits:
    return _traits(lambda name: getattr(species, name))


def traits_from(row: Mapping[str, Any]) -> Traits:
    """A row of the palette file, read."""
    return _traits(row.__getitem__)


def _traits(figure: Callable[[str], Any]) -> Traits:
    values: dict[str, Any] = {}
    for name in _FIGURES:
        value = figure(name)
        values[name] = tuple(value) if isinstance(value, list) else value
    return Traits(**values)


def taxon_of(species: Species) -> Taxon:
    return Taxon(species.botanical, species.genus, species.family)
