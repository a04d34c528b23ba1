"""Which park a row belongs to: by its park column, by the park whose boundary it stands in, or one park for the file."""

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from inventory.importing.rows import Refusal, Row
from inventory.importing.source import FileProblem
from inventory.models import Park

CODE_MAX, NAME_MAX = 12, 120
# A code of fewer signs out of a longer name says too little of it.
TELLING = 6
# A column with more different values than this names no parks.
NEW_PARKS_MAX = 2_000


class Boundaries:
    """The stored park boundaries, asked for many points at once."""

    def __init__(self, parks: Iterable[Park]) -> None:
        from shapely import STRtree
        from shapely.geometry import shape

        bounded = [park for park in parks if park.boundary]
        self._codes = [park.code for park in bounded]
        self._index = STRtree([shape(park.boundary) for park in bounded])

    @classmethod
    def stored(cls) -> "Boundaries":
        return cls(Park.objects.exclude(boundary=None).order_by("code"))

    def codes(self, positions: Sequence[tuple[float, float] | None]) -> list[str]:
        """The code of the park that each point stands in, '' outside of all; the first by code where two overlap."""
        from shapely import points

        placed = [place for place, position in enumerate(positions) if position is not None]
        found = [""] * len(positions)
        if not placed or not self._codes:
            return found
        hits = self._index.query(points([positions[place] for place in placed]), predicate="intersects")
        for point, park in sorted(zip(*hits.tolist(), strict=True), reverse=True):
            found[placed[point]] = self._codes[park]
        return found

    def place(self, rows: Sequence[Row]) -> list[Row]:
        """The rows, those without a park given the one they stand in."""
        codes = self.codes([None if isinstance(row, Refusal) or row.park else row.position for row in rows])
        return [
            replace(row, park=code) if code and not isinstance(row, Refusal) else row
            for row, code in zip(rows, codes, strict=True)
        ]


def code_of(name: str, taken: Iterable[str] = ()) -> str:
    """A park's code from its name, numbered when taken.

    As many whole words as there is room for, ``Staten Island`` → STATEN; where these tell little, each word cut short,
    ``Van Cortlandt Park`` → VAN-COR-PAR.
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().upper()
    words = re.findall(r"[A-Z0-9]+", plain.replace("'", "")) or ["PARK"]
    whole = ("-".join(words[:count]) for count in range(len(words), 0, -1))
    cut = ("-".join(word[:length] for word in words) for length in range(CODE_MAX, 0, -1))
    telling = (code for code in whole if len(code) >= TELLING or code == "-".join(words))
    code = next((code for code in (*telling, *cut) if len(code) <= CODE_MAX), words[0][:CODE_MAX])
    known, number, free = set(taken), 1, code
    while free in known:
        number += 1
        free = f"{code[: CODE_MAX - len(str(number))]}{number}"
    return free


def find(text: str) -> Park | None:
    """A park by its code or its name, in whatever case."""
    return Park.objects.filter(code__iexact=text).first() or Park.objects.filter(name__iexact=text).first()


def find_or_make(text: str) -> tuple[Park, bool]:
    """The park of that code or name, and whether it had to be made."""
    found = find(text)
    if found is not None:
        return found, False
    return Park.objects.create(
        code=code_of(text, Park.objects.values_list("code", flat=True)), name=text[:NAME_MAX]
    ), True


def ids_of(texts: Iterable[str]) -> tuple[dict[str, int], list[Park]]:
    """The ids of parks by the code or name that a file uses, and those that had to be made.

    Raises FileProblem when the column cannot be one of parks.
    """
    known: dict[str, int] = {}
    for park in Park.objects.order_by("code"):
        known.setdefault(park.name.lower(), park.pk)
        known[park.code.lower()] = park.pk
    texts = list(texts)
    new = {text.lower(): text for text in texts if text.lower() not in known}
    if len(new) > NEW_PARKS_MAX:
        raise FileProblem(
            f"The park column has {len(new):,} names that are no parks yet, for example “{next(iter(new.values()))}”: "
            "choose another column."
        )
    made = _make(list(new.values()))
    known |= {park.name.lower(): park.pk for park in made}
    return {text: known[text.lower()] for text in texts}, made


def _make(names: Sequence[str]) -> list[Park]:
    taken = set(Park.objects.values_list("code", flat=True))
    parks: list[Any] = []
    for name in names:
        code = code_of(name, taken)
        taken.add(code)
        parks.append(Park(code=code, name=name))
    return Park.objects.bulk_create(parks)
