"""Targets and three years of inspections, recorded through the same function as the pages."""

import uuid
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from django.db import transaction

from config.demo.files import Calendar, Row, number, table
from hazards.matrix import Consequences, Exposure, Failure, Impact
from hazards.models import Inspection, Target
from hazards.observation import AssessmentPick, DefectFound, InspectionReport
from hazards.workflow import record_inspection, save_target
from inventory.models import Park, Tree
from inventory.record import Actor

_NAMESPACE = uuid.UUID("6f1a34a0-5d0b-4c55-9f0e-a1de59ca7e01")

Targets = Mapping[tuple[int, str], Target]


def load_targets(by: Actor) -> int:
    """Those that the parks do not have yet; how many there are."""
    parks = {park.code: park for park in Park.objects.all()}
    known = set(Target.objects.values_list("park__code", "name"))
    rows = table("targets.csv")
    for row in rows:
        if (row["park"], row["name"]) not in known:
            save_target(by=by, target=_target(row, parks[row["park"]]))
    return len(rows)


def _target(row: Row, park: Park) -> Target:
    return Target(
        park=park,
        name=row["name"],
        kind=row["kind"],
        occupancy=row["occupancy"],
        movable=row["movable"] == "yes",
        lon=float(row["lon"]),
        lat=float(row["lat"]),
    )


@transaction.atomic
def load_inspections(by: Mapping[str, Actor], calendar: Calendar) -> int:
    """All of them or, when the first is there already, none; how many were recorded."""
    rows = table("inspections.csv")
    if Inspection.objects.filter(pk=_id(rows[0]["visit"])).exists():
        return 0
    trees = Tree.objects.in_bulk({row["tag"] for row in rows if row["tag"]}, field_name="tag")
    targets = {(target.park_id, target.name): target for target in Target.objects.all()}
    visits = [list(visit) for _, visit in groupby(rows, key=lambda row: row["visit"])]
    for visit in visits:
        tree = trees[visit[0]["tag"]]
        record_inspection(by=by[visit[0]["inspector"]], report=_report(visit, tree, targets, calendar))
    return len(visits)


def _id(visit: str) -> uuid.UUID:
    return uuid.uuid5(_NAMESPACE, f"visit {visit}")


def _report(visit: Sequence[Row], tree: Tree, targets: Targets, calendar: Calendar) -> InspectionReport:
    look = visit[0]
    return InspectionReport(
        id=_id(look["visit"]),
        tree=tree,
        level=int(look["level"]),
        observed_at=calendar.at(look["days_before"], look["time"]),
        condition=look["condition"],
        dieback_pct=int(look["dieback_pct"]) if look["dieback_pct"] else None,
        dbh_cm=number(look["dbh_cm"]),
        height_m=number(look["height_m"]),
        crown_spread_m=number(look["crown_spread_m"]),
        note=look["note"],
        assessments=tuple(_pick(row, targets[tree.park_id, row["target"]]) for row in visit),
        defects=tuple(_defects(visit)),
    )


def _pick(row: Row, target: Target) -> AssessmentPick:
    return AssessmentPick(
        part=row["part"],
        failure_mode=row["failure_mode"],
        target=target,
        exposure=Exposure(row["exposure"]),
        failure=Failure(row["failure"]),
        impact=Impact(row["impact"]),
        impact_reason=row["impact_reason"],
        consequences=Consequences(row["consequences"]),
        distance_m=number(row["distance_m"]),
        mitigation=row["mitigation"],
        residual_rating=row["residual_rating"],
    )


def _defects(visit: Sequence[Row]) -> Iterator[DefectFound]:
    for row in visit:
        if row["defect_part"]:
            value = number(row["defect_value"])
            yield DefectFound(part=row["defect_part"], kind=row["defect_kind"], value=value, unit=row["defect_unit"])
