"""The job briefing as data: what a crew goes through on site before the first cut, and who must sign.

The subjects a briefing covers (hazards, procedures, precautions, energy sources, protective equipment) follow 29 CFR
1910.269(c), cited from memory; each item names where its own content comes from. “Common practice” has no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

VERSION = "1"
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
