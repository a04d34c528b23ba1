"""What an inspector reports of one look at one tree, and what such a report must satisfy to be stored."""

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass
from uuid import UUID

from hazards.impact import Direction, Fall, Suggestion, suggest
from hazards.matrix import Consequences, Exposure, Failure, Impact, Occupancy, Rated, rate, suggest_impact
from hazards.models import Inspection, InspectionLevel, Part, Target
from hazards.options import OptionPick, faults_of_options
from inventory.bounds import DBH_MAX_CM, DBH_MIN_CM, HEIGHT_MAX_M, HEIGHT_MIN_M, SPREAD_MAX_M
from inventory.models import Condition, Tree
from inventory.steps import CLOCK_GRACE, EARLIEST

DISTANCE_MAX_M = 200.0


@dataclass(frozen=True)
class AssessmentPick:
    """One failure mode against one target: the inspector's picks.

    ``failure_mode`` says how the part would fail (``splitting at the included bark``). ``impact`` may differ from the
    suggestion when ``impact_reason`` says why. ``occupancy`` is the use on the day when it is not the target's usual one.
    ``options`` are the ways to lower the rating; ``mitigation`` and ``residual_rating``, words of ``Mitigation`` and
    ``Rating``, are short for the one option that is advised.
    """

    part: str
    failure_mode: str
    target: Target
    exposure: Exposure
    failure: Failure
    impact: Impact
    consequences: Consequences
    distance_m: float | None = None
    time_frame_years: int = 1
    impact_reason: str = ""
    mitigation: str = ""
    residual_rating: str = ""
    options: tuple[OptionPick, ...] = ()
    direction: Direction | None = None
    occupancy: Occupancy | None = None
    id: UUID | None = None

    @property
    def use(self) -> Occupancy:
        return self.occupancy or Occupancy(self.target.occupancy)

    @property
    def suggested_impact(self) -> Impact:
        """By the published table alone; with the tree at hand there is ``InspectionReport.suggestion``."""
        return suggest_impact(self.use, self.exposure)

    @property
    def every_option(self) -> tuple[OptionPick, ...]:
        if self.options or not self.mitigation:
            return self.options
        return (OptionPick(self.mitigation, self.residual_rating, chosen=True),)

    @property
    def advised(self) -> OptionPick | None:
        return next((option for option in self.every_option if option.chosen), None)

    @property
    def rated(self) -> Rated:
        return rate(self.failure, self.impact, self.consequences)


@dataclass(frozen=True)
class DefectFound:
    part: str
    kind: str
    value: float | None = None
    unit: str = ""
    note: str = ""
    id: UUID | None = None


@dataclass(frozen=True)
class InspectionReport:
    """One look at one tree. ``id`` is made where the report is made, so that sending it twice stores it once;
    ``observed_at`` carries its time zone; ``supersedes`` is the inspection that this one corrects."""

    tree: Tree
    level: int
    observed_at: dt.datetime
    condition: str
    dieback_pct: int | None = None
    dbh_cm: float | None = None
    height_m: float | None = None
    crown_spread_m: float | None = None
    note: str = ""
    supersedes: Inspection | None = None
    id: UUID | None = None
    assessments: tuple[AssessmentPick, ...] = ()
    defects: tuple[DefectFound, ...] = ()

    def suggestion(self, pick: AssessmentPick) -> Suggestion:
        """Of the likelihood of impact, with the tree as this look found it."""
        height_m = self.tree.height_m if self.height_m is None else self.height_m
        scatters = scatters_when_it_falls(self.tree, self.condition)
        return suggest(Fall(pick.use, pick.exposure, pick.distance_m, height_m, scatters, pick.direction))


def scatters_when_it_falls(tree: Tree, condition: str = "") -> bool:
    """Dead, by the tree's state or what was seen now, or of a weak-wooded species."""
    return tree.is_dead or condition == Condition.DEAD or (tree.species is not None and tree.species.weak_wooded)


def _within(value: float | None, low: float, high: float) -> bool:
    """Empty or within the bounds; a value that is not a number is neither."""
    return value is None or low <= value <= high


def _faults_of_measures(report: InspectionReport) -> Iterator[str]:
    if not _within(report.dbh_cm, DBH_MIN_CM, DBH_MAX_CM):
        yield f"A diameter of {report.dbh_cm:g} cm is out of bounds; it is {DBH_MIN_CM:g} to {DBH_MAX_CM:g} cm."
    if not _within(report.height_m, HEIGHT_MIN_M, HEIGHT_MAX_M):
        yield f"A height of {report.height_m:g} m is out of bounds; it is {HEIGHT_MIN_M:g} to {HEIGHT_MAX_M:g} m."
    if not _within(report.crown_spread_m, 0, SPREAD_MAX_M):
        yield f"A crown spread of {report.crown_spread_m:g} m is out of bounds; it is 0 to {SPREAD_MAX_M:g} m."
    if report.dieback_pct is not None and not 0 <= report.dieback_pct <= 100:
        yield f"Crown dieback of {report.dieback_pct} % is out of bounds; it lies between 0 and 100 %."


def _faults_of_look(report: InspectionReport, now: dt.datetime) -> Iterator[str]:
    if report.observed_at > now + CLOCK_GRACE:
        yield f"The inspection is dated {report.observed_at:%Y-%m-%d %H:%M}, in the future; give the time of the observation."
    if report.observed_at < EARLIEST:
        yield f"The inspection is dated {report.observed_at:%Y-%m-%d}; give a day since {EARLIEST:%Y}."
    if report.level not in InspectionLevel.values:
        yield f"There is no inspection level {report.level}; it is 1, 2 or 3."
    if report.condition not in Condition.values:
        yield f"“{report.condition}” is not a condition; it is one of {', '.join(Condition.values)}."
    if report.supersedes and report.supersedes.tree_id != report.tree.pk:
        yield "A correction belongs to the tree of the inspection that it corrects."


def _faults_of_defect(defect: DefectFound) -> Iterator[str]:
    if defect.part not in Part.values:
        yield f"“{defect.part}” is not a part of a tree; it is one of {', '.join(Part.values)}."
    if not defect.kind.strip():
        yield f"A defect of the {defect.part} has no name; say what was found."
    if defect.value is not None and not math.isfinite(defect.value):
        yield f"The measure of “{defect.kind}” is not a number."


def _faults_of_pick(pick: AssessmentPick, report: InspectionReport) -> Iterator[str]:
    if pick.part not in Part.values:
        yield f"“{pick.part}” is not a part of a tree; it is one of {', '.join(Part.values)}."
    if not pick.failure_mode.strip():
        yield f"An assessment of the {pick.part} does not say how it would fail; write for example “breaking at the cavity”."
    if pick.target.park_id != report.tree.park_id:
        yield f"The target “{pick.target}” is in another park; choose a target of the park in which the tree stands."
    suggestion = report.suggestion(pick)
    if not suggestion.explains(pick.impact) and not pick.impact_reason.strip():
        yield (
            f"The likelihood of impact {pick.impact.value} for {pick.target} differs from the suggested "
            f"{suggestion.impact.value}; say why, or take the suggestion."
        )
    if not 1 <= pick.time_frame_years <= 5:
        yield f"A time frame of {pick.time_frame_years} years is out of bounds; it is 1 to 5 years."
    if pick.distance_m is not None and not 0 <= pick.distance_m <= DISTANCE_MAX_M:
        yield f"A target {pick.distance_m:g} m away is out of bounds; the distance is 0 to {DISTANCE_MAX_M:g} m."
    yield from _faults_of_mitigation(pick)


def _faults_of_mitigation(pick: AssessmentPick) -> Iterator[str]:
    if pick.options and (pick.mitigation or pick.residual_rating):
        yield "The advised option is given twice; give the options alone."
    elif pick.residual_rating and not pick.mitigation:
        yield f"A residual rating of {pick.residual_rating} needs the mitigation that leads to it; choose one."
    else:
        yield from faults_of_options(pick.every_option, pick)


def faults(report: InspectionReport, *, now: dt.datetime) -> list[str]:
    """Everything that keeps the report from being stored, a sentence each; empty when it is sound."""
    found = [*_faults_of_look(report, now), *_faults_of_measures(report)]
    for defect in report.defects:
        found += _faults_of_defect(defect)
    for pick in report.assessments:
        found += _faults_of_pick(pick, report)
    return found
