"""GeoJSON (RFC 7946) as rows of text, read feature by feature so that memory stays flat.

The properties are the columns; the point becomes two columns at the end, named for what its numbers are: degrees, or
metres of the system that an old-style ``crs`` member names.
"""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

from inventory.importing.source import FileProblem, SourceRow

LONGITUDE, LATITUDE = "geometry longitude", "geometry latitude"
_NOT_GEOJSON = "The file is not a GeoJSON FeatureCollection: it needs a “features” list of points with properties."
_BLOCK_CHARS = 1 << 16
_FEATURE_MAX_CHARS = 4_000_000
_SPACE = re.compile(r"[\s,]*")
_decode = json.JSONDecoder().raw_decode


class _Scanner:
    """Values out of a JSON text one after another, refilling a small buffer."""

    def __init__(self, file: IO[str]) -> None:
        self._file, self._buffer, self._at = file, "", 0

    def peek(self) -> str:
        """The next sign that is neither space nor comma; '' at the end."""
        while True:
            self._at = _SPACE.match(self._buffer, self._at).end()  # type: ignore[union-attr]
            if self._at < len(self._buffer) or not self._refill():
                return self._buffer[self._at : self._at + 1]

    def skip(self, sign: str) -> None:
        if self.peek() != sign:
            raise FileProblem(_NOT_GEOJSON)
        self._at += 1

    def value(self) -> Any:
        """The next whole JSON value."""
        self.peek()
        while True:
            try:
                found, end = _decode(self._buffer, self._at)
            except RecursionError as error:
                raise FileProblem("The GeoJSON is nested too deeply to be a list of trees.") from error
            except ValueError as error:
                if len(self._buffer) - self._at > _FEATURE_MAX_CHARS or not self._refill():
                    raise FileProblem("The GeoJSON breaks off or is damaged.") from error
                continue
            # A number at the buffer's end may go on in the next block.
            if end < len(self._buffer) or not self._refill():
                self._at = end
                return found

    def _refill(self) -> bool:
        block = self._file.read(max(_BLOCK_CHARS, len(self._buffer) - self._at))
        self._buffer, self._at = self._buffer[self._at :] + block, 0
        return bool(block)


def header(path: Path) -> tuple[str, ...]:
    """Every property that any feature has, in the order met, then the two columns of the point."""
    names: dict[str, None] = {}
    empty = True
    for feature in _features(path):
        names.update(dict.fromkeys(_properties(feature)))
        empty = False
    if empty:
        raise FileProblem("The GeoJSON has no features in it.")
    return (*names, *_point_columns(path))


def rows(path: Path, header: tuple[str, ...]) -> Iterator[SourceRow]:
    names = header[:-2]
    for number, feature in enumerate(_features(path), start=1):
        properties = _properties(feature)
        values = tuple([_text(properties.get(name)) for name in names])
        point, problem = _point(feature)
        yield SourceRow(number, values + point, problem)


def _features(path: Path) -> Iterator[Any]:
    with path.open(encoding="utf-8-sig") as file:
        scanner = _Scanner(file)
        try:
            for _ in _members_before_features(scanner):
                scanner.value()
            scanner.skip("[")
            while scanner.peek() not in ("]", ""):
                yield scanner.value()
            scanner.skip("]")
        except UnicodeDecodeError as error:
            raise FileProblem("The GeoJSON is not UTF-8, which its standard asks for: save it as UTF-8.") from error


def _members_before_features(scanner: _Scanner) -> Iterator[str]:
    """The keys of the outer object up to ``features``; whoever takes a key must take its value too."""
    scanner.skip("{")
    while scanner.peek() == '"':
        key = scanner.value()
        scanner.skip(":")
        if key == "features":
            return
        yield key
    raise FileProblem(_NOT_GEOJSON)


def _crs(path: Path) -> str:
    """The EPSG code of a ``crs`` member before the features (GeoJSON of 2008), '' for degrees."""
    with path.open(encoding="utf-8-sig") as file:
        scanner = _Scanner(file)
        for key in _members_before_features(scanner):
            value = scanner.value()
            found = re.search(r"EPSG:+(\d+)", json.dumps(value)) if key == "crs" else None
            if found:
                return "" if found[1] in {"4326", "4258", "4269", "4283", "7844"} else found[1]
    return ""


def _point_columns(path: Path) -> tuple[str, str]:
    code = _crs(path)
    return (f"geometry x (EPSG:{code})", f"geometry y (EPSG:{code})") if code else (LONGITUDE, LATITUDE)


def _properties(feature: Any) -> dict[str, Any]:
    if not isinstance(feature, dict):
        raise FileProblem(_NOT_GEOJSON)
    properties = feature.get("properties") or {}
    return properties if isinstance(properties, dict) else {}


def _point(feature: dict[str, Any]) -> tuple[tuple[str, str], str]:
    """The coordinates as text, and the problem with them when there is one; no geometry is no problem."""
    geometry = feature.get("geometry")
    if not geometry:
        return ("", ""), ""
    if not isinstance(geometry, dict):
        return ("", ""), "the geometry is not an object with a type and coordinates"
    kind, place = geometry.get("type"), geometry.get("coordinates") or []
    if kind == "MultiPoint" and isinstance(place, list) and len(place) == 1:
        kind, place = "Point", place[0]
    if kind != "Point":
        return ("", ""), f"the geometry is a {kind}, a tree needs a Point"
    if not place:
        return ("", ""), ""
    if not isinstance(place, list) or len(place) < 2 or not all(isinstance(part, int | float) for part in place[:2]):
        return ("", ""), "the point needs two numbers, longitude and latitude"
    return (repr(place[0]), repr(place[1])), ""


def _text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    text = value.strip() if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    # JSON can spell what a database cannot keep: a zero byte, half of a surrogate pair.
    return text.replace("\0", "").encode(errors="replace").decode()
