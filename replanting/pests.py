"""The pests and diseases that the palette names by short codes, and those that a city watches.

The names are those of the palette file's own list; a test holds the two together.
"""

from __future__ import annotations

from collections.abc import Iterable

NAMES = {
    "ADB": "ash dieback",
    "ALB": "Asian longhorned beetle",
    "BBB": "bronze birch borer",
    "BBD": "beech bark disease",
    "BLD": "beech leaf disease",
    "BXB": "box blight",
    "CB": "chestnut blight",
    "CMBS": "crapemyrtle bark scale",
    "DA": "dogwood anthracnose",
    "DED": "Dutch elm disease",
    "DNB": "Dothistroma needle blight",
    "DSB": "Diplodia shoot blight",
    "EAB": "emerald ash borer",
    "EAB2": "emerald ash borer",
    "EFB": "eastern filbert blight",
    "EY": "elm yellows",
    "FB": "fire blight",
    "GSOB": "goldspotted oak borer",
    "HCC": "horse-chestnut bleeding canker",
    "HCLM": "horse-chestnut leaf miner",
    "HWA": "hemlock woolly adelgid",
    "JB": "Japanese beetle",
    "LB": "locust borer",
    "LW": "laurel wilt",
    "OPM": "oak processionary moth",
    "OW": "oak wilt",
    "OWw": "oak wilt",
    "PA": "plane anthracnose",
    "PCS": "plane canker stain",
    "PHA": "Phytophthora disease of alder",
    "PLC": "Phytophthora root disease of Lawson cypress",
    "PWN": "pine wilt",
    "RNC": "Rhizosphaera needle cast",
    "RUST": "cedar rusts of juniper and the rose family",
    "SBM": "sooty bark disease of maple",
    "SCC": "Seiridium canker of cypress",
    "SLF": "spotted lanternfly",
    "SOD": "sudden oak death",
    "SPB": "southern pine beetle",
    "SPM": "spongy moth",
    "TCD": "thousand cankers disease",
}


def named(codes: Iterable[str]) -> str:
    """The names of some codes, each once; a code that is not listed stands for itself."""
    return ", ".join(dict.fromkeys(NAMES.get(code, code) for code in codes))


def codes_of(pest: str) -> frozenset[str]:
    """All codes of a pest given by a code or by its name: who watches oak wilt watches it in both groups of oaks.

    Raises ValueError with a sentence when the palette knows no such pest.
    """
    wanted = pest.strip().casefold()
    name = {code.casefold(): name for code, name in NAMES.items()}.get(wanted, wanted).casefold()
    if found := frozenset(code for code, known in NAMES.items() if known.casefold() == name):
        return found
    raise ValueError(f"“{pest}” is not a pest of the palette; write one of {', '.join(NAMES)}, or its name in full.")
