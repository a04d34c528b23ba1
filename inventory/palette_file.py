"""The palette file read: one taxon a row, as the fields of ``Species``.

The columns are named for the fields; ``checked`` speaks to the reader of the file only. Lines that begin with # say where
the figures come from. Lists are parted by "/" (light, moisture) or ";" (pests).
"""

import csv
from collections.abc import Callable, Iterable
from typing import Any

SIZES = ("small", "medium", "large")
DEGREES = ("low", "medium", "high")


class PaletteProblem(ValueError):
    """A row that cannot be taken; the message names the taxon, the column and what would be right."""


def _word(*words: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        if text not in words:
            raise ValueError(f"write one of {', '.join(words)}")
        return text

    return read


def _words(mark: str, *words: str) -> Callable[[str], list[str]]:
    def read(text: str) -> list[str]:
        found = [part for part in text.split(mark) if part]
        if words and not set(found) <= set(words):
            raise ValueError(f"write some of {', '.join(words)}, parted by {mark}")
        return found

    return read


def _name(text: str) -> str:
    if not text:
        raise ValueError("a name is missing")
    return text


COLUMNS: dict[str, Callable[[str], Any]] = {
    "botanical": _name,
    "common": _name,
    "genus": _name,
    "family": _name,
    "zone_min": int,
    "zone_max": int,
    "height_min_m": float,
    "height_max_m": float,
    "spread_min_m": float,
    "spread_max_m": float,
    "size_class": _word(*SIZES),
    "growth": _word("slow", "medium", "fast"),
    "light": _words("/", "full", "part", "shade"),
    "moisture": _words("/", "dry", "medium", "wet"),
    "flood_tolerance": _word(*DEGREES),
    "drought_tolerance": _word(*DEGREES),
    "ph_min": float,
    "ph_max": float,
    "salt_tolerance": _word(*DEGREES),
    "leaf": _word("deciduous", "evergreen"),
    "porosity": _word("ring", "semi-ring", "diffuse", "conifer"),
    "jenkins_group": _name,
    "pests": _words(";"),
    "flag": str,
}


def read_palette(lines: Iterable[str]) -> list[dict[str, Any]]:
    """The taxa of a palette file, each as field name → value; lengths in metres.

    Raises PaletteProblem for a missing column or a value that is not one.
    """
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    missing = set(COLUMNS) - set(rows.fieldnames or ())
    if missing:
        raise PaletteProblem(f"The palette lacks the columns {', '.join(sorted(missing))}.")
    return [_taxon(row) for row in rows]


def _taxon(row: dict[str, str]) -> dict[str, Any]:
    taxon = {}
    for column, read in COLUMNS.items():
        text = (row[column] or "").strip()
        try:
            taxon[column] = read(text)
        except ValueError as error:
            raise PaletteProblem(f"{row['botanical']}, {column} “{text}”: {error}.") from error
    return taxon
