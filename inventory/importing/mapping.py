"""Which column of a file means what: a mapping that is shown, confirmed, kept as JSON and remembered by the header."""

import hashlib
from collections.abc import Iterable
from collections.abc import Mapping as Table
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, TypeVar

from inventory.importing.positions import is_known_system
from inventory.importing.values import LENGTH_UNITS, DateOrder, Status

_T = TypeVar("_T")
_E = TypeVar("_E", bound=StrEnum)


class MappingProblem(ValueError):
    """A mapping that cannot be used; the message is one sentence for the person who wrote it."""


class Role(StrEnum):
    TAG = "tag"
    PARK = "park"
    BOTANICAL = "botanical"
    COMMON = "common"
    GENUS = "genus"
    EPITHET = "epithet"
    CULTIVAR = "cultivar"
    LATITUDE = "latitude"
    LONGITUDE = "longitude"
    POINT = "point"
    X = "x"
    Y = "y"
    DBH = "dbh"
    GIRTH = "girth"
    SIZE_CLASS = "size_class"
    HEIGHT = "height"
    SPREAD = "crown_spread"
    STUMP = "stump_diameter"
    PLANTED = "planted"
    PLANTED_YEAR = "planted_year"
    STATUS = "status"
    TYPE = "record_type"
    CONDITION = "condition"
    NOTE = "note"

    @property
    def label(self) -> str:
        return LABELS[self]


LABELS = {
    Role.TAG: "tag or number of the tree",
    Role.PARK: "park",
    Role.BOTANICAL: "botanical name (or “botanical :: common”)",
    Role.COMMON: "common name",
    Role.GENUS: "genus",
    Role.EPITHET: "species (the second word of the name)",
    Role.CULTIVAR: "cultivar",
    Role.LATITUDE: "latitude",
    Role.LONGITUDE: "longitude",
    Role.POINT: "position in one column",
    Role.X: "easting (x) of a projected system",
    Role.Y: "northing (y) of a projected system",
    Role.DBH: "trunk diameter",
    Role.GIRTH: "trunk girth",
    Role.SIZE_CLASS: "size class of the trunk",
    Role.HEIGHT: "height",
    Role.SPREAD: "crown spread",
    Role.STUMP: "stump diameter",
    Role.PLANTED: "date planted",
    Role.PLANTED_YEAR: "year planted",
    Role.STATUS: "status (alive, dead, stump, vacant …)",
    Role.TYPE: "type of record (tree, stump, vacant site …)",
    Role.CONDITION: "condition",
    Role.NOTE: "note",
}
TRUNK_LENGTHS = (Role.DBH, Role.GIRTH, Role.SIZE_CLASS, Role.STUMP)
LENGTHS = (*TRUNK_LENGTHS, Role.HEIGHT, Role.SPREAD)
# What the diameter column of a whole file may have been multiplied with by mistake.
DIAMETER_FACTORS = (1.0, 0.5, 2.0)


@dataclass(frozen=True)
class Mapping:
    """``columns`` role → heading; ``units`` role → unit of its bare numbers.

    ``diameter_factor`` mends a diameter column that is wrong as a whole (0.5 where every diameter was doubled);
    ``status_words`` translates a file's own words into alive, dead, stump, vacant or removed.
    """

    columns: Table[Role, str]
    units: Table[Role, str] = field(default_factory=dict)
    date_order: DateOrder = DateOrder.DMY
    epsg: int | None = None
    decimal_comma: bool = False
    diameter_factor: float = 1.0
    status_words: Table[str, Status] = field(default_factory=dict)

    def unit(self, role: Role) -> str:
        return self.units.get(role, "cm" if role in TRUNK_LENGTHS else "m")

    @property
    def has_position(self) -> bool:
        return Role.POINT in self.columns or Role.LATITUDE in self.columns or Role.X in self.columns

    def to_json(self) -> dict[str, Any]:
        return {
            "columns": {str(role): heading for role, heading in self.columns.items()},
            "units": {str(role): unit for role, unit in self.units.items()},
            "date_order": str(self.date_order),
            "epsg": self.epsg,
            "decimal": "," if self.decimal_comma else ".",
            "diameter_factor": self.diameter_factor,
            "status_words": {word: str(status) for word, status in self.status_words.items()},
        }


def from_json(data: Any, header: Iterable[str]) -> Mapping:
    """A mapping as ``to_json`` writes it, fit to be used; only ``columns`` must be there. Raises MappingProblem."""
    mapping = draft_from_json(data, header)
    check(mapping)
    return mapping


def draft_from_json(data: Any, header: Iterable[str]) -> Mapping:
    """A mapping that may still lack something, held against a file's header. Raises MappingProblem."""
    if not isinstance(data, dict) or not isinstance(data.get("columns"), dict):
        raise MappingProblem('A mapping is an object like {"columns": {"tag": "TREE_ID", "dbh": "DIAMETER"}}.')
    unknown = set(data) - set(Mapping.__dataclass_fields__) - {"decimal"}
    if unknown:
        raise MappingProblem(f"The mapping has “{sorted(unknown)[0]}”, which means nothing here.")
    return Mapping(
        columns=_columns(data["columns"], tuple(header)),
        units=_units(data.get("units") or {}),
        date_order=_choice(DateOrder, data.get("date_order", "dmy"), "date_order"),
        epsg=_epsg(data.get("epsg")),
        decimal_comma=_one_of(data.get("decimal", "."), (".", ","), "decimal") == ",",
        diameter_factor=_one_of(data.get("diameter_factor", 1.0), DIAMETER_FACTORS, "diameter_factor"),
        status_words={
            str(word): _choice(Status, status, f"status word “{word}”")
            for word, status in (data.get("status_words") or {}).items()
        },
    )


def check(mapping: Mapping) -> None:
    """Refuses a mapping that fits no file: half a position, projected coordinates without their system."""
    for one, other in ((Role.LATITUDE, Role.LONGITUDE), (Role.X, Role.Y)):
        if (one in mapping.columns) != (other in mapping.columns):
            missing = other if one in mapping.columns else one
            raise MappingProblem(f"A position needs both its columns: name the column of the {missing} too.")
    if Role.X in mapping.columns and mapping.epsg is None and Role.LATITUDE not in mapping.columns:
        raise MappingProblem(
            f"The columns {mapping.columns[Role.X]} and {mapping.columns[Role.Y]} are projected coordinates: "
            "name their coordinate system by its EPSG code, for example 2263."
        )
    if Role.EPITHET in mapping.columns and Role.GENUS not in mapping.columns:
        raise MappingProblem("The second word of a name needs the genus: name its column too.")


def header_key(header: Iterable[str]) -> str:
    """By which a file of the same columns is known again, in whatever order they stand."""
    return hashlib.sha256("\x1f".join(sorted(name.casefold() for name in header)).encode()).hexdigest()


def _columns(given: dict[str, Any], header: tuple[str, ...]) -> dict[Role, str]:
    """The columns as this file heads them: case may differ from file to file."""
    headings = {heading.casefold(): heading for heading in header}
    columns = {}
    for word, heading in given.items():
        role = _choice(Role, word, "column")
        if heading and str(heading).casefold() not in headings:
            raise MappingProblem(f"The mapping takes the {role} from “{heading}”, but the file has no such column.")
        if heading:
            columns[role] = heading if heading in header else headings[str(heading).casefold()]
    return columns


def _units(given: dict[str, Any]) -> dict[Role, str]:
    return {_choice(Role, role, "unit"): _one_of(unit, LENGTH_UNITS, f"unit of {role}") for role, unit in given.items()}


def _epsg(given: Any) -> int | None:
    if given in (None, ""):
        return None
    if not str(given).isdigit() or not is_known_system(int(given)):
        raise MappingProblem(f"EPSG:{given} is not a known coordinate system; look the code up at epsg.org.")
    return int(given)


def _choice(kind: type[_E], word: Any, what: str) -> _E:
    return kind(_one_of(word, tuple(map(str, kind)), what))


def _one_of(value: _T, choices: Iterable[_T], what: str) -> _T:
    choices = tuple(choices)
    if value not in choices:
        raise MappingProblem(f"The {what} of the mapping is {value!r}; it can be {', '.join(map(str, choices))}.")
    return value
