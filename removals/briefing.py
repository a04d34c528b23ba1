"""The job briefing as data: what a crew goes through on site before the first cut, and who must sign.

The subjects a briefing covers (hazards, procedures, precautions, energy sources, protective equipment) follow 29 CFR
1910.269(c), cited from memory; each item names where its own content comes from. “Common practice” has no source.
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

VERSION = "2"
LEAST_CREW = 2
LEAST_CREW_WITH_LINE = 3
FELLER = "feller"
PULLER = "puller"


class Chapter(StrEnum):
    TREE = "The tree and the plan"
    PEOPLE = "The people"
    PLACE = "The place"
    GEAR = "The gear"
    EMERGENCY = "If it goes wrong"


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to cover; ``with_line``: only when the plan has a pull line."""

    key: str
    chapter: Chapter
    words: str
    source: str
    with_line: bool = False


_COMMON = "common practice"
_SUBJECTS = "29 CFR 1910.269(c), from memory"

ITEMS: tuple[Item, ...] = (
    Item(
        "hazards",
        Chapter.TREE,
        "Hazards of this tree named: dead or hung limbs, decay at the cut, cracks, vines, lean, slope.",
        _SUBJECTS,
    ),
    Item("tree_as_planned", Chapter.TREE, "The tree looked over again on site: it is as the plan says.", _COMMON),
    Item(
        "procedure",
        Chapter.TREE,
        "The plan read out: lay, notch, hinge, back cut, and what the crew does at each cut.",
        "29 CFR 1910.266(h)(2)(v)–(vii)",
    ),
    Item(
        "precautions",
        Chapter.TREE,
        "Special precautions said: what here is different from the last tree, and who may stop the work: anyone.",
        _SUBJECTS,
    ),
    Item(
        "roles",
        Chapter.PEOPLE,
        "Who does what: one feller, nobody saws alone, a sentry where the public may come.",
        _COMMON,
    ),
    Item("signals", Chapter.PEOPLE, "Signals agreed and shown, the stop signal first.", _COMMON),
    Item(
        "ppe",
        Chapter.PEOPLE,
        "Protective equipment on everybody: head, eyes and face, hearing, cut-resistant legs, boots.",
        "29 CFR 1910.266(d)(1)",
    ),
    Item(
        "wires",
        Chapter.PLACE,
        "Wires and other energy sources: none within 1.5 tree heights of the stump, or isolated by their owner.",
        "29 CFR 1910.333(c)(3) for approach distances; 1.5 heights is this program’s bound",
    ),
    Item(
        "drop_zone",
        Chapter.PLACE,
        "Drop zone marked and empty; people who are not in the operation stay outside two tree heights.",
        "Michigan R408.15336; two tree lengths in 29 CFR 1910.266(d)(6)",
    ),
    Item("closures", Chapter.PLACE, "Paths closed and the sentry in place before the saw starts.", _COMMON),
    Item(
        "retreat",
        Chapter.PLACE,
        "Two ways of retreat cleared, diagonally back at 45°, at least 25 ft (7.6 m), never straight behind.",
        "29 CFR 1910.266(h)(2)(i); OAR 437-007-0810(9)",
    ),
    Item(
        "approach",
        Chapter.PLACE,
        "Nobody comes within two tree lengths until the feller says that it is safe.",
        "OSHA directive CPL 02-01-022",
    ),
    Item(
        "weather",
        Chapter.PLACE,
        "Gust measured and below the plan’s stop wind; daylight; no lightning within 30 minutes.",
        "OAR 437-007-0810(2); the stop wind is the plan’s",
    ),
    Item(
        "saw",
        Chapter.GEAR,
        "Saw checked: fuel, chain sharp and tensioned, brake, catcher, throttle interlock, handles, muffler; no drop start.",
        "29 CFR 1910.266(e)(2), from memory",
    ),
    Item(
        "equipment",
        Chapter.GEAR,
        "Equipment looked over and at hand: wedges and hammer, lever, handles whole, spare fuel away from the stump.",
        _COMMON,
    ),
    Item(
        "line",
        Chapter.GEAR,
        "Line, anchor, blocks and winch checked and rated for the plan’s largest pull; the puller stands outside the fall.",
        "common practice; redirect only through a block: WAC 296-54-541",
        with_line=True,
    ),
    Item(
        "emergency_card",
        Chapter.EMERGENCY,
        "Emergency card read out: a phone that works here, the exact place to give, who meets the rescuers where.",
        "29 CFR 1910.266(d)(2) and (i)(7), from memory",
    ),
    Item(
        "first_aid",
        Chapter.EMERGENCY,
        "First-aid and bleeding-control kit within reach; who is trained to use it.",
        "29 CFR 1910.266(d)(2) and (i)(7), from memory",
    ),
    Item(
        "lodged",
        Chapter.EMERGENCY,
        "If it lodges: never left unmarked, two tree lengths clear, nobody works beneath it or fells another onto it.",
        "OAR 437-007-0810",
    ),
)


def checklist(*, pull_line: bool) -> tuple[Item, ...]:
    """The items of a briefing; the line's only when there is one."""
    return tuple(item for item in ITEMS if pull_line or not item.with_line)


def not_covered(checked: Iterable[str], *, pull_line: bool) -> tuple[Item, ...]:
    """The items that are still open."""
    done = set(checked)
    return tuple(item for item in checklist(pull_line=pull_line) if item.key not in done)


def crew_gaps(roles: Sequence[str], *, pull_line: bool) -> tuple[str, ...]:
    """What the crew still lacks, a sentence each: two with a feller, three with a puller on a pull line (common practice).

    The crew lead may also be the feller: each person signs once, in the role that the work depends on.
    """
    count = Counter(roles)
    least = LEAST_CREW_WITH_LINE if pull_line else LEAST_CREW
    gaps = []
    if len(roles) < least:
        why = "with a pull line" if pull_line else "because nobody saws alone"
        gaps.append(f"{least} people must sign {why}; {len(roles) or 'nobody'} did.")
    if not count[FELLER]:
        gaps.append("Nobody signed as feller.")
    if pull_line and not count[PULLER]:
        gaps.append("Nobody signed as puller, and the plan has a pull line.")
    return tuple(gaps)


def unsigned(crew: Sequence[Sequence[str]], signed: Iterable[str]) -> tuple[str, ...]:
    """Who of a named crew has not signed, a sentence each; ``crew``: [name, role] rows."""
    names = {name.casefold() for name in signed}
    return tuple(f"{name} ({role}) has not signed." for name, role in crew if name.casefold() not in names)


def same_crew(one: Iterable[Sequence[str]], other: Iterable[Sequence[str]]) -> bool:
    """The same people in the same roles, in whatever order."""
    return _in_order(one) == _in_order(other)


def signed_digest(plan_digest: str, crew: Sequence[Sequence[str]]) -> str:
    """What a signature carries, 64 hexadecimal digits.

    The plan's digest itself while the order names no crew; with one, SHA-256 over the JSON list of the plan's digest and
    the [name, role] rows in alphabetical order, so that another plan or another crew makes another digest.
    """
    if not crew:
        return plan_digest
    whole = json.dumps([plan_digest, _in_order(crew)], separators=(",", ":"))
    return hashlib.sha256(whole.encode()).hexdigest()


def wind_gap(gust_ms: float, stop_wind_ms: float | None) -> str:
    """Why nobody fells in this wind; empty: the gust is within the plan's printed stop wind (held at 2 m, m/s)."""
    if stop_wind_ms is None:
        return f"A gust of {gust_ms:.1f} m/s was measured, and the plan holds in still air only." if gust_ms > 0 else ""
    if gust_ms <= stop_wind_ms:
        return ""
    return (
        f"A gust of {gust_ms:.1f} m/s was measured, over the plan’s stop wind of {stop_wind_ms:.1f} m/s: "
        "no felling now; wait for less wind, or make a plan that holds in it."
    )


def _in_order(crew: Iterable[Sequence[str]]) -> list[list[str]]:
    return sorted([name, role] for name, role in crew)
