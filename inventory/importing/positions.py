"""Positions as text: degrees, degrees with minutes, one cell for both, and projected coordinates.

A position is (longitude, latitude) in degrees of WGS 84.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import median
from typing import Any

from inventory.importing.values import number

Position = tuple[float, float]

_MINUTES = re.compile(
    r"(?P<sign>-)?(?P<d>\d{1,3})\s*[°d:\s]\s*(?P<m>\d{1,2}(?:\.\d+)?)\s*['′’m:\s]?\s*(?:(?P<s>\d{1,2}(?:\.\d+)?)\s*(?:\"|″|”|'')?)?\s*(?P<side>[NSEWnsew])?"
)
_SIDE = re.compile(r"(.*?)\s*°?\s*([NSEWnsew])")
_WKT = re.compile(r"(?:SRID=4326;)?\s*POINT\s*Z?\s*\(\s*(\S+)\s+(\S+)(?:\s+\S+)?\s*\)", re.IGNORECASE)
_PAIR = re.compile(r"[(\[]?\s*(-?\d+(?:\.\d+)?)\s*°?\s*[,; ]\s*(-?\d+(?:\.\d+)?)\s*°?\s*[)\]]?")
_GEOMETRY = re.compile(r'.*"coordinates"\s*:\s*\[\s*([-\d.eE]+)\s*,\s*([-\d.eE]+).*', re.DOTALL)
NEAR_DEG, FAR_DEG = 1.0, 5.0
# The northernmost trees are the larches of Taymyr (72.5° N), the southernmost the beeches of Cape Horn (56° S); from memory.
SOUTHERNMOST, NORTHERNMOST = -56.5, 73.0


def degrees(text: str, *, decimal_comma: bool = False) -> float:
    """``40.723``, ``40.723 N``, ``40° 43' 23" N``; south and west are negative."""
    plain, side = text.strip(), ""
    if not plain[-1:].isdigit() and (found := _SIDE.fullmatch(plain)):
        plain, side = found[1], found[2].upper()
    try:
        value = number(plain.rstrip("° "), decimal_comma=decimal_comma or (plain.count(",") == 1 and "." not in plain))
    except ValueError:
        value = _from_minutes(text, plain)
    return -abs(value) if side and side in "SW" else value


def _from_minutes(text: str, plain: str) -> float:
    found = _MINUTES.fullmatch(plain)
    if found is None or float(found["m"]) >= 60 or float(found["s"] or 0) >= 60:
        raise ValueError(f"“{text}” is not a position in degrees; write for example -73.8442.")
    value = int(found["d"]) + float(found["m"]) / 60 + float(found["s"] or 0) / 3600
    return -value if found["sign"] else value


def point(text: str) -> Position:
    """Both coordinates in one cell: ``POINT (-73.84 40.72)``, a GeoJSON geometry, or ``40.72, -73.84``, latitude first."""
    if found := _WKT.fullmatch(text) or _GEOMETRY.fullmatch(text):
        return number(found[1]), number(found[2])
    if found := _PAIR.fullmatch(text):
        return float(found[2]), float(found[1])
    raise ValueError(f"“{text}” is not a position; write for example 40.7231, -73.8442.")


@lru_cache(maxsize=8)
def transformer(epsg: int) -> Any:
    """From an EPSG system to degrees of WGS 84. Raises ValueError when there is no such system."""
    from pyproj import Transformer
    from pyproj.exceptions import CRSError

    try:
        return Transformer.from_crs(epsg, 4326, always_xy=True)
    except CRSError as error:
        raise ValueError(f"EPSG:{epsg} is not a known coordinate system; look the code up at epsg.org.") from error


def in_area(epsg: int, lon: float, lat: float) -> bool:
    """Within a degree of where an EPSG system is meant to be used; infinite coordinates are not."""
    area = transformer(epsg).source_crs.area_of_use
    if area is None:
        return math.isfinite(lon) and math.isfinite(lat)
    return area.south - 1 <= lat <= area.north + 1 and _between(lon, area.west - 1, area.east + 1)


def _between(lon: float, west: float, east: float) -> bool:
    """Also across the date line, where west is the greater number."""
    return west <= lon <= east if west <= east else lon >= west or lon <= east


def is_known_system(epsg: int) -> bool:
    try:
        transformer(epsg)
    except ValueError:
        return False
    return True


def to_degrees(epsg: int, xs: Sequence[float], ys: Sequence[float]) -> list[Position]:
    """Many projected points at once; one outside the system's area comes back as infinite."""
    lons, lats = transformer(epsg).transform(list(xs), list(ys))
    # Seven decimals are a centimetre; more would be made up.
    return [(round(lon, 7), round(lat, 7)) for lon, lat in zip(lons, lats, strict=True)]


@dataclass(frozen=True, slots=True)
class Centre:
    """The middle of a file's positions and how far, in degrees, a tree of it may stand from there."""

    lon: float
    lat: float
    reach_deg: float = FAR_DEG

    def near(self, lon: float, lat: float, within_deg: float = NEAR_DEG) -> bool:
        return abs(lon - self.lon) <= within_deg and abs(lat - self.lat) <= within_deg


def middle(positions: Sequence[Position]) -> Position | None:
    """The median position."""
    if not positions:
        return None
    return median(lon for lon, _ in positions), median(lat for _, lat in positions)


def centre(positions: Sequence[Position]) -> Centre | None:
    """The middle, when there are five positions or more to tell; a file of a whole country reaches as far as its half does."""
    found = middle(positions)
    if found is None or len(positions) < 5:
        return None
    lon, lat = found
    spread = max(median(abs(x - lon) for x, _ in positions), median(abs(y - lat) for _, y in positions))
    return Centre(lon, lat, max(FAR_DEG, 10 * spread))


def fault(lon: float, lat: float, among: Centre | None) -> str:
    """Why a position cannot be right, '' when it can: out of range, or far from the file's other trees."""
    outlying = among is not None and not among.near(lon, lat, among.reach_deg)
    if outlying and among is not None and (mended := _mended(lon, lat, among)):
        return mended
    if not -90 <= lat <= 90:
        swapped = (
            "; are latitude and longitude swapped?" if among is None and abs(lat) <= 180 and abs(lon) <= 90 else ""
        )
        return f"latitude {lat:.7g} is outside -90 to 90{swapped}"
    if not -180 <= lon <= 180:
        return f"longitude {lon:.7g} is outside -180 to 180"
    if not grows_at(lat):
        return f"latitude {lat:.7g} is beyond where trees grow; are latitude and longitude swapped?"
    return f"latitude {lat:.7g}, longitude {lon:.7g} is far from all the other trees" if outlying else ""


def grows_at(lat: float) -> bool:
    return SOUTHERNMOST <= lat <= NORTHERNMOST


def _mended(lon: float, lat: float, among: Centre) -> str:
    """What went wrong with a position that lies among the others once it is mended."""
    if among.near(lat, lon):
        return f"latitude {lat:.7g} and longitude {lon:.7g} look swapped: the other way round it lies among the others"
    if any(among.near(x * lon, y * lat) for x, y in ((-1, 1), (1, -1), (-1, -1))):
        return f"latitude {lat:.7g}, longitude {lon:.7g}: with its minus sign mended it lies among the others"
    return ""
