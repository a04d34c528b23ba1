"""Who a crew needs, and which tickets must hold on the day of the work.

Two people because nobody saws alone, three with a pull line (common practice). Which competence a machine, a crane or a
climb asks for is common practice too; a city's own rules and its insurer's come first. A ticket holds to the end of the
day that it names.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from removals.briefing import FELLER, LEAST_CREW, LEAST_CREW_WITH_LINE, PULLER
from removals.methods import Method

CLIMBER = "climber"
OPERATOR = "operator"
SOON_DAYS = 60
"""A ticket that ends within so many days is shown as ending soon: a default of this program."""

_BY_METHOD = {
    Method.CLIMBED: CLIMBER,
    Method.LIFT: OPERATOR,
    Method.CRANE: OPERATOR,
    Method.MACHINE: OPERATOR,
}


@dataclass(frozen=True, slots=True)
class Member:
    """One person's place in a crew. ``tickets``: the day on which each kind ends."""

    name: str
    role: str
    tickets: dict[str, dt.date] = field(default_factory=dict)
    first_aid_until: dt.date | None = None

    def holds(self, kind: str, on: dt.date) -> bool:
        return kind in self.tickets and self.tickets[kind] >= on


def tickets_needed(method: str, *, winch: bool) -> dict[str, str]:
    """Beside the feller's: the kinds that somebody in the crew must hold, each with what asks for it."""
    needed = {OPERATOR: "the winch"} if winch else {}
    for known, kind in _BY_METHOD.items():
        if known == method:
            needed[kind] = f"a tree {known}"
    return needed


def crew_gaps(
    crew: Sequence[Member], on: dt.date, *, pull_line: bool, needed: dict[str, str] | None = None
) -> tuple[str, ...]:
    """What the crew lacks on the day ``on``, a sentence each; ``needed`` as from `tickets_needed`."""
    if not crew:
        return ("No crew has been named for this order.",)
    return (
        *_places(crew, pull_line),
        *_feller_tickets(crew, on),
        *(_nobody_holds(crew, kind, why, on) for kind, why in (needed or {}).items() if not _held(crew, kind, on)),
    )


def _places(crew: Sequence[Member], pull_line: bool) -> Iterator[str]:
    roles = Counter(member.role for member in crew)
    least = LEAST_CREW_WITH_LINE if pull_line else LEAST_CREW
    if len(crew) < least:
        why = "a pull line needs" if pull_line else "nobody saws alone: it needs"
        yield f"The crew counts {len(crew)}, and {why} {least}."
    if not roles[FELLER]:
        yield "Nobody in the crew is named as feller."
    if pull_line and not roles[PULLER]:
        yield "Nobody in the crew is named as puller, and the plan has a pull line."


def _feller_tickets(crew: Sequence[Member], on: dt.date) -> Iterator[str]:
    for member in crew:
        if member.role == FELLER and not member.holds(FELLER, on):
            yield f"{member.name} is named as feller, but {_lacks(member, FELLER, on)}."


def _held(crew: Sequence[Member], kind: str, on: dt.date) -> bool:
    return any(member.holds(kind, on) for member in crew)


def _nobody_holds(crew: Sequence[Member], kind: str, why: str, on: dt.date) -> str:
    late = [f"{member.name}: {_lacks(member, kind, on)}" for member in crew if kind in member.tickets]
    words = f"Nobody in the crew holds {_a(kind)} ticket on {_day(on)}, and {why} needs one"
    return f"{words} ({'; '.join(late)})." if late else f"{words}."


def _lacks(member: Member, kind: str, on: dt.date) -> str:
    if kind not in member.tickets:
        return f"has no {kind} ticket"
    return f"the {kind} ticket ends on {_day(member.tickets[kind])}, before the work on {_day(on)}"


def crew_notices(crew: Sequence[Member], on: dt.date) -> tuple[str, ...]:
    """What does not stop the work on the day ``on`` but should be known: what ends soon, and nobody trained in first aid."""
    soon = on + dt.timedelta(days=SOON_DAYS)
    ending = [
        f"{member.name}: the {kind} ticket ends soon, on {_day(ends)}."
        for member in crew
        for kind, ends in sorted(member.tickets.items())
        if on <= ends <= soon
    ]
    trained = any(member.first_aid_until and member.first_aid_until >= on for member in crew)
    if crew and not trained:
        ending.append(f"Nobody in the crew has first-aid training that is valid on {_day(on)}.")
    return tuple(ending)


def _a(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


def _day(day: dt.date) -> str:
    return f"{day:%-d %b %Y}"
