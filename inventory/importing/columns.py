"""Which column is what: guessed from the heading, held against the sampled values.

Every guess that could have been otherwise is said in a sentence (``Guess.notices``), because a person confirms it.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from collections.abc import Mapping as Table
from dataclasses import dataclass, replace
from statistics import median

from inventory.importing import positions, samples, values
from inventory.importing.headings import columns_for, epsg_in, reduced, unit_in
from inventory.importing.mapping import LENGTHS, TRUNK_LENGTHS, Mapping, Role
from inventory.importing.places import likely_in_us
from inventory.importing.samples import Column, attempt
from inventory.importing.source import SourceRow

# The order in which roles choose: those that a looser heading could steal from come first.
_ORDER = (
    Role.LATITUDE, Role.LONGITUDE, Role.POINT, Role.X, Role.Y, Role.STUMP, Role.SPREAD, Role.SIZE_CLASS, Role.DBH,
    Role.GIRTH, Role.HEIGHT, Role.PLANTED, Role.PLANTED_YEAR, Role.STATUS, Role.TYPE, Role.CONDITION, Role.GENUS,
    Role.BOTANICAL, Role.EPITHET, Role.COMMON, Role.CULTIVAR, Role.PARK, Role.TAG, Role.NOTE,
)  # fmt: skip
_NO_PARK_NAMES = {
    "park", "parks", "street", "streets", "road", "median", "verge", "public", "private", "yes", "no", "true", "false", "y", "n",
}  # fmt: skip
_PLAIN_BOTANICAL = ("botanical", "scientific", "latin")


@dataclass(frozen=True)
class Guess:
    mapping: Mapping
    notices: tuple[str, ...]


def guess(header: Sequence[str], sample: Iterable[SourceRow], given: Table[Role, str] | None = None) -> Guess:
    """The likely mapping of a file; with ``given`` columns, only what they leave open (units, orders) is guessed."""
    found = samples.columns(header, sample)
    comma = samples.writes_decimal_comma(found)
    by_heading = {column.heading: column for column in found}
    columns = dict(given) if given is not None else _assign([column.pointed() for column in found] if comma else found)
    notices: list[str] = []
    if given is None:
        columns = _positions(columns, by_heading, notices)
        _say_what_is_not_understood(columns, found, notices)
    mapping = Mapping(columns, decimal_comma=comma, epsg=_epsg(columns))
    middle = positions.middle(sampled_positions(mapping, by_heading))
    in_us = middle is not None and likely_in_us(*middle)
    mapping = replace(mapping, units=_units(mapping, by_heading, in_us, notices))
    mapping = replace(mapping, date_order=_date_order(mapping, by_heading, in_us, notices))
    mapping = replace(mapping, diameter_factor=_diameter_factor(mapping, by_heading, notices))
    return Guess(mapping, tuple(notices))


# ---------------------------------------------------------------- columns


def _assign(found: list[Column]) -> dict[Role, str]:
    headings = [column.heading for column in found]
    taken: dict[Role, str] = {}
    free = {place for place, column in enumerate(found) if column.values}
    for role in _ORDER:
        for place, exact in columns_for(role, headings):
            if place in free and _fits(role, found[place], taken, exact):
                taken[role] = headings[place]
                free.remove(place)
                break
    return _by_values(taken, [found[place] for place in sorted(free)])


def _fits(role: Role, column: Column, taken: Table[Role, str], exact: bool) -> bool:
    """Whether the values under a heading are of the kind: most of them, or three of ten when the heading is plain.

    A plain heading over many wrong values is a column of mistakes, to be refused row by row rather than left out.
    """
    if role is Role.EPITHET:
        lone = column.share(lambda text: text.islower() or text.isupper()) > 0.5
        return lone and Role.GENUS in taken and Role.BOTANICAL not in taken
    if role in _JUDGED:
        return _JUDGED[role](column, exact)
    test = _READABLE.get(role)
    return test is None or column.share(test) >= (0.3 if exact else 0.7)


def _reads(read: Callable[[str], object]) -> Callable[[str], bool]:
    return lambda text: attempt(read, text) is not None


def _names_parks(column: Column, exact: bool) -> bool:
    words = {value.lower() for value in column.distinct}
    if words <= _NO_PARK_NAMES or len(column.distinct) > max(60, len(column.values) // 4):
        return False
    # A park may be known by a number, an area or a section is more often measured by one.
    return column.heading.lower().startswith("park") or column.share(samples.looks_numeric) < 0.5


def _numbers_trees(column: Column, exact: bool) -> bool:
    """Hardly two rows have the same; under a plain heading what repeats is the file's mistake."""
    least = 0.5 if exact and reduced(column.heading) in _PLAIN_TAGS else 0.95
    return len(column.values) >= least * len(column.cells) and len(column.distinct) >= least * len(column.values)


def _names_taxa(column: Column, exact: bool) -> bool:
    if any(word in column.heading.lower() for word in _PLAIN_BOTANICAL):
        return column.share(samples.looks_numeric) < 0.5
    return column.share(samples.looks_botanical) >= 0.5


_PLAIN_TAGS = {"tag", "id", "tag id", "tag number", "tag no", "asset id", "inventory id", "inventory number"}
_JUDGED: dict[Role, Callable[[Column, bool], bool]] = {
    Role.PARK: _names_parks,
    Role.TAG: _numbers_trees,
    Role.BOTANICAL: _names_taxa,
}
_TRUNK = _reads(lambda text: values.size(text, "cm"))
_LENGTH = _reads(lambda text: values.length_m(text, "cm"))
_STATUS = _reads(values.status_word)
_READABLE: dict[Role, Callable[[str], bool]] = {
    Role.LATITUDE: samples.is_degree,
    Role.LONGITUDE: samples.is_degree,
    Role.POINT: _reads(positions.point),
    Role.X: _reads(positions.degrees),
    Role.Y: _reads(positions.degrees),
    Role.SIZE_CLASS: samples.looks_classed,
    **dict.fromkeys((Role.DBH, Role.GIRTH, Role.STUMP), _TRUNK),
    **dict.fromkeys((Role.HEIGHT, Role.SPREAD), _LENGTH),
    Role.PLANTED: samples.looks_dated,
    Role.PLANTED_YEAR: lambda text: len(text) in {4, 6} and text[:4].isdigit(),
    Role.STATUS: _STATUS,
    Role.TYPE: _STATUS,
    Role.CONDITION: _reads(values.condition_word),
    Role.GENUS: lambda text: text.replace("×", "").replace("-", "").isalpha(),
    Role.COMMON: lambda text: not samples.looks_numeric(text),
    Role.CULTIVAR: lambda text: not samples.looks_numeric(text),
}


def _by_values(taken: dict[Role, str], free: list[Column]) -> dict[Role, str]:
    """Names, points and what is no tree are known by their look, under whatever heading."""
    if Role.BOTANICAL not in taken and Role.GENUS not in taken:
        _take_first(taken, Role.BOTANICAL, free, lambda column: column.share(samples.looks_botanical) > 0.8)
    if not {Role.LATITUDE, Role.POINT, Role.X} & set(taken):
        _take_first(taken, Role.POINT, free, lambda column: column.share(lambda text: "POINT" in text.upper()) > 0.8)
    if not {Role.STATUS, Role.TYPE} & set(taken):
        _take_first(taken, Role.TYPE, free, _tells_trees_from_places)
    return taken


def _tells_trees_from_places(column: Column) -> bool:
    """Words of a status all down, not of trees alone."""
    said = {attempt(values.status_word, word) for word in column.distinct} - {None}
    return column.share(_STATUS) > 0.8 and bool(said - {values.Status.ALIVE})


def _take_first(taken: dict[Role, str], role: Role, free: list[Column], test: Callable[[Column], bool]) -> None:
    found = next((column for column in free if test(column)), None)
    if found is not None:
        taken[role] = found.heading


def _say_what_is_not_understood(columns: Table[Role, str], found: list[Column], notices: list[str]) -> None:
    """A status that is left out for its words could hide trees that are gone."""
    if Role.STATUS in columns:
        return
    for column in found:
        if reduced(column.heading) == "status" and column.values:
            words = ", ".join(word for word, _ in column.distinct.most_common(5))
            notices.append(
                f"“{column.heading}” is left out: its words ({words}) are not known here. Say in the mapping what they mean, "
                "or every tree counts as standing."
            )


# ---------------------------------------------------------------- positions


def _positions(columns: dict[Role, str], by_heading: Table[str, Column], notices: list[str]) -> dict[Role, str]:
    """One way of saying where a tree stands: degrees before projected ones before a cell with both."""
    columns = _degrees_in_x(columns, by_heading)
    ways = ((Role.LATITUDE, Role.LONGITUDE), (Role.X, Role.Y), (Role.POINT,))
    best = next((way for way in ways if all(role in columns for role in way)), ())
    kept = {role: heading for role, heading in columns.items() if role in best or not any(role in way for way in ways)}
    return _unswapped(kept, by_heading, notices)


def _degrees_in_x(columns: dict[Role, str], by_heading: Table[str, Column]) -> dict[Role, str]:
    if Role.LATITUDE in columns or not {Role.X, Role.Y} <= set(columns):
        return columns
    x, y = (by_heading[columns[role]] for role in (Role.X, Role.Y))
    if epsg_in(x.heading) or x.share(samples.is_degree) < 0.95 or y.share(samples.is_degree) < 0.95:
        return columns
    rest: dict[Role, str] = {role: heading for role, heading in columns.items() if role not in {Role.X, Role.Y}}
    return {**rest, Role.LONGITUDE: x.heading, Role.LATITUDE: y.heading}


def _unswapped(columns: dict[Role, str], by_heading: Table[str, Column], notices: list[str]) -> dict[Role, str]:
    """A whole column of latitudes where no tree grows, beside longitudes where one could: each under the other's heading."""
    if Role.LATITUDE not in columns:
        return columns
    lat, lon = columns[Role.LATITUDE], columns[Role.LONGITUDE]
    beyond = by_heading[lat].share(_is_beyond_latitude)
    if beyond < 0.9 or by_heading[lon].share(_is_beyond_latitude) > 0.1:
        return columns
    notices.append(f"The columns “{lat}” and “{lon}” hold each other's values: they are read the other way round.")
    return {**columns, Role.LATITUDE: lon, Role.LONGITUDE: lat}


def _is_beyond_latitude(value: str) -> bool:
    found = attempt(positions.degrees, value)
    return isinstance(found, float) and abs(found) <= 180 and not positions.grows_at(found)


def _epsg(columns: Table[Role, str]) -> int | None:
    return epsg_in(columns[Role.X]) if Role.X in columns else None


def sampled_positions(mapping: Mapping, by_heading: Table[str, Column]) -> list[positions.Position]:
    """The positions that can be read from the sample, in degrees."""
    columns = mapping.columns
    if Role.POINT in columns:
        read = [attempt(positions.point, value) for value in by_heading[columns[Role.POINT]].values]
        return [place for place in read if isinstance(place, tuple)]
    if Role.LATITUDE in columns:
        return _pairs(mapping, by_heading, Role.LONGITUDE, Role.LATITUDE)
    if Role.X in columns and mapping.epsg:
        found = _pairs(mapping, by_heading, Role.X, Role.Y)
        placed = positions.to_degrees(mapping.epsg, [x for x, _ in found], [y for _, y in found]) if found else []
        return [place for place in placed if math.isfinite(place[0])]
    return []


def _pairs(mapping: Mapping, by_heading: Table[str, Column], one: Role, other: Role) -> list[tuple[float, float]]:
    def read(text: str) -> float:
        return positions.degrees(text, decimal_comma=mapping.decimal_comma)

    return list(_numbers(by_heading[mapping.columns[one]], read, by_heading[mapping.columns[other]], read))


def _numbers(
    one: Column, read_one: Callable[[str], object], other: Column, read_other: Callable[[str], object]
) -> Iterable[tuple[float, float]]:
    """The rows in which both columns can be read as numbers other than zero."""
    for first, second in zip(one.cells, other.cells, strict=True):
        if first is not None and second is not None:
            a, b = attempt(read_one, first), attempt(read_other, second)
            if isinstance(a, float) and isinstance(b, float) and a and b:
                yield a, b


# ---------------------------------------------------------------- units, orders, factors


_UNIT_NAMES = {"in": "inches", "cm": "centimetres", "ft": "feet", "m": "metres", "mm": "millimetres"}


def _units(mapping: Mapping, by_heading: Table[str, Column], in_us: bool, notices: list[str]) -> dict[Role, str]:
    units: dict[Role, str] = {}
    for role in LENGTHS:
        if role in mapping.columns:
            units[role], why = _unit(role, by_heading[mapping.columns[role]], mapping.decimal_comma, in_us)
            if why:
                notices.append(
                    f"“{mapping.columns[role]}” names no unit: taken as {_UNIT_NAMES[units[role]]}, because {why}."
                )
    return units


def _unit(role: Role, column: Column, comma: bool, in_us: bool) -> tuple[str, str]:
    """The unit of a column's bare numbers, and why when nothing in the file says it."""
    if named := unit_in(column.heading):
        return named, ""
    words = [unit for value in column.distinct for part in value.split() if (unit := values.unit_of(part))]
    if words:
        return max(set(words), key=words.count), ""
    read = [attempt(lambda text: values.number(text, decimal_comma=comma), value) for value in column.values]
    numbers = sorted(found for found in read if isinstance(found, float) and found > 0)
    if not numbers:
        return ("in" if in_us else "cm") if role in TRUNK_LENGTHS else ("ft" if in_us else "m"), ""
    middle, high = median(numbers), numbers[int(0.95 * (len(numbers) - 1))]
    around = math.pi if role is Role.GIRTH else 1.0
    return (
        _trunk_unit(middle / around, high / around, in_us)
        if role in TRUNK_LENGTHS
        else _height_unit(middle, high, in_us)
    )


def _trunk_unit(middle: float, high: float, in_us: bool) -> tuple[str, str]:
    """By size: few town trees are over 50 inches through, hardly any planting is under 3 cm, or its middle over 3 m."""
    if middle > 300:
        return "mm", f"the middle value is {middle:g}"
    if high < 3:
        return "m", f"nineteen of twenty are under {high:.3g}"
    if high > 50:
        return "cm", f"one in twenty is over {high:g}, too much for inches"
    if in_us:
        return "in", f"the trees stand in the United States and nineteen of twenty are {high:g} or less"
    return "cm", "nothing says that the trees stand in the United States"


def _height_unit(middle: float, high: float, in_us: bool) -> tuple[str, str]:
    if middle > 200:
        return "cm", f"the middle value is {middle:g}"
    if high > 60:
        return "ft", f"one in twenty is over {high:g}, too much for metres"
    return (
        ("ft", "the trees stand in the United States")
        if in_us
        else ("m", "nothing says that the trees stand in the United States")
    )


def _date_order(mapping: Mapping, by_heading: Table[str, Column], in_us: bool, notices: list[str]) -> values.DateOrder:
    assumed = values.DateOrder.MDY if in_us else values.DateOrder.DMY
    if Role.PLANTED not in mapping.columns:
        return assumed
    column = by_heading[mapping.columns[Role.PLANTED]]
    decided = values.date_order(column.values)
    if decided is None and any(values.is_numeric_date(value) for value in column.distinct):
        first = "month" if in_us else "day"
        notices.append(
            f"The dates in “{column.heading}” do not tell the day from the month: the {first} is taken to come first."
        )
    return decided or assumed


def _diameter_factor(mapping: Mapping, by_heading: Table[str, Column], notices: list[str]) -> float:
    """Girth is π times the diameter; a column of which the middle says otherwise was doubled or halved as a whole."""
    if not {Role.DBH, Role.GIRTH} <= set(mapping.columns):
        return 1.0
    dbh, girth = (by_heading[mapping.columns[role]] for role in (Role.DBH, Role.GIRTH))
    pairs = _numbers(dbh, _sized(mapping, Role.DBH), girth, _sized(mapping, Role.GIRTH))
    ratios = [girth_cm / (math.pi * dbh_cm) for dbh_cm, girth_cm in pairs]
    if len(ratios) < 5:
        return 1.0
    middle = median(ratios)
    for factor, fault in ((0.5, "doubled"), (2.0, "halved")):
        if abs(middle - factor) < 0.08 * factor:
            notices.append(
                f"Every diameter in “{dbh.heading}” is {fault}: the girth in “{girth.heading}” is {middle * math.pi:.2f} times "
                f"it, where it should be 3.14. The diameters are taken times {factor:g}."
            )
            return factor
    if abs(middle - 1) > 0.15:
        notices.append(
            f"“{girth.heading}” is {middle * math.pi:.2f} times “{dbh.heading}”, where a girth is 3.14 diameters: "
            "check their units."
        )
    return 1.0


def _sized(mapping: Mapping, role: Role) -> Callable[[str], float | None]:
    return lambda text: values.size(text, mapping.unit(role), decimal_comma=mapping.decimal_comma).cm
