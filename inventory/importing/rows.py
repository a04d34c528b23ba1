"""One source row read through a mapping: a tree, a place for a tree, or a refusal that says why.

A row is taken whole or refused whole. What merely could not be told (a position of 0, 0; two planting dates that
contradict each other) is left open and said in a remark.
"""

import hashlib
import math
from base64 import b32encode
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from inventory import tags
from inventory.bounds import DBH_MAX_CM, HEIGHT_MAX_M, SPREAD_MAX_M
from inventory.importing import names, positions, values
from inventory.importing.mapping import Mapping, Role
from inventory.importing.names import Name
from inventory.importing.positions import Centre, Position
from inventory.importing.source import SourceRow
from inventory.importing.values import Planted, Size, Status

PARK_MAX, BOTANICAL_MAX, CULTIVAR_MAX, AS_GIVEN_MAX = 120, 120, 80, 40
# A girth and a diameter of one trunk may differ by rounding and by a year's growth, not by more than this.
GIRTH_TOLERANCE, GIRTH_SLACK_CM = 0.15, 2.0
_NAME_ROLES = (Role.BOTANICAL, Role.COMMON, Role.GENUS)
_SAYING = (Role.STATUS, Role.TYPE, *_NAME_ROLES)
_PRECEDENCE = (Status.STUMP, Status.VACANT, Status.REMOVED, Status.DEAD, Status.ALIVE)


_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class TreeRow:
    """A standing tree, alive or dead. ``tag_made``: the file has no tag for it; twins share one until they are told apart."""

    row: int
    tag: str
    tag_made: bool
    park: str
    name: Name | None
    position: Position | None
    dead: bool
    condition: str
    size: Size
    height_m: float | None
    crown_spread_m: float | None
    planted: Planted | None
    note: str
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """A stump or a vacant site; ``said`` is the word that calls it so."""

    row: int
    tag: str
    tag_made: bool
    park: str
    is_stump: bool
    position: Position | None
    stump_diameter_cm: float | None
    note: str
    said: str = ""
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Refusal:
    row: int
    column: str
    value: str
    reason: str


Row = TreeRow | PlaceRow | Refusal


class _Refused(ValueError):
    def __init__(self, column: str, value: str, reason: str) -> None:
        super().__init__(reason)
        self.column, self.value, self.reason = column, value, reason


@dataclass(frozen=True, slots=True)
class _File:
    """What is the same for all rows of a file; ``at`` says in which cell a role stands."""

    mapping: Mapping
    at: dict[Role, int]
    latest: date
    middle: Centre | None


class RowReader:
    """Reads the rows of one file. ``latest``: the last day that a planting date may name."""

    def __init__(self, header: Sequence[str], mapping: Mapping, *, latest: date, middle: Centre | None = None) -> None:
        at = {role: header.index(heading) for role, heading in mapping.columns.items()}
        self._file = _File(mapping, at, latest, middle)

    def read(self, chunk: Sequence[SourceRow]) -> list[Row]:
        """As many rows as came in, in the same order."""
        projected = self._projected(chunk)
        return [self._row(row, projected.get(row.number)) for row in chunk]

    def _row(self, source: SourceRow, projected: Position | None) -> Row:
        try:
            return _OneRow(self._file, source, projected).read()
        except _Refused as refused:
            return Refusal(source.number, refused.column, refused.value, refused.reason)

    def _projected(self, chunk: Sequence[SourceRow]) -> dict[int, Position]:
        """Degrees by row number, transformed for the whole chunk at once, for a file with projected coordinates."""
        epsg, at = self._file.mapping.epsg, self._file.at
        if Role.LATITUDE in at or Role.X not in at or epsg is None:
            return {}
        found = {row.number: pair for row in chunk if (pair := self._pair(row)) is not None}
        placed = positions.to_degrees(epsg, [x for x, _ in found.values()], [y for _, y in found.values()])
        return dict(zip(found, placed, strict=True))

    def _pair(self, row: SourceRow) -> tuple[float, float] | None:
        at, comma = self._file.at, self._file.mapping.decimal_comma
        try:
            x, y = (values.number(row.values[at[role]], decimal_comma=comma) for role in (Role.X, Role.Y))
        except ValueError:
            return None
        return x, y


class _OneRow:
    """The reading of a single row; a method a fact."""

    def __init__(self, file: _File, source: SourceRow, projected: Position | None) -> None:
        self._file, self._source, self._projected = file, source, projected
        self._mapping, self._comma = file.mapping, file.mapping.decimal_comma
        self._cells = {
            role: text for role, place in file.at.items() if not values.is_blank(text := source.values[place])
        }
        self._remarks: list[str] = []

    def read(self) -> Row:
        if self._source.problem:
            raise _Refused("", " | ".join(filter(None, self._source.values))[:200], f"{self._source.problem}.")
        if not any(self._source.values):
            raise _Refused("", "", "the row is empty.")
        status = self._status()
        return self._tree(status) if status in {Status.ALIVE, Status.DEAD} else self._place(status)

    def _text(self, role: Role) -> str:
        return self._cells.get(role, "")

    def _parsed(self, role: Role, read: Callable[[str], _T]) -> _T | None:
        """A cell as a value, None when it is blank; one that cannot be read refuses the row under its column."""
        text = self._cells.get(role)
        if text is None:
            return None
        try:
            return read(text)
        except (ValueError, OverflowError) as error:
            raise self._refused(role, str(error)) from error

    def _refused(self, role: Role, reason: str) -> _Refused:
        return _Refused(self._mapping.columns.get(role, ""), self._text(role)[:200], reason)

    # ------------------------------------------------------------ kinds of row

    def _tree(self, status: Status) -> TreeRow:
        name, position, condition = self._name(), self._position(), self._condition()
        dead = status is Status.DEAD or condition == "dead"
        tag, made = self._tag(position, name.key if name else "")
        return TreeRow(
            row=self._source.number,
            tag=tag,
            tag_made=made,
            park=self._park(),
            name=name,
            position=position,
            dead=dead,
            condition="dead" if dead else condition,
            size=self._size(),
            height_m=self._bounded(Role.HEIGHT, HEIGHT_MAX_M, "high"),
            crown_spread_m=self._bounded(Role.SPREAD, SPREAD_MAX_M, "across the crown"),
            planted=self._planted(),
            note=self._text(Role.NOTE),
            remarks=tuple(self._remarks),
        )

    def _place(self, status: Status) -> PlaceRow:
        position = self._position()
        tag, made = self._tag(position, "site")
        return PlaceRow(
            row=self._source.number,
            tag=tag,
            tag_made=made,
            park=self._park(),
            is_stump=status is Status.STUMP,
            position=position,
            stump_diameter_cm=self._stump_diameter() if status is Status.STUMP else None,
            note=self._text(Role.NOTE),
            said=next(
                (text for role in _SAYING if (text := self._text(role)) and values.status_word(text) is status), status
            ),
            remarks=tuple(self._remarks),
        )

    # ------------------------------------------------------------ facts

    def _status(self) -> Status:
        said = {self._said(role) for role in (Role.STATUS, Role.TYPE)}
        said |= {values.site_word(self._text(role)) for role in _NAME_ROLES if self._text(role)}
        return next((status for status in _PRECEDENCE if status in said), Status.ALIVE)

    def _said(self, role: Role) -> Status | None:
        text = self._text(role)
        if not text:
            return None
        found = self._mapping.status_words.get(text) or values.status_word(text)
        if found is None:
            raise self._refused(
                role, f"“{text}” is not a known status; it can be alive, dead, stump, vacant or removed."
            )
        return found

    def _tag(self, position: Position | None, what: str) -> tuple[str, bool]:
        """The file's own tag; else one made from where the tree stands and what it is, not from what changes as it grows."""
        tag = " ".join(self._text(Role.TAG).split())
        if tag:
            tag = tag.removesuffix(".0") if tag.removesuffix(".0").isdigit() else tag
            if fault := tags.fault(tag):
                raise self._refused(Role.TAG, f"{fault}.")
            return tag, False
        if position is None and not what:
            raise self._refused(
                Role.TAG, "the row has no tag, no position and no name: nothing tells which tree it is."
            )
        if Role.TAG in self._mapping.columns:
            self._remarks.append("had no tag: one was made from position and name")
        where = f"{position[1]:.6f} {position[0]:.6f}" if position else f"{self._park()} {self._text(Role.NOTE)}"
        return made_tag(where, what), True

    def _park(self) -> str:
        park = " ".join(self._text(Role.PARK).split())
        if len(park) > PARK_MAX:
            raise self._refused(Role.PARK, f"the park's name has {len(park)} signs; it can have {PARK_MAX}.")
        return park

    def _name(self) -> Name | None:
        name = self._named()
        if name and (len(name.botanical) > BOTANICAL_MAX or len(name.common) > BOTANICAL_MAX):
            raise self._refused(Role.BOTANICAL, f"the name is longer than {BOTANICAL_MAX} signs.")
        if name and len(name.cultivar) > CULTIVAR_MAX:
            raise self._refused(Role.CULTIVAR, f"the cultivar's name is longer than {CULTIVAR_MAX} signs.")
        return name

    def _named(self) -> Name | None:
        botanical = (
            self._name_text(Role.BOTANICAL) or f"{self._name_text(Role.GENUS)} {self._text(Role.EPITHET)}".strip()
        )
        common = " ".join(self._name_text(Role.COMMON).split())
        name = names.parse(botanical) if botanical else None
        if name is None:
            paired = names.parse(common) if common else None
            return paired if paired is None or (paired.botanical and paired.common) else Name(common=common)
        cultivar = name.cultivar or names.cased(self._text(Role.CULTIVAR).strip("'‘’\""))
        return Name(name.botanical, cultivar, common or name.common)

    def _name_text(self, role: Role) -> str:
        """A name's cell, unless it says what stands there instead of a living tree."""
        text = self._text(role)
        return "" if not text or values.site_word(text) else text

    def _condition(self) -> str:
        text = self._text(Role.CONDITION)
        if not text:
            return ""
        found = values.condition_word(text)
        if found is None:
            self._remarks.append("condition is none of good, fair, poor, dying, dead: left open")
        return found or ""

    def _planted(self) -> Planted | None:
        latest = self._file.latest
        on = self._parsed(Role.PLANTED, lambda text: values.planted(text, self._mapping.date_order, latest))
        year = self._parsed(Role.PLANTED_YEAR, lambda text: values.year(text, latest))
        if on and year and on.on.year != year:
            self._remarks.append("date and year of planting contradict each other: left open")
            return None
        return on or (Planted(date(year, 1, 1), "year") if year else None)

    def _bounded(self, role: Role, most_m: float, what: str) -> float | None:
        unit = self._mapping.unit(role)
        length_m = self._parsed(role, lambda text: values.length_m(text, unit, decimal_comma=self._comma))
        if length_m is None:
            return None
        if length_m > most_m:
            raise self._refused(
                role, f"{length_m:.4g} m {what} is beyond any tree ({most_m:g} m): check the number and its unit."
            )
        return round(length_m, 4) or None

    # ------------------------------------------------------------ trunk

    def _size(self) -> Size:
        """The diameter as measured; else from the girth; else from the size class."""
        dbh = self._trunk(Role.DBH, self._mapping.diameter_factor)
        girth = self._trunk(Role.GIRTH, 1 / math.pi)
        if dbh.cm and girth.cm:
            self._refuse_contradiction(dbh, girth)
        if dbh.cm or girth.cm:
            return dbh if dbh.cm else girth
        sized = self._trunk(Role.SIZE_CLASS, 1.0)
        return sized if sized.as_given else dbh if dbh.as_given else girth if girth.as_given else sized

    def _trunk(self, role: Role, factor: float) -> Size:
        unit = self._mapping.unit(role)
        found = self._parsed(role, lambda text: values.size(text, unit, decimal_comma=self._comma))
        if found is None or found.cm is None:
            return found or Size(None)
        scaled = round(found.cm * factor, 4)
        if scaled > DBH_MAX_CM:
            raise self._refused(
                role,
                f"a trunk {scaled:.4g} cm through is beyond any tree ({DBH_MAX_CM:g} cm): check the number and its unit.",
            )
        stems = tuple(round(stem * factor, 4) for stem in found.stems_cm)
        return Size(scaled, found.estimated, found.as_given[:AS_GIVEN_MAX], stems)

    def _refuse_contradiction(self, dbh: Size, girth: Size) -> None:
        if dbh.estimated or girth.estimated or dbh.stems_cm or dbh.cm is None or girth.cm is None:
            return
        if abs(dbh.cm - girth.cm) > GIRTH_TOLERANCE * max(dbh.cm, girth.cm) + GIRTH_SLACK_CM:
            raise self._refused(
                Role.GIRTH,
                f"a girth of {girth.cm * math.pi:.4g} cm makes {girth.cm:.4g} cm through (girth ÷ π), "
                f"but the diameter is given as {dbh.cm:.4g} cm: mend one of them.",
            )

    def _stump_diameter(self) -> float | None:
        return self._trunk(Role.STUMP, 1.0).cm or self._trunk(Role.DBH, self._mapping.diameter_factor).cm

    # ------------------------------------------------------------ position

    def _position(self) -> Position | None:
        role = next((role for role in (Role.LATITUDE, Role.X, Role.POINT) if role in self._file.at), None)
        if role is None:
            return None
        found = self._at_point() if role is Role.POINT else self._at_pair(role)
        if found is None:
            return None
        if fault := self._fault(*found):
            raise self._refused(role, f"{fault}.")
        return found

    def _fault(self, lon: float, lat: float) -> str:
        epsg = self._mapping.epsg
        if self._projected is not None and epsg is not None and not positions.in_area(epsg, lon, lat):
            return f"the coordinates lie outside the area of EPSG:{epsg}; check them and the code"
        return positions.fault(lon, lat, self._file.middle)

    def _at_point(self) -> Position | None:
        found = self._parsed(Role.POINT, positions.point)
        return None if found is None else self._unless_zero(*found)

    def _at_pair(self, first: Role) -> Position | None:
        """From two columns: latitude with longitude, or x with y."""
        second = Role.LONGITUDE if first is Role.LATITUDE else Role.Y
        one, other = self._degrees(first), self._degrees(second)
        if (one is None) != (other is None):
            missing, given = (first, second) if one is None else (second, first)
            raise self._refused(missing, f"there is a {given.label} but no {missing.label}: a position needs both.")
        if one is None or other is None or self._unless_zero(other, one) is None:
            return None
        return self._projected if first is Role.X else (other, one)

    def _degrees(self, role: Role) -> float | None:
        read = values.number if role in {Role.X, Role.Y} else positions.degrees
        return self._parsed(role, lambda text: read(text, decimal_comma=self._comma))

    def _unless_zero(self, lon: float, lat: float) -> Position | None:
        """0, 0 is what programs write where there is no position."""
        if lon or lat:
            return lon, lat
        self._remarks.append("position 0, 0 means none: kept to be located")
        return None


def made_tag(where: str, what: str) -> str:
    """A tag that the same tree gets again from the same file in any order: 60 bits of a digest, after a letter M."""
    digest = hashlib.sha256(f"{where}|{what}".encode()).digest()
    return f"M{b32encode(digest)[:12].decode()}"
