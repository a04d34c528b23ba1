"""Ways to lower the rating of one assessment: what would change, the rating that it would leave, which one is advised."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

from hazards.matrix import Consequences, Failure, Impact, Rated, Rating, rate

REMOVE, PRUNE, CABLE_OR_BRACE = "remove", "prune", "cable or brace"
MOVE_TARGET, MONITOR, ADVANCED = "move or close the target", "monitor", "advanced assessment"
MITIGATIONS = (REMOVE, PRUNE, CABLE_OR_BRACE, MOVE_TARGET, MONITOR, ADVANCED)
# To look more often or more closely changes nothing about the tree or what it would hit.
LEAVES_AS_IT_IS = (MONITOR, ADVANCED)
OPTIONS_MAX = 6
NOTE_MAX = 200


class Picked(Protocol):
    """The three picks of the assessment as it stands today."""

    @property
    def failure(self) -> Failure: ...
    @property
    def impact(self) -> Impact: ...
    @property
    def consequences(self) -> Consequences: ...
    @property
    def rated(self) -> Rated: ...


@dataclass(frozen=True)
class OptionPick:
    """``mitigation``: the trade's word. What changes of the three picks, None: as now; or the rating alone, as it was judged."""

    mitigation: str
    residual_rating: str = ""
    failure: Failure | None = None
    impact: Impact | None = None
    consequences: Consequences | None = None
    note: str = ""
    chosen: bool = False

    @property
    def says_what_changes(self) -> bool:
        return any(pick is not None for pick in (self.failure, self.impact, self.consequences))


@dataclass(frozen=True)
class Residual:
    """The picks after the work, with what both tables make of them."""

    failure: Failure
    impact: Impact
    consequences: Consequences
    rated: Rated


def residual_of(option: OptionPick, now: Picked) -> Residual | None:
    """Through both tables with what the option changes; None where it was not said what changes."""
    if not option.says_what_changes:
        return None
    failure, impact = option.failure or now.failure, option.impact or now.impact
    consequences = option.consequences or now.consequences
    return Residual(failure, impact, consequences, rate(failure, impact, consequences))


def faults_of_options(options: Sequence[OptionPick], now: Picked) -> Iterator[str]:
    """A sentence for each thing that is wrong with the options of one assessment."""
    if len(options) > OPTIONS_MAX:
        yield f"{len(options)} options are too many; keep the {OPTIONS_MAX} that are worth a choice."
    advised = sum(option.chosen for option in options)
    if options and advised != 1:
        yield f"{'No' if not advised else 'More than one'} option is advised; advise one of them."
    for option in options:
        yield from _faults_of(option, now)


def _faults_of(option: OptionPick, now: Picked) -> Iterator[str]:
    if option.mitigation not in MITIGATIONS:
        yield f"“{option.mitigation}” is not a mitigation; it is one of {', '.join(MITIGATIONS)}."
        return
    if option.residual_rating and option.residual_rating not in {rating.value for rating in Rating}:
        yield (
            f"“{option.residual_rating}” is not a rating; it is one of {', '.join(rating.value for rating in Rating)}."
        )
        return
    if len(option.note) > NOTE_MAX:
        yield f"The note on “{option.mitigation}” has {len(option.note)} characters; keep it to {NOTE_MAX}."
    yield from _faults_of_what_changes(option, now)
    after = residual_of(option, now)
    if after and option.residual_rating not in {"", after.rated.rating.value}:
        yield (
            f"The picks after “{option.mitigation}” lead to {after.rated.rating.value}, not {option.residual_rating}; "
            f"leave the rating to the tables."
        )
    elif option.residual_rating and Rating(option.residual_rating).rank > now.rated.rating.rank:
        yield (
            f"The residual rating {option.residual_rating} is above the present {now.rated.rating.value}; "
            f"a mitigation does not raise a rating."
        )


def _faults_of_what_changes(option: OptionPick, now: Picked) -> Iterator[str]:
    pairs = ((option.failure, now.failure), (option.impact, now.impact), (option.consequences, now.consequences))
    for after, before in pairs:
        if after is None:
            continue
        if after.rank > before.rank:
            yield (
                f"“{after.value}” after “{option.mitigation}” is worse than “{before.value}” now; "
                f"a mitigation makes nothing worse."
            )
        elif after.rank < before.rank and option.mitigation in LEAVES_AS_IT_IS:
            yield f"“{option.mitigation.capitalize()}” changes nothing by itself; leave the picks as they are now."
            return
