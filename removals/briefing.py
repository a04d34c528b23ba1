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

from removals.bounds import METHOD_BOUNDS
from removals.methods import NOT_FELLED, Method

VERSION = "3"
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
    """One thing to cover; ``with_line``: only when a pull line is used; ``methods``: only with these, empty: with all."""

    key: str
    chapter: Chapter
    words: str
    source: str
    with_line: bool = False
    methods: frozenset[str] = frozenset()

    def applies(self, pull_line: bool, method: str) -> bool:
        return (pull_line or not self.with_line) and (not self.methods or method in self.methods)


# Without a chosen method the tree is felled by its plan.
_FELLED = frozenset({"", *Method} - NOT_FELLED)
_ALOFT = frozenset({Method.CLIMBED, Method.LIFT})
_HOISTED = frozenset({Method.LIFT, Method.CRANE})
_PIECES = _ALOFT | _HOISTED
_PLANT = _HOISTED | {Method.MACHINE}
_Z133 = "ANSI Z133, from memory"
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
        methods=_FELLED,
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
        methods=_FELLED,
    ),
    Item(
        "drop_zone",
        Chapter.PLACE,
        "Drop zone marked and empty; people who are not in the operation stay outside two tree heights.",
        "Michigan R408.15336; two tree lengths in 29 CFR 1910.266(d)(6)",
        methods=_FELLED,
    ),
    Item("closures", Chapter.PLACE, "Paths closed and the sentry in place before the saw starts.", _COMMON),
    Item(
        "retreat",
        Chapter.PLACE,
        "Two ways of retreat cleared, diagonally back at 45°, at least 25 ft (7.6 m), never straight behind.",
        "29 CFR 1910.266(h)(2)(i); OAR 437-007-0810(9)",
        methods=_FELLED,
    ),
    Item(
        "approach",
        Chapter.PLACE,
        "Nobody comes within two tree lengths until the feller says that it is safe.",
        "OSHA directive CPL 02-01-022",
        methods=_FELLED,
    ),
    Item(
        "weather",
        Chapter.PLACE,
        "Gust measured and below the plan’s stop wind; daylight; no lightning within 30 minutes.",
        "OAR 437-007-0810(2); the stop wind is the plan’s",
        methods=_FELLED,
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
        methods=_FELLED,
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
        methods=_FELLED,
    ),
    Item(
        "method",
        Chapter.TREE,
        "The method read out: how the tree is taken down, in which order, who does what at each piece; no notch, no hinge.",
        f"{_SUBJECTS}; {_COMMON}",
        methods=NOT_FELLED,
    ),
    Item(
        "approach_distance",
        Chapter.PLACE,
        "Wires named with their voltage, and the least distance that body, tool, rope, piece and boom keep; nearer than "
        "that nobody works until their owner has isolated them.",
        "29 CFR 1910.333(c)(3); ANSI Z133, from memory",
        methods=NOT_FELLED,
    ),
    Item(
        "wind",
        Chapter.PLACE,
        f"Gust measured and within {METHOD_BOUNDS.gust_ms.high:g} m/s, or within the maker’s limit of lift, crane or "
        "machine where that is lower; daylight; no lightning within 30 minutes.",
        "common practice; the cap is this program’s",
        methods=NOT_FELLED,
    ),
    Item(
        "piece_zone",
        Chapter.PLACE,
        "Drop zone for the pieces marked and empty; who calls is named, and nobody enters before both sides have answered.",
        _Z133,
        methods=_PIECES,
    ),
    Item(
        "exclusion_zone",
        Chapter.PLACE,
        "Exclusion zone of two tree heights around tree and machine marked and empty until the operator says so.",
        _COMMON,
        methods=frozenset({Method.MACHINE}),
    ),
    Item(
        "rigging",
        Chapter.GEAR,
        "Anchor and rigging checked: the stem sound enough for the load of a piece, ropes, slings and blocks rated for it.",
        _Z133,
        methods=_ALOFT,
    ),
    Item(
        "second_line",
        Chapter.GEAR,
        "Climber tied in, with a second line or lanyard whenever a saw is used aloft.",
        _Z133,
        methods=frozenset({Method.CLIMBED}),
    ),
    Item(
        "ground_bearing",
        Chapter.GEAR,
        "Outriggers out and on mats, the ground bears them, away from pits and edges; set up level.",
        _COMMON,
        methods=_HOISTED,
    ),
    Item(
        "load_chart",
        Chapter.GEAR,
        "Load chart read: what the platform or the hook carries at this reach, the piece weighed at its heavy end.",
        _Z133,
        methods=_HOISTED,
    ),
    Item(
        "tag_line",
        Chapter.GEAR,
        "Tag line on each piece that is lowered or lifted; nobody under a load.",
        _COMMON,
        methods=_HOISTED,
    ),
    Item(
        "signaller",
        Chapter.PEOPLE,
        "One signaller, named and in the operator’s sight; anybody may give the stop signal.",
        _COMMON,
        methods=_HOISTED,
    ),
    Item(
        "operator",
        Chapter.PEOPLE,
        "The operator’s ticket for this machine seen, valid today.",
        _COMMON,
        methods=_PLANT,
    ),
    Item(
        "rescue",
        Chapter.EMERGENCY,
        "Rescue plan said: who is trained to bring the climber down, on the ground with gear ready while anybody is aloft.",
        _Z133,
        methods=frozenset({Method.CLIMBED}),
    ),
    Item(
        "lowering",
        Chapter.EMERGENCY,
        "Who on the ground can lower the platform; the emergency lowering was tried today.",
        _COMMON,
        methods=frozenset({Method.LIFT}),
    ),
)


def checklist(*, pull_line: bool, method: str = "") -> tuple[Item, ...]:
    """The items of a briefing for the chosen method (empty: felled by the plan); the line's only when one is used."""
    return tuple(item for item in ITEMS if item.applies(pull_line, method))


def not_covered(checked: Iterable[str], *, pull_line: bool, method: str = "") -> tuple[Item, ...]:
    """The items that are still open."""
    done = set(checked)
    return tuple(item for item in checklist(pull_line=pull_line, method=method) if item.key not in done)


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


def signed_digest(plan_digest: str, crew: Sequence[Sequence[str]], method: str = "") -> str:
    """What a signature carries, 64 hexadecimal digits.

    The plan's digest itself while the order names no crew and no method; else SHA-256 over the JSON list of the plan's
    digest, the [name, role] rows in alphabetical order and the method if one is chosen: another plan, another crew or
    another method makes another digest.
    """
    if not crew and not method:
        return plan_digest
    parts = [plan_digest, _in_order(crew), *([method] if method else [])]
    whole = json.dumps(parts, separators=(",", ":"))
    return hashlib.sha256(whole.encode()).hexdigest()


def wind_gap(gust_ms: float, stop_wind_ms: float | None, *, felled: bool = True) -> str:
    """Why nobody works in this wind; empty: the gust is within the stop wind (held at 2 m, m/s).

    The stop wind is the plan's printed one for a tree that is ``felled`` by it, else the cap.
    """
    if stop_wind_ms is None:
        return f"A gust of {gust_ms:.1f} m/s was measured, and the plan holds in still air only." if gust_ms > 0 else ""
    if gust_ms <= stop_wind_ms:
        return ""
    if not felled:
        return (
            f"A gust of {gust_ms:.1f} m/s was measured, over {stop_wind_ms:.1f} m/s, the most in which a tree is taken "
            "down: no work now; wait for less wind."
        )
    return (
        f"A gust of {gust_ms:.1f} m/s was measured, over the plan’s stop wind of {stop_wind_ms:.1f} m/s: "
        "no felling now; wait for less wind, or make a plan that holds in it."
    )


def _in_order(crew: Iterable[Sequence[str]]) -> list[list[str]]:
    return sorted([name, role] for name, role in crew)
