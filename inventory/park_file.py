"""Park boundaries with their emergency cards, read from GeoJSON (RFC 7946): degrees of WGS 84, longitude first.

Each feature is a Polygon or MultiPolygon with the properties ``code`` and ``name`` and, as far as known,
``hardiness_zone``, ``dispatch_address``, ``access_note``, ``hospital`` and ``phone_coverage``.
"""

import json
import re
from typing import Any

CARD = ("hardiness_zone", "dispatch_address", "access_note", "hospital", "phone_coverage")
_CODE = re.compile(r"[A-Z0-9][A-Z0-9-]{0,11}")


class ParkProblem(ValueError):
    """A file or a feature that cannot be taken; the message is one sentence that says what would be right."""


def read_parks(text: str) -> list[dict[str, Any]]:
    """Each park as the fields of ``Park`` that the file gives; the area in square metres, on the ellipsoid.

    Raises ParkProblem.
    """
    try:
        features = json.loads(text)["features"]
    except (ValueError, KeyError, TypeError) as error:
        raise ParkProblem("The file is not a GeoJSON FeatureCollection with a list of “features”.") from error
    parks = [_park(feature, place) for place, feature in enumerate(features, start=1)]
    codes = [park["code"] for park in parks]
    if twins := {code for code in codes if codes.count(code) > 1}:
        raise ParkProblem(f"The code {min(twins)} stands on more than one park; a code names one.")
    return parks


def _park(feature: dict[str, Any], place: int) -> dict[str, Any]:
    said = feature.get("properties") or {}
    code, name = str(said.get("code") or "").strip(), str(said.get("name") or "").strip()
    if not _CODE.fullmatch(code):
        raise ParkProblem(f"Feature {place} has the code “{code}”; a code is 1 to 12 capitals, digits or hyphens.")
    if not name:
        raise ParkProblem(f"The park {code} has no name; give the property “name”.")
    boundary = feature.get("geometry") or {}
    card = {field: str(said[field]).strip() for field in CARD if said.get(field)}
    return {"code": code, "name": name, "boundary": boundary, "area_m2": area_m2(boundary, of=code), **card}


def area_m2(boundary: dict[str, Any], *, of: str) -> float:
    """Geodesic area on the WGS 84 ellipsoid (Karney 2013, through pyproj), ponds taken off."""
    from pyproj import Geod
    from shapely.geometry import shape
    from shapely.geometry.polygon import orient

    if boundary.get("type") not in ("Polygon", "MultiPolygon"):
        raise ParkProblem(f"The boundary of {of} is no Polygon or MultiPolygon.")
    try:
        figure = shape(boundary)
    except (ValueError, TypeError, KeyError, IndexError) as error:
        raise ParkProblem(f"The boundary of {of} has rings that cannot be read.") from error
    west, south, east, north = figure.bounds or (0, 0, 0, 0)
    if not (-180 <= west <= east <= 180 and -90 <= south <= north <= 90):
        raise ParkProblem(f"The boundary of {of} is not in degrees, longitude first.")
    if figure.is_empty or not figure.is_valid:
        raise ParkProblem(f"The boundary of {of} is empty or crosses itself.")
    geod = Geod(ellps="WGS84")
    pieces = getattr(figure, "geoms", [figure])
    return float(sum(geod.geometry_area_perimeter(orient(piece))[0] for piece in pieces))
