"""The records that inspectors send: an inspection, a tree that the inventory lacked, a target met on the walk."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from django.urls import reverse
from django.utils import timezone

from hazards.assessment_forms import ASSESSMENTS_MAX
from hazards.field.tables import NOTE_LENGTH
from hazards.impact import Direction
from hazards.matrix import Consequences, Exposure, Failure, Impact, Level, Occupancy, Rating
from hazards.models import Assessment, Defect, FieldRecord, Inspection, InspectionLevel, Part, Target, TargetKind
from hazards.observation import DISTANCE_MAX_M, AssessmentPick, DefectFound, InspectionReport, faults
from hazards.options import MITIGATIONS, NOTE_MAX, OPTIONS_MAX, OptionPick
from hazards.second_look import looked_at_too
from hazards.workflow import record_inspection, save_target
from inventory.access import Permission
from inventory.bounds import DBH_MAX_CM, DBH_MIN_CM, HEIGHT_MAX_M, HEIGHT_MIN_M, SPREAD_MAX_M
from inventory.models import Condition, Park, Species, Tree
from inventory.record import Actor
from inventory.sent import (
    ID,
    KEY,
    KEY_OR_ID,
    MOMENT,
    YES_OR_NO,
    Faulty,
    Kind,
    NotYet,
    Sent,
    Stored,
    group,
    many,
    moment,
    number,
    or_null,
    text,
    word,
)
from inventory.workflow import add_tree

DEFECTS_MAX = 60
_LON, _LAT = number(-180, 180), number(-90, 90)


def _words(levels: type[Level], *more: str) -> dict[str, Any]:
    return word(*more, *(level.value for level in levels))


def _length(model: Any, name: str) -> int:
    return int(model._meta.get_field(name).max_length)


# ---- Inspections -----------------------------------------------------------------------------------------------------

OPTION = group(
    {
        "mitigation": word(*MITIGATIONS),
        "failure": _words(Failure, ""),
        "impact": _words(Impact, ""),
        "consequences": _words(Consequences, ""),
        "residual_rating": _words(Rating, ""),
        "note": text(NOTE_MAX),
        "chosen": YES_OR_NO,
    },
    "failure",
    "impact",
    "consequences",
    "residual_rating",
    "note",
)
ASSESSMENT = group(
    {
        "part": word(*Part.values),
        "failure_mode": text(_length(Assessment, "failure_mode"), needed=True),
        "time_frame_years": number(1, 5, whole=True),
        "failure": _words(Failure),
        "target": KEY_OR_ID,
        "occupancy": _words(Occupancy, ""),
        "distance_m": or_null(number(0, DISTANCE_MAX_M)),
        "exposure": _words(Exposure),
        "direction": _words(Direction, ""),
        "impact": _words(Impact),
        "impact_reason": text(_length(Assessment, "impact_reason")),
        "consequences": _words(Consequences),
        "options": many(OPTION, OPTIONS_MAX),
    },
    "time_frame_years",
    "occupancy",
    "distance_m",
    "direction",
    "impact_reason",
    "options",
)
DEFECT = group(
    {
        "part": word(*Part.values),
        "kind": text(_length(Defect, "kind"), needed=True),
        "value": or_null(number(-1e6, 1e6)),
        "unit": text(_length(Defect, "unit")),
        "note": text(_length(Defect, "note")),
    },
    "value",
    "unit",
    "note",
)
INSPECTION = group(
    {
        "tree": KEY_OR_ID,
        "supersedes": or_null(ID),
        "observed_at": MOMENT,
        "level": {"type": "integer", "enum": list(InspectionLevel.values)},
        "condition": word(*Condition.values),
        "dieback_pct": or_null(number(0, 100, whole=True)),
        "dbh_cm": or_null(number(DBH_MIN_CM, DBH_MAX_CM)),
        "height_m": or_null(number(HEIGHT_MIN_M, HEIGHT_MAX_M)),
        "crown_spread_m": or_null(number(0, SPREAD_MAX_M)),
        "note": text(NOTE_LENGTH),
        "defects": many(DEFECT, DEFECTS_MAX),
        "assessments": many(ASSESSMENT, ASSESSMENTS_MAX),
    },
    "supersedes",
    "dieback_pct",
    "dbh_cm",
    "height_m",
    "crown_spread_m",
    "note",
    "defects",
    "assessments",
)


def store_inspection(by: Actor, sent: Sent) -> Stored:
    told = sent.payload
    observed_at = moment(told["observed_at"])
    report = _report(sent, the_tree(told["tree"]), sent.moment(observed_at))
    if wrong := _faults(report):
        raise Faulty(wrong)
    stored = record_inspection(by=by, report=report)
    flags = [*sent.clock_flags(observed_at), *(said for said in [looked_at_too(stored)] if said)]
    if stored.tree_was_removed:
        flags.append("The tree had been removed when this arrived: the inspection is kept and changes nothing.")
    number = f"{report.tree.tag}, {timezone.localtime(stored.observed_at):%Y-%m-%d %H:%M}"
    url = reverse("hazards:inspection", args=[stored.pk])
    return Stored(number, url, tuple(flags), {"tree": report.tree})


def the_tree(told: int | str, field: str = "tree") -> Tree:
    """By its number, or by the id of the record that brought it."""
    trees = Tree.objects.select_related("species")
    if isinstance(told, str):
        made = FieldRecord.objects.filter(pk=told, kind="tree").values_list("tree", flat=True).first()
        if made is None:
            raise NotYet("The new tree of this record has not arrived yet; it goes first.")
        return trees.get(pk=made)
    if found := trees.filter(pk=told).first():
        return found
    raise Faulty({field: "The server knows no such tree; refresh the park and choose it anew."})


def _targets(assessments: list[Mapping[str, Any]]) -> dict[int | str, Target]:
    """By what the payload calls them; what is missing is left out."""
    named = {each["target"] for each in assessments}
    ids = [name for name in named if isinstance(name, str)]
    made = FieldRecord.objects.filter(pk__in=ids, kind="target").select_related("target") if ids else ()
    found: dict[int | str, Target] = {str(each.pk): each.target for each in made if each.target}
    if missing := set(ids) - set(found):
        raise NotYet(f"A target of this record has not arrived yet ({len(missing)}); it goes first.")
    return found | {target.pk: target for target in Target.objects.filter(pk__in=named - set(ids))}


def _report(sent: Sent, tree: Tree, observed_at: dt.datetime) -> InspectionReport:
    told = sent.payload
    assessments = told.get("assessments", [])
    targets = _targets(assessments) if assessments else {}
    if unknown := {
        f"assessments.{n}.target": GONE for n, each in enumerate(assessments) if each["target"] not in targets
    }:
        raise Faulty(unknown)
    return InspectionReport(
        tree=tree,
        supersedes=_superseded(told.get("supersedes")),
        id=sent.id,
        observed_at=observed_at,
        level=int(told["level"]),
        condition=told["condition"],
        note=told.get("note", ""),
        dieback_pct=_whole(told.get("dieback_pct")),
        **{name: told.get(name) for name in ("dbh_cm", "height_m", "crown_spread_m")},
        defects=tuple(DefectFound(**each) for each in told.get("defects", [])),
        assessments=tuple(_pick(each, targets[each["target"]]) for each in assessments),
    )


GONE = "The server knows no such target any more; choose what it would hit anew."


def _whole(value: float | None) -> int | None:
    """JSON knows no difference between 5 and 5.0."""
    return None if value is None else int(value)


def _superseded(told: str | None) -> Inspection | None:
    if told is None:
        return None
    found: Inspection | None = Inspection.objects.filter(pk=told).first()
    if found:
        return found
    raise NotYet("The inspection that this one corrects has not arrived yet; it goes first.")


def _pick(told: Mapping[str, Any], target: Target) -> AssessmentPick:
    use, direction = told.get("occupancy"), told.get("direction")
    return AssessmentPick(
        part=told["part"],
        failure_mode=told["failure_mode"],
        target=target,
        exposure=Exposure(told["exposure"]),
        failure=Failure(told["failure"]),
        impact=Impact(told["impact"]),
        consequences=Consequences(told["consequences"]),
        distance_m=told.get("distance_m"),
        time_frame_years=int(told.get("time_frame_years", 1)),
        impact_reason=told.get("impact_reason", ""),
        options=tuple(_option(each) for each in told.get("options", [])),
        direction=Direction(direction) if direction else None,
        occupancy=Occupancy(use) if use else None,
    )


def _option(told: Mapping[str, Any]) -> OptionPick:
    failure, impact, consequences = (told.get(name) for name in ("failure", "impact", "consequences"))
    return OptionPick(
        told["mitigation"],
        told.get("residual_rating", ""),
        Failure(failure) if failure else None,
        Impact(impact) if impact else None,
        Consequences(consequences) if consequences else None,
        note=told.get("note", ""),
        chosen=told["chosen"],
    )


def _faults(report: InspectionReport) -> dict[str, str]:
    """A sentence by field: of the look, of each defect, of each assessment."""
    now = timezone.now()
    bare = replace(report, defects=(), assessments=())
    found = faults(bare, now=now)
    parts = {f"assessments.{n}": replace(bare, assessments=(each,)) for n, each in enumerate(report.assessments)}
    told = {name: more[0] for name, part in parts.items() if (more := faults(part, now=now)[len(found) :])}
    return {"": found[0]} | told if found else told


# ---- New trees and targets -------------------------------------------------------------------------------------------

TREE = group(
    {
        "park": text(_length(Park, "code"), needed=True),
        "lon": _LON,
        "lat": _LAT,
        "accuracy_m": or_null(number(0, 100_000)),
        "species": or_null(KEY),
        "dbh_cm": or_null(number(DBH_MIN_CM, DBH_MAX_CM)),
        "note": text(NOTE_LENGTH),
    },
    "accuracy_m",
    "species",
    "dbh_cm",
    "note",
)
TARGET = group(
    {
        "park": text(_length(Park, "code"), needed=True),
        "name": text(_length(Target, "name"), needed=True),
        "kind": word(*TargetKind.values),
        "occupancy": _words(Occupancy),
        "movable": YES_OR_NO,
        "lon": or_null(_LON),
        "lat": or_null(_LAT),
    },
    "movable",
    "lon",
    "lat",
)


def _park(code: str) -> Park:
    if park := Park.objects.defer("boundary").filter(code=code).first():
        return park
    raise Faulty({"park": f"The server knows no park {code}; take another along."})


def store_tree(by: Actor, sent: Sent) -> Stored:
    """Its tag is given here; until the tablet hears it, the record's id stands for the tree."""
    told = sent.payload
    species = Species.objects.filter(pk=told["species"]).first() if told.get("species") else None
    if told.get("species") and species is None:
        raise Faulty({"species": "The server knows no such species; choose it anew."})
    tree = add_tree(
        by=by,
        park=_park(told["park"]),
        species=species,
        lon=told["lon"],
        lat=told["lat"],
        dbh_cm=told.get("dbh_cm"),
        note=_with_accuracy(told.get("note", ""), told.get("accuracy_m")),
    )
    return Stored(tree.tag, reverse("reports:tree", args=[tree.tag]), sent.clock_flags(), {"tree": tree})


def _with_accuracy(note: str, accuracy_m: float | None) -> str:
    found = "" if accuracy_m is None else f"Position taken in the field, accurate to {accuracy_m:.0f} m."
    return "\n".join(each for each in (note.strip(), found) if each)


def store_target(by: Actor, sent: Sent) -> Stored:
    """A target that the park has by that name already, perhaps from another tablet, is the same one."""
    told = sent.payload
    if (told.get("lon") is None) != (told.get("lat") is None):
        raise Faulty({"position": "A position has a longitude and a latitude."})
    park, name = _park(told["park"]), " ".join(told["name"].split())
    facts = {key: told.get(key) for key in ("kind", "occupancy", "lon", "lat")}
    target = Target(park=park, name=name, movable=told.get("movable", False), **facts)
    flags = list(sent.clock_flags())
    if same := Target.objects.filter(park=park, name__iexact=name).first():
        target = same
        flags.append(
            f"The park has a target named “{same.name}” already; it is taken as that one, with the use it has."
        )
    else:
        save_target(by=by, target=target)
    return Stored(target.name, reverse("hazards:targets", args=[park.code]), tuple(flags), {"target": target})


KINDS = (
    Kind("inspection", INSPECTION, Permission.INSPECT, store_inspection),
    Kind("tree", TREE, Permission.EDIT_TREE, store_tree),
    Kind("target", TARGET, Permission.INSPECT, store_target),
)
