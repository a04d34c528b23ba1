"""What may grow where no tree can stand, and under trees: grasses, sedges and perennials by light and soil moisture.

A note for the planner, from memory of planting guides (common practice) and of no one region: natives of the place come
first, and what is invasive there is left out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Companions:
    light: str
    moisture: str
    plants: tuple[str, ...]


_BY_PLACE = {
    ("full", "dry"): ("Schizachyrium scoparium", "Bouteloua curtipendula", "Echinacea pallida", "Salvia nemorosa"),
    ("full", "medium"): ("Sporobolus heterolepis", "Panicum virgatum", "Rudbeckia fulgida", "Monarda fistulosa"),
    ("full", "wet"): ("Carex stricta", "Juncus effusus", "Asclepias incarnata", "Iris versicolor"),
    ("part", "dry"): ("Carex pensylvanica", "Sesleria autumnalis", "Geranium macrorrhizum", "Eurybia divaricata"),
    ("part", "medium"): ("Deschampsia cespitosa", "Carex cherokeensis", "Heuchera villosa", "Aquilegia canadensis"),
    ("part", "wet"): ("Carex grayi", "Carex muskingumensis", "Lobelia cardinalis", "Chelone glabra"),
    ("shade", "dry"): ("Carex pensylvanica", "Carex divulsa", "Epimedium ×versicolor", "Polystichum acrostichoides"),
    ("shade", "medium"): ("Carex plantaginea", "Luzula sylvatica", "Tiarella cordifolia", "Dryopteris marginalis"),
    ("shade", "wet"): ("Carex grayi", "Carex intumescens", "Onoclea sensibilis", "Chelone obliqua"),
}


def companions(light: str, moisture: Iterable[str]) -> tuple[Companions, ...]:
    """For each soil moisture of the place; empty when light or moisture is not known."""
    return tuple(Companions(light, here, _BY_PLACE[light, here]) for here in moisture if (light, here) in _BY_PLACE)
