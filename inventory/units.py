"""Lengths and masses as people read and type them; inside, the program keeps SI.

Exact by definition (international yard and pound, 1959): 1 in = 2.54 cm, 1 ft = 0.3048 m, 1 lb = 0.45359237 kg; the US
liquid gallon is 231 in³, an acre 43,560 ft².
"""

import math
import re
from enum import Enum

CM_PER_IN = 2.54
M_PER_FT = 0.3048
KG_PER_LB = 0.45359237
N_PER_LBF = 4.4482216152605
MS_PER_MPH = 0.44704
L_PER_GAL = 231 * CM_PER_IN**3 / 1000
M2_PER_ACRE = 43_560 * M_PER_FT**2


class Units(Enum):
    METRIC = "metric"
    US = "us"


METRES_PER = {
    "mm": 0.001,
    "cm": 0.01,
    "m": 1.0,
    "in": 0.0254,
    "inch": 0.0254,
    "inches": 0.0254,
    '"': 0.0254,
    "″": 0.0254,
    "ft": 0.3048,
    "foot": 0.3048,
    "feet": 0.3048,
    "'": 0.3048,
    "′": 0.3048,
}
_PART = re.compile(r"(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>[a-z]+|[\"'″′])?\s*")
_TWO_READINGS = re.compile(r"(?<!\d)[1-9]\d{0,2},\d{3}(?!\d)")


def parse_length_m(text: str, unit: str) -> float:
    """Metres from what a person typed: ``14 in``, ``36 cm``, ``6' 4"``, or a bare number in ``unit``.

    Of several parts each names its unit, the greater first. Raises ValueError with a sentence that says what would be right.
    """
    rest = text.strip().lower()
    if not rest:
        raise ValueError("A length is missing; write for example 36 cm or 14 in.")
    if _TWO_READINGS.search(rest):
        raise ValueError(f"“{text}” can be read two ways; write thousands without a comma and decimals with a point.")
    total, position, last = 0.0, 0, math.inf
    while position < len(rest):
        part = _PART.match(rest, position)
        is_whole = part is not None and position == 0 and part.end() == len(rest)
        named = METRES_PER.get(part["unit"] or (unit if is_whole else "")) if part else None
        if part is None or named is None or named >= last:
            raise ValueError(f"“{text}” is not a length; write for example 36 cm or 14 in.")
        total += float(part["number"].replace(",", ".")) * named
        position, last = part.end(), named
    return total


def diameter(cm: float, units: Units) -> str:
    return f"{cm / CM_PER_IN:.1f} in" if units is Units.US else f"{cm:.0f} cm"


def small_length(cm: float, units: Units) -> str:
    """A length that a saw must meet: to the millimetre, or to the eighth of an inch."""
    return f"{round(cm / CM_PER_IN * 8) / 8:.3f} in" if units is Units.US else f"{cm:.1f} cm"


def distance(m: float, units: Units) -> str:
    return f"{m / M_PER_FT:.0f} ft" if units is Units.US else f"{m:.1f} m"


def mass(kg: float, units: Units) -> str:
    return f"{kg / KG_PER_LB:,.0f} lb" if units is Units.US else f"{kg:,.0f} kg"


def force(n: float, units: Units) -> str:
    return f"{n / N_PER_LBF:,.0f} lbf" if units is Units.US else f"{n:,.0f} N"


def speed(ms: float, units: Units) -> str:
    return f"{ms / MS_PER_MPH:.0f} mph" if units is Units.US else f"{ms:.1f} m/s"


def volume(litres: float, units: Units) -> str:
    return f"{litres / L_PER_GAL:.1f} gal" if units is Units.US else f"{litres:.0f} l"


def crown_area(m2: float, units: Units) -> str:
    return f"{m2 / M_PER_FT**2:,.0f} ft²" if units is Units.US else f"{m2:,.0f} m²"


def area(m2: float, units: Units) -> str:
    return f"{m2 / M2_PER_ACRE:,.1f} acres" if units is Units.US else f"{m2 / 10_000:,.1f} ha"
