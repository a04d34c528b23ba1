"""A place as one JSON object in, the suggestion out; lengths in metres.

In: ``zone`` (6 or "6a"), ``space_m``, ``overhead_distance_m`` (null when there are no wires), ``light`` (full, part, shade),
``moisture`` (dry, medium, wet, or both ends of a swing as "dry/wet"); and, where there is something to say, ``city_counts``
and ``park_counts`` (trees by botanical name), ``watch`` (pests), ``ph``, ``salt`` (low, medium, high), ``view_height_m``,
``stock`` (trees on hand by botanical name), ``size_wanted``, ``shade_wanted``, ``wires_rule``, ``space_rule`` and
``height_compared``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from inventory.importing import names
from replanting.companions import companions
from replanting.diversity import Mix, Taxon, mix
from replanting.fit import DEGREES, HEIGHTS, LIGHTS, MOISTURES, SPACE_RULES, Rules, Site, Traits
from replanting.palette import SIZES, Request, Suggestion, Verdict, Wishes
from replanting.pests import codes_of
from replanting.wires import WIRE_RULES

REQUIRED = ("zone", "space_m", "overhead_distance_m", "light", "moisture")
LENGTH_MOST_M = 1000
TREES_MOST = 1_000_000_000


def request_from_json(data: Any, taxa: Sequence[Traits]) -> Request | list[str]:
    """The request, or one sentence for each field that is missing or impossible."""
    if not isinstance(data, dict):
        return ["Write one JSON object with the site's fields."]
    problems = [f"{key}: write it; it is missing." for key in REQUIRED if key not in data]
    problems += [f"{key}: is not a field of a site; remove it." for key in data if key not in READERS]
    known: dict[str, Any] = {}
    for key in data.keys() & READERS.keys():
        try:
            known[key] = READERS[key](data[key])
        except ValueError as problem:
            problems.append(f"{key}: {problem}")
    return sorted(problems) if problems else _request(known, taxa)


def _request(known: Mapping[str, Any], taxa: Sequence[Traits]) -> Request:
    site = Site(
        zone=known["zone"],
        space_m=known["space_m"],
        wires_m=known["overhead_distance_m"],
        light=known["light"],
        moisture=known["moisture"],
        ph=known.get("ph"),
        salt=known.get("salt", ""),
        view_m=known.get("view_height_m"),
    )
    rules = Rules(
        wires=WIRE_RULES[known.get("wires_rule", Rules.wires.key)],
        space=SPACE_RULES[known.get("space_rule", Rules.space.key)],
        height=known.get("height_compared", Rules.height),
    )
    park = known.get("park_counts")
    return Request(
        site=site,
        city=stand(known.get("city_counts", {}), taxa),
        park=None if park is None else stand(park, taxa),
        watched=known.get("watch", frozenset()),
        wishes=Wishes(known.get("size_wanted", ""), known.get("shade_wanted", False)),
        rules=rules,
        stock=on_hand(known["stock"], taxa) if "stock" in known else None,
    )


def stand(counts: Mapping[str, int], taxa: Iterable[Traits]) -> Mix:
    """A stand from names as people write them; a taxon outside the palette counts by its genus, and in every total."""
    palette = list(taxa)
    by_key = {names.key(taxon.botanical): Taxon(taxon.botanical, taxon.genus, taxon.family) for taxon in palette}
    family_of = {taxon.genus: taxon.family for taxon in palette}
    found: dict[Taxon, int] = {}
    for written, number in counts.items():
        name = names.parse(written) or names.Name(common=written)
        taxon = by_key.get(name.key) or Taxon(str(name.botanical or written), name.genus, family_of.get(name.genus, ""))
        found[taxon] = found.get(taxon, 0) + number
    return mix(found)


def on_hand(counts: Mapping[str, int], taxa: Iterable[Traits]) -> dict[str, int]:
    """Botanical name of the palette → trees, from names as people write them; what the palette lacks is left out."""
    by_key = {names.key(taxon.botanical): taxon.botanical for taxon in taxa}
    found: dict[str, int] = {}
    for written, number in counts.items():
        name = names.parse(written)
        if name and (botanical := by_key.get(name.key)):
            found[botanical] = found.get(botanical, 0) + number
    return found


def suggestion_to_json(request: Request, found: Suggestion) -> dict[str, Any]:
    """``companions`` comes along only where no tree of the palette may stand."""
    out: dict[str, Any] = {
        "accepted": [_accepted(verdict) for verdict in found.accepted],
        "excluded": [
            {"botanical": verdict.taxon.botanical, "reason": "; ".join(verdict.against)} for verdict in found.excluded
        ],
    }
    if not found.accepted:
        here = companions(request.site.light, request.site.moisture)
        out["companions"] = [plant for place in here for plant in place.plants]
    return out


def _accepted(verdict: Verdict) -> dict[str, Any]:
    reasons = [str(part) for part in verdict.parts]
    return {"botanical": verdict.taxon.botanical, "score": verdict.score, "reasons": reasons}


def _zone(value: Any) -> int:
    found = re.fullmatch(r"(\d{1,2})[ab]?", str(value).strip().lower())
    if isinstance(value, (bool, float)) or not found or not 1 <= int(found[1]) <= 13:
        raise ValueError(f'write the USDA hardiness zone, 1 to 13, for example 6 or "6a"; this is {_shown(value)}.')
    return int(found[1])


def _number(low: float, high: float, what: str) -> Callable[[Any], float]:
    def read(value: Any) -> float:
        number = isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
        if not number or not low <= value <= high:
            raise ValueError(f"write {what} as a number from {low:g} to {high:g}; this is {_shown(value)}.")
        return float(value)

    return read


def _word(words: Sequence[str]) -> Callable[[Any], str]:
    def read(value: Any) -> str:
        if value not in words:
            raise ValueError(f"write one of {', '.join(words)}; this is {_shown(value)}.")
        return str(value)

    return read


def _wires(value: Any) -> float:
    return math.inf if value is None else _number(0, LENGTH_MOST_M, "metres, or null when there are no wires,")(value)


def _moisture(value: Any) -> tuple[str, ...]:
    words = tuple(value.split("/")) if isinstance(value, str) else ()
    if not words or not set(words) <= set(MOISTURES):
        raise ValueError(f"write one of {', '.join(MOISTURES)}, or a swing as dry/wet; this is {_shown(value)}.")
    return words


def _counts(value: Any) -> dict[str, int]:
    if not isinstance(value, dict):
        raise ValueError(f"write an object of botanical names and numbers of trees; this is {_shown(value)}.")
    for name, number in value.items():
        whole = isinstance(number, int) and not isinstance(number, bool)
        if not name.strip() or not whole or not 0 <= number <= TREES_MOST:
            raise ValueError(f"“{name}” needs a whole number of trees, 0 or more; this is {_shown(number)}.")
    return value


def _watch(value: Any) -> frozenset[str]:
    if not isinstance(value, list) or not all(isinstance(pest, str) for pest in value):
        raise ValueError(f'write a list of pests, for example ["EAB"]; this is {_shown(value)}.')
    return frozenset().union(*(codes_of(pest) for pest in value))


def _yes(value: Any) -> bool:
    if not isinstance(value, bool):
        raise ValueError(f"write true or false; this is {_shown(value)}.")
    return value


def _shown(value: Any) -> str:
    text = str(value)
    return f"“{text[:40]}…”" if len(text) > 40 else f"“{text}”"


_METRES = _number(0, LENGTH_MOST_M, "metres")
READERS: dict[str, Callable[[Any], Any]] = {
    "zone": _zone,
    "space_m": _METRES,
    "overhead_distance_m": _wires,
    "light": _word(LIGHTS),
    "moisture": _moisture,
    "city_counts": _counts,
    "park_counts": _counts,
    "stock": _counts,
    "watch": _watch,
    "ph": _number(0, 14, "the pH"),
    "salt": _word(DEGREES),
    "view_height_m": _METRES,
    "size_wanted": _word(SIZES),
    "shade_wanted": _yes,
    "wires_rule": _word(tuple(WIRE_RULES)),
    "space_rule": _word(tuple(SPACE_RULES)),
    "height_compared": _word(HEIGHTS),
}
