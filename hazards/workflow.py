"""Every change to what is known of hazards: one function, one transaction, one entry in the record."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from itertools import takewhile

from django.db import transaction
from django.db.models import Prefetch
from django.utils import timezone
from uuid_utils.compat import uuid7

from hazards.city_policy import held_still
from hazards.governing import in_force, round_starts
from hazards.impact import Suggestion
from hazards.matrix import Consequences, Failure, FailureAndImpact, Occupancy, Rating
from hazards.models import Assessment, Defect, Inspection, MitigationOption, Standing, Target
from hazards.observation import AssessmentPick, DefectFound, InspectionReport, faults
from hazards.open_looks import settle_asked
from hazards.options import OptionPick, residual_of
from hazards.policy import Policy, look_due, round_due, work_due
from hazards.triage import Decline, Finding, reason, triage_key
from inventory import record
from inventory.errors import Refused
from inventory.models import Condition, Park, Tree, TreeStatus
from inventory.record import Actor
from inventory.workflow import mark_alive, mark_dead

__all__ = [
    "AssessmentPick",
    "DefectFound",
    "InspectionReport",
    "record_inspection",
    "restand",
    "restand_city",
    "restand_stale",
    "save_target",
]

MEASURES = ("dbh_cm", "height_m", "crown_spread_m")


@transaction.atomic
def record_inspection(*, by: Actor, report: InspectionReport) -> Inspection:
    """Store one look at one tree with its defects and its rated assessments, and bring the tree's standing up to date.

    The same ``report.id`` again returns what was stored the first time. A report on a removed tree is kept and flagged and
    changes nothing else. Raises Refused with one sentence when the report cannot be right.
    """
    # The lock comes first: two reports on one tree are stored one after the other, each seeing the other.
    tree = _locked(report.tree.pk)
    if known := Inspection.objects.filter(pk=report.id).first() if report.id else None:
        return _the_same(known, report)
    if wrong := faults(report, now=timezone.now()):
        raise Refused(wrong[0])
    inspection = _store(by, report, tree)
    if tree.stands:
        looks = _looks(tree)
        _take_measures(by, tree, looks, report)
        _restand(tree, looks)
    _note(by, report, inspection)
    return inspection


def restand(tree: Tree) -> None:
    """Work out a standing tree's row of the ranking again. Call inside a transaction that holds the tree's lock."""
    if tree.stands:
        _restand(tree, _looks(tree))


def restand_city() -> int:
    """Work out every inspected tree's row again, one short transaction a tree; how many rows changed.

    For what the row is made from but no inspection changes: the flags of a species, the wording, the order itself.
    """
    inspected = Standing.objects.filter(inspected_on__isnull=False).order_by("pk").values_list("pk", flat=True)
    return sum(_restand_one(pk) for pk in inspected.iterator())


def restand_stale(at_most: int | None = None) -> int:
    """Work out again the rows whose tree or species was changed since, one short transaction a tree; how many changed."""
    stale = Standing.objects.filter(stale=True).order_by("pk").values_list("pk", flat=True)
    return sum(_restand_one(pk) for pk in list(stale[:at_most]))


@transaction.atomic
def _restand_one(pk: int) -> bool:
    tree = _locked(pk)
    before = Standing.objects.filter(pk=pk).values().first()
    restand(tree)
    return before != Standing.objects.filter(pk=pk).values().first()


def _locked(pk: int) -> Tree:
    return Tree.objects.select_for_update(of=("self",)).select_related("species").get(pk=pk)


def _the_same(known: Inspection, report: InspectionReport) -> Inspection:
    if known.tree_id != report.tree.pk:
        raise Refused("This inspection was already stored for another tree; make a new one for this tree.")
    return known


def _store(by: Actor, report: InspectionReport, tree: Tree) -> Inspection:
    if report.supersedes and Inspection.objects.filter(supersedes=report.supersedes).exists():
        raise Refused("This inspection was corrected before; correct its latest correction instead.")
    inspection = Inspection(
        id=report.id or uuid7(),
        tree=tree,
        level=report.level,
        observed_at=report.observed_at,
        inspector=by.user,
        condition=report.condition,
        dieback_pct=report.dieback_pct,
        dbh_cm=report.dbh_cm,
        height_m=report.height_m,
        crown_spread_m=report.crown_spread_m,
        note=report.note.strip(),
        supersedes=report.supersedes,
        tree_was_removed=not tree.stands,
    )
    inspection.save(force_insert=True)
    Defect.objects.bulk_create(_defect(inspection, found) for found in report.defects)
    made = [(_assessment(inspection, pick, report.suggestion(pick)), pick) for pick in report.assessments]
    Assessment.objects.bulk_create(assessment for assessment, _ in made)
    options = [_option(assessment, option, pick) for assessment, pick in made for option in pick.every_option]
    MitigationOption.objects.bulk_create(options)
    return inspection


def _defect(inspection: Inspection, found: DefectFound) -> Defect:
    return Defect(
        id=found.id or uuid7(),
        inspection=inspection,
        part=found.part,
        kind=found.kind.strip(),
        value=found.value,
        unit=found.unit,
        note=found.note.strip(),
    )


def _assessment(inspection: Inspection, pick: AssessmentPick, suggestion: Suggestion) -> Assessment:
    advised = pick.advised
    return Assessment(
        id=pick.id or uuid7(),
        inspection=inspection,
        target=pick.target,
        part=pick.part,
        failure_mode=pick.failure_mode.strip(),
        time_frame_years=pick.time_frame_years,
        distance_m=pick.distance_m,
        exposure=pick.exposure.value,
        occupancy=pick.use.value,
        failure=pick.failure.value,
        impact=pick.impact.value,
        direction=pick.direction.value if pick.direction else "",
        zone_m=suggestion.zone_m,
        suggested_impact=suggestion.impact.value,
        impact_reason=pick.impact_reason.strip(),
        consequences=pick.consequences.value,
        failure_and_impact=pick.rated.failure_and_impact.value,
        rating=pick.rated.rating.value,
        mitigation=advised.mitigation if advised else "",
        residual_rating=_residual(advised, pick) if advised else "",
    )


def _residual(option: OptionPick, pick: AssessmentPick) -> str:
    after = residual_of(option, pick)
    return after.rated.rating.value if after else option.residual_rating


def _option(assessment: Assessment, option: OptionPick, pick: AssessmentPick) -> MitigationOption:
    after = residual_of(option, pick)
    return MitigationOption(
        assessment=assessment,
        mitigation=option.mitigation,
        residual_rating=_residual(option, pick),
        failure=after.failure.value if after else "",
        impact=after.impact.value if after else "",
        consequences=after.consequences.value if after else "",
        note=option.note.strip(),
        chosen=option.chosen,
    )


def _looks(tree: Tree) -> list[Inspection]:
    """The tree's inspections that have a voice, latest observation first, with their assessments."""
    assessments = Prefetch("assessments", Assessment.objects.select_related("target"))
    return list(
        tree.inspections.filter(superseded_by=None, tree_was_removed=False)
        .order_by("-observed_at", "-id")
        .prefetch_related(assessments)
    )


def _take_measures(by: Actor, tree: Tree, looks: Sequence[Inspection], report: InspectionReport) -> None:
    """The tree's present figures are those observed last, whatever arrived last.

    Only what this report, or the one it corrects, has measured is looked at: a figure corrected by a clerk stays.
    """
    for name in MEASURES:
        if getattr(report, name) is None and getattr(report.supersedes, name, None) is None:
            continue
        latest = next((value for look in looks if (value := getattr(look, name)) is not None), None)
        if latest is not None:
            setattr(tree, name, latest)
            tree.dbh_estimated = tree.dbh_estimated and name != "dbh_cm"
    tree.condition = looks[0].condition
    tree.save(update_fields=[*MEASURES, "dbh_estimated", "condition", "updated_at"])
    _take_life(by, tree, looks)


def _take_life(by: Actor, tree: Tree, looks: Sequence[Inspection]) -> None:
    if looks[0].condition != Condition.DEAD:
        mark_alive(by=by, tree=tree)
        return
    mark_dead(by=by, tree=tree, since=_found_so_since(looks, Condition.DEAD) or _day(looks[0].observed_at))


def _found_so_since(looks: Sequence[Inspection], condition: str) -> dt.date | None:
    """The day of the first of the last looks that all found the tree in that condition; None: the last did not."""
    found = list(takewhile(lambda look: look.condition == condition, looks))
    return _day(found[-1].observed_at) if found else None


def _day(moment: dt.datetime) -> dt.date:
    """The calendar day in the city's own time."""
    return timezone.localtime(moment).date()


def _restand(tree: Tree, looks: Sequence[Inspection]) -> None:
    policy = held_still()
    standing = Standing.objects.get(pk=tree.pk)
    assessments = [each for look in in_force([look for look in looks if look.assessments.all()]) for each in _of(look)]
    standing.inspected_on = _day(looks[0].observed_at) if looks else None
    standing.declining_since = _found_so_since(looks, Condition.DYING)
    _take_rating(policy, standing, tree, assessments)
    by_policy = _inspect_due(policy, standing, tree, looks, assessments) if looks else None
    standing.inspect_due = min(filter(None, (by_policy, settle_asked(tree, looks))), default=None)
    standing.stale = False
    standing.save()


def _of(look: Inspection) -> list[Assessment]:
    """The look's assessments, each knowing its inspection without another query."""
    assessments = list(look.assessments.all())
    for each in assessments:
        each.inspection = look
    return assessments


def _inspect_due(
    policy: Policy, standing: Standing, tree: Tree, looks: Sequence[Inspection], assessments: Sequence[Assessment]
) -> dt.date:
    """A round after the last look all around; for a dead or gravely rated tree also soon after the last look of any kind.

    The round is that of the most used target. Where none was assessed nobody has said that the place is little used, so it
    is the shortest.
    """
    uses = [Occupancy(each.occupancy) for each in assessments] or [Occupancy.CONSTANT]
    use = max(uses, key=lambda occupancy: occupancy.rank)
    due = round_due(use, observed_on=_day(round_starts(looks).observed_at), policy=policy)
    rating = Rating(standing.rating) if standing.rating else None
    last = _day(looks[0].observed_at)
    sooner = look_due(rating, imminent=standing.imminent, dead=tree.is_dead, observed_on=last, policy=policy)
    return min(due, sooner) if sooner else due


def _take_rating(policy: Policy, standing: Standing, tree: Tree, assessments: Sequence[Assessment]) -> None:
    if not assessments:
        standing.rating, standing.triage_key, standing.reason = "", None, ""
        standing.inspection = standing.assessment = standing.work_due = None
        standing.imminent = False
        return
    due = min((day for each in assessments if (day := _work_due(policy, each))), default=None)
    imminent = [each for each in assessments if each.failure == Failure.IMMINENT.value]
    worst = max(assessments, key=_severity)
    finding = _finding(tree, standing, worst, imminent=bool(imminent), due=due)
    standing.rating = worst.rating
    standing.imminent = finding.imminent
    standing.triage_key = triage_key(finding, policy.order)
    standing.reason = reason(
        finding,
        part=worst.part,
        failure_mode=worst.failure_mode,
        target=worst.target.name,
        imminent_part=imminent[0].part if imminent and worst not in imminent else "",
    )
    standing.assessment, standing.inspection, standing.work_due = worst, worst.inspection, due


def _severity(each: Assessment) -> tuple[int, ...]:
    """The tree's rating is its highest row; among equals the gravest by the tables, whatever order the city has set."""
    return (
        Rating(each.rating).rank,
        FailureAndImpact(each.failure_and_impact).rank,
        Consequences(each.consequences).rank,
        Occupancy(each.occupancy).rank,
        Failure(each.failure).rank,
    )


def _work_due(policy: Policy, each: Assessment) -> dt.date | None:
    imminent = each.failure == Failure.IMMINENT.value
    observed_on = _day(each.inspection.observed_at)
    return work_due(Rating(each.rating), imminent=imminent, observed_on=observed_on, policy=policy)


def _finding(tree: Tree, standing: Standing, worst: Assessment, *, imminent: bool, due: dt.date | None) -> Finding:
    decline = _decline(tree)
    return Finding(
        rating=Rating(worst.rating),
        failure_and_impact=FailureAndImpact(worst.failure_and_impact),
        consequences=Consequences(worst.consequences),
        occupancy=Occupancy(worst.occupancy),
        imminent=imminent,
        decline=decline,
        since=tree.dead_since if decline is Decline.DEAD else standing.declining_since,
        weak_wooded=tree.species is not None and tree.species.weak_wooded,
        due=due,
    )


def _decline(tree: Tree) -> Decline:
    if tree.status == TreeStatus.DEAD_STANDING:
        return Decline.DEAD
    return Decline.DYING if tree.condition == Condition.DYING else Decline.NONE


def _note(by: Actor, report: InspectionReport, inspection: Inspection) -> None:
    record.write(
        by=by,
        verb="corrected an inspection" if report.supersedes else "inspected",
        subject=inspection,
        tree=inspection.tree,
        summary=_summary(report, inspection)[:300],
        level=report.level,
        observed_at=report.observed_at.isoformat(),
    )


def _summary(report: InspectionReport, inspection: Inspection) -> str:
    """``Inspected at level 2, condition poor: high, from the union (splitting) over the play area; 2 defects noted.``"""
    what = "Corrected an inspection" if report.supersedes else "Inspected"
    flag = (
        "; the tree had been removed before this arrived, so it changes nothing" if inspection.tree_was_removed else ""
    )
    defects = f"; {len(report.defects)} defect{'s'[: len(report.defects) != 1]} noted" if report.defects else ""
    return f"{what} at level {report.level}, condition {report.condition}{_rated(report.assessments)}{defects}{flag}."


def _rated(picks: Sequence[AssessmentPick]) -> str:
    if not picks:
        return "; nothing rated"
    worst = max(picks, key=lambda pick: pick.rated.rating.rank)
    return f": {worst.rated.rating.value}, from the {worst.part} ({worst.failure_mode}) over {worst.target}"


@transaction.atomic
def save_target(*, by: Actor, target: Target) -> Target:
    """Add a target to its park, or change one. Ratings made before keep the use that the target had on their day.

    Raises Refused when the park has a target of that name already.
    """
    Park.objects.select_for_update().get(pk=target.park_id)
    target.name = " ".join(target.name.split())
    others = Target.objects.filter(park=target.park_id, name__iexact=target.name).exclude(pk=target.pk)
    if others.exists():
        raise Refused(f"{target.park} has a target named “{target.name}” already; give this one another name.")
    new = target.pk is None
    target.save()
    record.write(
        by=by,
        verb="added a target" if new else "changed a target",
        subject=target,
        summary=f"{'Added' if new else 'Changed'} the target {target.name} in {target.park}: {target.occupancy} use.",
        kind=target.kind,
        occupancy=target.occupancy,
        movable=target.movable,
    )
    return target
