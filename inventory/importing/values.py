"""One cell's text as a value of the trade: lengths, size classes, dates, status and condition words.

Each function takes text that is not blank (see ``is_blank``) and raises ValueError with a sentence that says what would
be right. Lengths are metres or centimetres, by name.
"""

import math
import re
from calendar import month_abbr
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from functools import lru_cache

from inventory.units import METRES_PER, parse_length_m


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split("|"))


_BLANKS = _set(
    "na|n/a|n.a.|nan|null|none|nil|unknown|undefined|unspecified|-|--|—|.|?|#n/a|<null>|(null)|0000-00-00|tbd"
    "|not recorded|not available|not known|not applicable|no data"
)


def is_blank(text: str) -> bool:
    """Empty, or a word that stands for empty."""
    return not text or text.lower() in _BLANKS


# ---------------------------------------------------------------- numbers and lengths

LENGTH_UNITS = ("in", "cm", "ft", "m", "mm")
_UNIT_WORDS = {
    "inches": "in", "inch": "in", "ins": "in", "feet": "ft", "foot": "ft", "centimetres": "cm", "centimeters": "cm",
    "centimetre": "cm", "centimeter": "cm", "cms": "cm", "millimetres": "mm", "millimeters": "mm", "millimetre": "mm",
    "millimeter": "mm", "metres": "m", "meters": "m", "metre": "m", "meter": "m", "mtrs": "m", "mt": "m",
}  # fmt: skip
_WORD = re.compile(r"[a-z]+\.?")
_CURLY = str.maketrans({"’": "'", "‘": "'", "”": '"', "“": '"', "″": '"', "′": "'"})
_THOUSANDS = re.compile(r"(?<=\d),(?=\d{3}(?:\D|$))")
_THIN_SPACES = re.compile(r"(?<=\d)[ \u00a0\u202f](?=\d{3}(?:\D|$))")
# Every part names its unit: "12 13" is two numbers, not their sum.
_WITH_UNITS = re.compile(r"(?:\d+(?:[.,]\d+)?\s*(?:[a-z]+|[\"'])\s*)+")
_PLAIN_NUMBER = re.compile(r"-?\d{1,15}(?:\.\d{1,2}|\.\d{4,17})?")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")


def unit_of(word: str) -> str | None:
    """The unit a word of a heading or a cell stands for."""
    bare = word.lower().rstrip(".")
    found = _UNIT_WORDS.get(bare, bare)
    return found if found in LENGTH_UNITS else None


def number(text: str, *, decimal_comma: bool = False) -> float:
    if _PLAIN_NUMBER.fullmatch(text):
        return float(text)
    plain = _THIN_SPACES.sub("", text.strip())
    plain = plain.replace(".", "").replace(",", ".") if decimal_comma else _THOUSANDS.sub("", plain)
    if not _NUMBER.fullmatch(plain) or not math.isfinite(value := float(plain)):
        raise ValueError(f"“{text}” is not a number; write for example 14 or 14.5.")
    return value


@lru_cache(maxsize=20_000)
def length_m(text: str, unit: str, *, decimal_comma: bool = False) -> float:
    """Metres from ``14``, ``14 in``, ``36 cm.``, ``1' 6"``; a bare number is in ``unit``. Never below zero."""
    plain = text.translate(_CURLY).lower()
    try:
        bare = number(plain, decimal_comma=decimal_comma)
    except ValueError:
        plain = _WORD.sub(lambda word: unit_of(word[0]) or word[0], plain)
        plain = plain.replace(".", "") if decimal_comma else _THOUSANDS.sub("", plain)
        if not _WITH_UNITS.fullmatch(plain):
            raise ValueError(f"“{text}” is not a length; write for example 36 cm or 14 in.") from None
        return parse_length_m(plain, unit)
    if bare < 0:
        raise ValueError(f"“{text}” is below zero; a length is zero or more.")
    return bare * METRES_PER[unit]


# ---------------------------------------------------------------- trunk sizes

_N = r"(\d+(?:\.\d+)?)"
_U = r"\s*(in|cm|ft|m|mm|\"|')?"
_RANGE = re.compile(rf"(?:class\s*)?{_N}{_U}\s*(?:-|–|—|to|until)\s*<?\s*{_N}{_U}")
_OVER = re.compile(
    rf"(?:>=?|≥|over|above|more than|greater than|at least)\s*{_N}{_U}"
    rf"|{_N}{_U}\s*(?:\+|and (?:up|over|above|more|larger)|or more|plus)"
)
_UNDER = re.compile(
    rf"(?:<=?|≤|under|below|less than|up to|smaller than)\s*{_N}{_U}|{_N}{_U}\s*(?:and (?:under|below|less)|or less)"
)
_STEMS = re.compile(rf"{_N}{_U}(?:\s*[/+&;]\s*{_N}{_U})+")
_STEM = re.compile(rf"{_N}{_U}")
_CLASS_WORDS = frozenset(
    {"small", "medium", "large", "very large", "very small", "extra large", "sapling", "young", "semi-mature", "mature"}
)


@dataclass(frozen=True, slots=True)
class Size:
    """A trunk's diameter, or girth before it is turned into one. ``as_given`` is the class that the source wrote."""

    cm: float | None
    estimated: bool = False
    as_given: str = ""
    stems_cm: tuple[float, ...] = ()


@lru_cache(maxsize=20_000)
def size(text: str, unit: str, *, decimal_comma: bool = False) -> Size:
    """A trunk size: a length, several stems (``12/9 in``), a class (``6-12 in``, ``>30``, ``12" to 18"``) or its word.

    A class is kept as written with its midpoint, marked as estimated; an open class (``>30``) gives its bound, because
    nothing says how far above it the tree is. Several stems count as the root of the sum of their squares: the one
    trunk of the same basal area (common practice). Zero means unknown.
    """
    plain = _WORD.sub(lambda word: unit_of(word[0]) or word[0], text.translate(_CURLY).lower()).strip()
    plain = plain.replace(",", ".") if decimal_comma else plain
    if plain in _CLASS_WORDS:
        return Size(None, estimated=False, as_given=text)
    if found := _RANGE.fullmatch(plain):
        return _between(text, found, unit)
    if found := _OVER.fullmatch(plain):
        return Size(_cm(found[1] or found[3], found[2] or found[4], unit), estimated=True, as_given=text)
    if found := _UNDER.fullmatch(plain):
        return Size(_cm(found[1] or found[3], found[2] or found[4], unit) / 2, estimated=True, as_given=text)
    if _STEMS.fullmatch(plain):
        return _stems(plain, unit)
    return Size(length_m(text, unit, decimal_comma=decimal_comma) * 100 or None)


def _cm(text: str, named: str | None, unit: str) -> float:
    return float(text) * METRES_PER[named or unit] * 100


def _between(text: str, found: re.Match[str], unit: str) -> Size:
    low = _cm(found[1], found[2] or found[4], unit)
    high = _cm(found[3], found[4] or found[2], unit)
    if high < low:
        raise ValueError(f"“{text}” runs downwards; write the smaller bound first.")
    return Size((low + high) / 2 or None, estimated=True, as_given=text)


def _stems(plain: str, unit: str) -> Size:
    parts = _STEM.findall(plain)
    shared = next((named for _, named in reversed(parts) if named), unit)
    stems = tuple(stem for text, named in parts if (stem := _cm(text, named or shared, unit)))
    return Size(math.hypot(*stems) or None, stems_cm=stems if len(stems) > 1 else ())


# ---------------------------------------------------------------- dates


class DateOrder(StrEnum):
    DMY = "dmy"
    MDY = "mdy"


@dataclass(frozen=True, slots=True)
class Planted:
    on: date
    precision: str


_MONTHS = {month_abbr[place].lower(): place for place in range(1, 13)}
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})(?:[-/.](\d{1,2}))?(?:[T ]\d{1,2}:\d{2}.*)?")
_NUMERIC = re.compile(r"(\d{1,2})[-/. ](\d{1,2})[-/. ](\d{4}|\d{2})(?:[T ,]+\d{1,2}:\d{2}.*)?")
_MONTH_YEAR = re.compile(r"(\d{1,2})[-/.](\d{4})")
_WORDS = re.compile(
    r"(?:(\d{1,2})(?:st|nd|rd|th)?[\s\-.]+)?([A-Za-z]{3,9})\.?(?:[\s\-]+(\d{1,2})(?:st|nd|rd|th)?,)?[\s\-,]+(\d{4}|\d{2})"
)
_YEAR = re.compile(r"(?:c(?:a|irca)?\.?\s*)?(\d{4})(?:\.0+)?")
_COMPACT = re.compile(r"(\d{4})(\d{2})(\d{2})")
_SERIAL = re.compile(r"\d{5}(?:\.0+)?")
# Day 0 of spreadsheet programs, and the days next to it that stand for an empty cell.
_SPREADSHEET_ZERO = date(1899, 12, 30)
_PLACEHOLDERS = frozenset({_SPREADSHEET_ZERO, date(1899, 12, 31)})
_EARLIEST_YEAR = 1000
_DATE_HELP = "write it as 1998-10-14, 1998-10 or 1998"


def date_order(texts: Iterable[str]) -> DateOrder | None:
    """Whether a column writes the day or the month first: decided by the values that can be read one way only.

    None when no value decides; when some say one thing and some the other, the greater number wins.
    """
    day_first = month_first = 0
    for text in texts:
        if found := _NUMERIC.fullmatch(text):
            day_first += int(found[1]) > 12
            month_first += int(found[2]) > 12
    if day_first == month_first:
        return None
    return DateOrder.DMY if day_first > month_first else DateOrder.MDY


def is_numeric_date(text: str) -> bool:
    """``3/4/1998``: day and month are told apart only by the column's order."""
    return bool(_NUMERIC.fullmatch(text))


def planted(text: str, order: DateOrder, latest: date) -> Planted | None:
    """The planting date with its precision; None for what a spreadsheet writes in place of nothing.

    Two-digit years are the last such year not after ``latest``. Later dates are refused.
    """
    found = _planted(text, order, latest)
    if found.on in _PLACEHOLDERS:
        return None
    if found.on > latest:
        raise ValueError(f"“{text}” lies in the future; a planting date is today or earlier.")
    if found.on.year < _EARLIEST_YEAR:
        raise ValueError(f"“{text}” has a year before {_EARLIEST_YEAR}; {_DATE_HELP}.")
    return found


@lru_cache(maxsize=20_000)
def _planted(text: str, order: DateOrder, latest: date) -> Planted:
    try:
        return _numbers_of(text, order, latest)
    except ValueError as error:
        hint = "the day comes first here" if order is DateOrder.DMY else "the month comes first here"
        detail = f" ({hint})" if _NUMERIC.fullmatch(text) else ""
        raise ValueError(f"“{text}” is not a date{detail}; {_DATE_HELP}.") from error


def _numbers_of(text: str, order: DateOrder, latest: date) -> Planted:
    if found := _YEAR.fullmatch(text.lower()):
        return _day(found[1])
    if found := _ISO.fullmatch(text) or _COMPACT.fullmatch(text):
        return _day(found[1], found[2], found[3])
    if found := _NUMERIC.fullmatch(text):
        day, month = (found[1], found[2]) if order is DateOrder.DMY else (found[2], found[1])
        return _day(_full_year(found[3], latest), month, day)
    if found := _MONTH_YEAR.fullmatch(text):
        return _day(found[2], found[1])
    if _SERIAL.fullmatch(text):
        return Planted(_SPREADSHEET_ZERO + timedelta(days=int(float(text))), "day")
    found = _WORDS.fullmatch(text)
    month_number = _MONTHS.get(found[2][:3].lower()) if found else None
    if found is None or month_number is None:
        raise ValueError
    return _day(_full_year(found[4], latest), month_number, found[1] or found[3])


def _day(year: str | int, month: str | int | None = None, day: str | int | None = None) -> Planted:
    precision = "day" if day else "month" if month else "year"
    return Planted(date(int(year), int(month or 1), int(day or 1)), precision)


def _full_year(text: str, latest: date) -> int:
    if len(text) == 4:
        return int(text)
    year = latest.year - latest.year % 100 + int(text)
    return year if year <= latest.year else year - 100


def year(text: str, latest: date) -> int | None:
    """A planting year; 0 is unknown."""
    value = number(text)
    if value == 0:
        return None
    if not (value.is_integer() and _EARLIEST_YEAR <= value <= latest.year):
        raise ValueError(f"“{text}” is not a year up to {latest.year}; write it with four digits.")
    return int(value)


# ---------------------------------------------------------------- status and condition


class Status(StrEnum):
    ALIVE = "alive"
    DEAD = "dead"
    STUMP = "stump"
    VACANT = "vacant"
    REMOVED = "removed"


_STATUS_WORDS = {
    Status.ALIVE: _set(
        "alive|live|living|standing|standing alive|alive standing|live tree|living tree|existing|existing tree|active"
        "|present|tree|trees|planted|established|healthy|in place|maintained|current"
    ),
    Status.DEAD: _set(
        "dead|dead standing|standing dead|dead tree|dead trees|snag|deceased|died|dead - standing|unknown dead|dead unknown"
    ),
    Status.STUMP: _set(
        "stump|stumps|tree stump|stump only|stump remains|cut to stump|stump - remove|remove stump|stump grind"
        "|stumpf|baumstumpf|souche"
    ),
    Status.VACANT: _set(
        "vacant|vacant site|vacant planting site|planting site|planting space|planting place|plant site|plantable|empty"
        "|empty pit|empty site|empty tree pit|available|available site|open site|no tree|proposed|proposed planting"
        "|potential site|vacant lot|vacancy|vacant space|vacant pit|tree pit|not planted"
    ),
    Status.REMOVED: _set(
        "removed|felled|cut down|gone|tree removed|removed tree|retired|absent|missing|deleted|taken down|inactive"
        "|not present|lost"
    ),
}
_STATUS_OF = {word: status for status, words in _STATUS_WORDS.items() for word in words}
_SITE_START = re.compile(r"(vacant|stumpf?|planting (?:site|space)|empty (?:pit|site|planting|tree))\b")
_SPLIT = re.compile(r"[\s_]+")


@lru_cache(maxsize=5_000)
def status_word(text: str) -> Status | None:
    """What a status or record-type word says; None when it is none of the trade's."""
    plain = _SPLIT.sub(" ", text.lower()).strip(" .,;:()")
    if found := _STATUS_OF.get(plain):
        return found
    return site_word(text)


@lru_cache(maxsize=20_000)
def site_word(text: str) -> Status | None:
    """A stump, a vacant site or a dead or removed tree that stands where a name should: ``Vacant site, large``."""
    plain = _SPLIT.sub(" ", text.lower().partition("::")[0]).strip(" .,;:()")
    found = _STATUS_OF.get(plain)
    if found is not None and found is not Status.ALIVE:
        return found
    start = _SITE_START.match(plain)
    if start is None:
        return None
    return Status.STUMP if start[1].startswith("stump") else Status.VACANT


_CONDITION_WORDS = {
    "good": _set("excellent|very good|good|healthy|vigorous|sound|satisfactory|normal"),
    "fair": _set("fair|moderate|average|medium|reasonable|acceptable|fair-good|good-fair"),
    "poor": _set("poor|bad|declining|in decline|stressed|unhealthy|fair-poor|poor-fair|unsatisfactory"),
    "dying": _set("dying|critical|very poor|severe decline|moribund|almost dead|nearly dead"),
    "dead": _set("dead|dead tree|standing dead|deceased"),
}
_CONDITION_OF = {word: condition for condition, words in _CONDITION_WORDS.items() for word in words}


@lru_cache(maxsize=5_000)
def condition_word(text: str) -> str | None:
    """good, fair, poor, dying or dead; None when the word is none of them."""
    return _CONDITION_OF.get(_SPLIT.sub(" ", text.lower()).replace(" / ", "-").replace("/", "-").strip(" ."))
