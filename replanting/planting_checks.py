"""The checks at planting: what is asked, what was found, and what to do about it before the crew leaves.

Hole two to three times the width of the ball and two to three inches less deep than it, topmost root within two inches of
the surface, mulch two to three inches deep and off the bark (Iowa State University Extension 2011, read); a hole of one and a
half times the ball is the least in Florida (read). Stakes come off after 6 months where it is warm and 12 where it is cool
(University of Florida, read). The root flare at the surface, wrapping taken off and water on the day are common practice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from inventory.units import CM_PER_IN

IOWA, FLORIDA, PRACTICE = "Iowa State Extension 2011", "University of Florida", "common practice"
TOP_ROOT_MOST_CM = 2 * CM_PER_IN
HOLE_WIDTHS, HOLE_WIDTHS_LEAST = 2.0, 1.5
# Two to three inches, as a metric tape reads them.
TWO_TO_THREE_IN_CM = (5.0, 8.0)


@dataclass(frozen=True)
class Check:
    """One question. ``measure``: answered in centimetres up to ``most_cm``; otherwise with yes or no."""

    key: str
    question: str
    source: str
    advice: Callable[[Any, float | None], str]
    measure: bool = False
    most_cm: float = 100.0


@dataclass(frozen=True)
class Finding:
    """A check with its answer: ``advice`` is empty when it holds; ``answer`` is None where nobody looked."""

    check: Check
    answer: bool | float | None
    advice: str

    @property
    def holds(self) -> bool:
        return self.answer is not None and not self.advice


def _unless(wanted: bool, advice: str) -> Callable[[Any, float | None], str]:
    return lambda answer, ball_cm: "" if answer is wanted else advice


def _top_root(cm: float, ball_cm: float | None) -> str:
    if cm <= TOP_ROOT_MOST_CM:
        return ""
    return "The topmost root lies deeper than 2 in (5 cm): take soil off the ball, or lift the tree."


def _hole(cm: float, ball_cm: float | None) -> str:
    if ball_cm is None:
        return "The ball's diameter is not known, so the hole cannot be judged: measure the ball."
    if cm >= HOLE_WIDTHS * ball_cm:
        return ""
    if cm >= HOLE_WIDTHS_LEAST * ball_cm:
        return "The hole holds Florida's 1.5 times the ball, not the 2 to 3 times of Iowa: loosen the soil around it."
    return "The hole is narrower than 1.5 times the ball: widen it."


def _above(cm: float, ball_cm: float | None) -> str:
    low, high = TWO_TO_THREE_IN_CM
    if cm < low:
        return "The ball stands less than 2 in (5 cm) above the ground and will settle below it: lift the tree."
    return "The ball stands more than 3 in (8 cm) out of the ground and dries: set it deeper." if cm > high else ""


def _mulch(cm: float, ball_cm: float | None) -> str:
    low, high = TWO_TO_THREE_IN_CM
    if cm < low:
        return "Less than 2 in (5 cm) of mulch: add some, in a ring of at least 2 to 3 ft."
    return "More than 3 in (8 cm) of mulch: take some off." if cm > high else ""


CHECKS: tuple[Check, ...] = (
    Check(
        "flare",
        "Is the root flare in sight at the surface?",
        PRACTICE,
        _unless(True, "The root flare is buried: find it, and lift the tree until it shows."),
    ),
    Check("top_root", "Depth of the topmost root below the surface", IOWA, _top_root, measure=True),
    Check("hole", "Width of the hole", f"{IOWA}; at least 1.5 in Florida", _hole, measure=True, most_cm=1000.0),
    Check("above", "Height of the ball's top above the ground", IOWA, _above, measure=True),
    Check("mulch", "Depth of the mulch", IOWA, _mulch, measure=True),
    Check(
        "off_bark",
        "Is the mulch off the bark?",
        IOWA,
        _unless(True, "Mulch against the bark rots it: draw it back by a hand's width."),
    ),
    Check(
        "unwrapped",
        "Are wire, string and cloth off the top of the ball, circling roots cut?",
        PRACTICE,
        _unless(True, "Take wire, string and cloth off the upper ball and cut circling roots: they girdle the tree."),
    ),
    Check(
        "staked",
        "Is it staked?",
        FLORIDA,
        _unless(False, "Stakes come off after 6 months where it is warm, 12 where it is cool; the care round reminds."),
    ),
    Check("watered", "Was it watered in?", PRACTICE, _unless(True, "Water it before you leave.")),
)
# That it is staked is no fault, only something to remember.
REMINDERS = frozenset({"staked"})


def review(answers: Mapping[str, Any], ball_cm: float | None) -> Iterator[Finding]:
    """Each check with its answer and the advice that follows; an answer that is missing or of another kind is None."""
    for check in CHECKS:
        answer = _answer(check, answers.get(check.key))
        yield Finding(check, answer, "" if answer is None else check.advice(answer, ball_cm))


def _answer(check: Check, given: Any) -> bool | float | None:
    if check.measure:
        usable = isinstance(given, int | float) and not isinstance(given, bool) and 0 <= given <= check.most_cm
        return float(given) if usable else None
    return given if isinstance(given, bool) else None


def faults(answers: Mapping[str, Any], ball_cm: float | None) -> list[str]:
    """The advice of the checks that do not hold."""
    return [found.advice for found in review(answers, ball_cm) if found.advice and found.check.key not in REMINDERS]
