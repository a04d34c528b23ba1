"""The emergency card: what a crew must be able to say and reach before the first cut, confirmed on site.

After 29 CFR 1910.266(d)(2) (first-aid kits) and (i)(7) (first-aid training), cited from memory; the rest is common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

LONGEST = 200


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the card; ``missing`` says what to do when it is empty."""

    key: str
    label: str
    hint: str
    missing: str


LINES: tuple[Line, ...] = (
    Line(
        "phone", "Phone that works here", "Whose, its number, and where it has signal: a call was tried.", "Try a call."
    ),
    Line("address", "Address to give", "As a dispatcher finds it.", "Find an address that a dispatcher can find."),
    Line("position", "Coordinates to give", "Latitude, longitude.", "Take the position on site."),
    Line("access", "Way in", "Gate, road, and who meets the rescuers where.", "Agree on who meets the rescuers where."),
    Line("hospital", "Nearest hospital", "Its name and how far it is.", "Find out the nearest hospital."),
    Line("kit", "First-aid and bleeding-control kit", "Where it lies now.", "Put the kit within reach."),
    Line("trained", "Who is trained to use it", "By name.", "Without somebody trained in first aid nobody fells."),
)


def gaps(card: Mapping[str, str]) -> tuple[str, ...]:
    """The lines that are still empty, a sentence each."""
    return tuple(
        f"The emergency card lacks “{line.label}”: {line.missing}"
        for line in LINES
        if not card.get(line.key, "").strip()
    )


def kept(card: Mapping[str, str]) -> dict[str, str]:
    """The card's own lines, without idle spaces."""
    return {line.key: " ".join(card.get(line.key, "").split())[:LONGEST] for line in LINES}
