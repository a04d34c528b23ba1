"""Signals that a crew agrees on before the first cut: one meaning each, the stop signal among them.

The table below is where a crew begins (common practice, no source); what it agreed on site is what is kept.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

STOP = "stop"


class SignalKind(StrEnum):
    VOICE = "voice"
    HAND = "hand"
    WHISTLE = "whistle"


@dataclass(frozen=True, slots=True)
class Signal:
    kind: str
    signal: str
    meaning: str

    def row(self) -> list[str]:
        return [self.kind, self.signal, self.meaning]


COMMON_PRACTICE: tuple[Signal, ...] = (
    Signal(SignalKind.VOICE, "“Stop!”, by anybody", "Stop at once: saw idle, line slack"),
    Signal(SignalKind.HAND, "Both arms crossed above the head", "Stop at once"),
    Signal(SignalKind.WHISTLE, "One long blast", "Stop at once"),
    Signal(SignalKind.VOICE, "“Stand clear!”, answered “Clear!”", "The back cut begins"),
    Signal(SignalKind.HAND, "Arm raised, palm forward", "Wait where you are"),
    Signal(SignalKind.HAND, "Arm swung in a circle", "Take up the line and pull"),
    Signal(SignalKind.WHISTLE, "Two short blasts", "The feller is away: pull"),
    Signal(SignalKind.VOICE, "“All clear!”, by the feller", "Down and safe to walk up to"),
    Signal(SignalKind.WHISTLE, "Short blasts without end", "Somebody is hurt: kit and call"),
)


def gaps(rows: Sequence[Signal]) -> tuple[str, ...]:
    """What is wrong with a table of signals, a sentence each."""
    return tuple(_gaps(rows))


def _gaps(rows: Sequence[Signal]) -> Iterator[str]:
    kinds = ", ".join(SignalKind)
    for row in rows:
        if row.kind not in list(SignalKind):
            yield f"“{row.kind}” is no kind of signal; use {kinds}."
        elif not (row.signal.strip() and row.meaning.strip()):
            yield "A signal needs both: how it is given, and what it means."
    if not any(STOP in row.meaning.casefold() for row in rows):
        yield "No signal means stop: agree on one first."
    yield from _ambiguous(rows)


def _ambiguous(rows: Sequence[Signal]) -> Iterator[str]:
    seen: dict[tuple[str, str], str] = {}
    for row in rows:
        known = seen.setdefault((row.kind, row.signal.strip().casefold()), row.meaning)
        if known != row.meaning:
            yield f"“{row.signal}” has two meanings: a signal means one thing."
