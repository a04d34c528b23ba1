"""Pests that a city may watch: whom they attack, what shows them, and when pruning a host invites them.

Codes are those of the palette file. Host genera and signs as read in the guidance of the agencies concerned; marked (m): from
memory. Limits on pruning are local law or advice: the published ones below are examples with their authority, never a rule
for another place.
"""

from dataclasses import dataclass
from datetime import date
from typing import Protocol


@dataclass(frozen=True)
class Pest:
    """``crew_note``: what endangers the people who work on a host."""

    code: str
    name: str
    genera: tuple[str, ...]
    signs: str
    crew_note: str = ""


@dataclass(frozen=True)
class Limit:
    """No pruning of a genus in a region from one day of the year to another, both included; days as ``04-15``."""

    genus: str
    region: str
    first: str
    last: str
    rule: str
    authority: str


class Season(Protocol):
    """Anything with a first and a last day of the year."""

    first: str
    last: str


PESTS = {
    pest.code: pest
    for pest in (
        Pest(
            "EAB",
            "emerald ash borer",
            ("Fraxinus", "Chionanthus"),  # Chionanthus (m)
            "Dieback from the top down, shoots from old wood, D-shaped holes about 3 mm wide.",
            "Unions crack and the base and roots weaken one to two years after it arrives: do not climb, do not trust the hinge "
            "alone (Persad et al. 2013, 2019).",
        ),
        Pest(
            "ADB", "ash dieback", ("Fraxinus",), "Loss of leaves; old open-grown trees may live with it for many years."
        ),
        Pest(
            "DED", "Dutch elm disease", ("Ulmus",), "Leaves of single branches wilt in June. Debark or bury the wood."
        ),
        Pest("OW", "oak wilt", ("Quercus",), "Sudden wilt, fastest in red oaks. Paint wounds that are made in season."),
        Pest(
            "LW",
            "laurel wilt",
            ("Persea", "Sassafras", "Lindera", "Litsea", "Cinnamomum"),
            "Sudden wilt, brown leaves stay on the tree. Chip the wood on site.",
        ),
        Pest(
            "SLF",
            "spotted lanternfly",
            ("Ailanthus", "Acer", "Juglans", "Salix"),
            "Egg masses from late September to early May, on equipment too.",
        ),
        Pest("ALB", "Asian longhorned beetle", ("Acer", "Aesculus", "Betula", "Salix", "Ulmus"), "Quarantine areas."),
        Pest("HWA", "hemlock woolly adelgid", ("Tsuga",), "White wool under the twigs; death in 4 to 10 years."),
        Pest("TCD", "thousand cankers disease", ("Juglans", "Pterocarya"), "Many small cankers; state quarantines."),
        Pest("PCS", "plane canker stain", ("Platanus",), "Long sunken stains in the bark, thin crowns (m)."),
        Pest(
            "SBM",
            "sooty bark disease of maple",
            ("Acer",),
            "Bark lifts over brown-black dust (m).",
            "The spores endanger the lungs of the crew (m).",
        ),
        Pest(
            "OPM",
            "oak processionary moth",
            ("Quercus",),
            "Silk nests on stem and branches; caterpillars in lines (m).",
            "The hairs endanger skin, eyes and lungs of the crew (m).",
        ),
    )
}

_BAN = "no pruning"
PUBLISHED = {
    "DED": (
        Limit("Ulmus", "Alberta", "04-01", "09-30", _BAN, "City of Edmonton"),
        Limit("Ulmus", "Saskatchewan", "04-01", "08-31", _BAN, "Province of Saskatchewan"),
        Limit("Ulmus", "Manitoba", "04-01", "07-31", _BAN, "Province of Manitoba"),
    ),
    "OW": (
        Limit("Quercus", "Michigan", "04-15", "07-15", _BAN, "State of Michigan, advice"),
        Limit("Quercus", "Wisconsin", "04-01", "07-31", _BAN, "State of Wisconsin, advice"),
        Limit("Quercus", "Texas", "02-01", "06-30", _BAN, "State of Texas, advice"),
    ),
}


def in_season(season: Season, on: date) -> bool:
    """Whether the day falls within; a season may run over the turn of the year."""
    today = f"{on:%m-%d}"
    if season.first <= season.last:
        return season.first <= today <= season.last
    return today >= season.first or today <= season.last


def published(code: str) -> tuple[Limit, ...]:
    return PUBLISHED.get(code, ())
