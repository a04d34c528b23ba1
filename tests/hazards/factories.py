"""Made-up targets, picks and reports."""

import datetime as dt
from typing import Any

import factory
from factory.django import DjangoModelFactory

from hazards.matrix import Consequences, Exposure, Failure, Impact
from hazards.models import Inspection, Target
from hazards.workflow import AssessmentPick, InspectionReport, record_inspection
from inventory.models import Tree
from inventory.record import Actor
from tests.factories import ParkFactory

MORNING = dt.datetime(2026, 5, 4, 9, 0, 17, 250, tzinfo=dt.UTC)


class TargetFactory(DjangoModelFactory):
    """A play area in constant use: everything fully exposed to it is suggested ``high``."""

    class Meta:
        model = Target

    park = factory.SubFactory(ParkFactory)
    name = factory.Sequence(lambda n: f"play area {n}")
    kind = "playground"
    occupancy = "constant"


def pick(target: Target, **picks: Any) -> AssessmentPick:
    """By default a union that rates high; ``failure=…`` and the like change the picks."""
    usual: dict[str, Any] = {
        "part": "union",
        "failure_mode": "splitting at the included bark",
        "exposure": Exposure.FULLY_EXPOSED,
        "failure": Failure.PROBABLE,
        "impact": Impact.HIGH,
        "consequences": Consequences.SEVERE,
    }
    return AssessmentPick(target=target, **{**usual, **picks})


LOW = {"failure": Failure.IMPROBABLE}
MODERATE = {"failure": Failure.POSSIBLE}
HIGH: dict[str, Any] = {}
EXTREME = {"failure": Failure.IMMINENT}


def report(tree: Tree, *picks: AssessmentPick, **facts: Any) -> InspectionReport:
    usual: dict[str, Any] = {"level": 2, "observed_at": MORNING, "condition": "fair"}
    return InspectionReport(tree=tree, assessments=picks, **{**usual, **facts})


def inspect(tree: Tree, *picks: AssessmentPick, **facts: Any) -> Inspection:
    """Recorded by the program itself."""
    return record_inspection(by=Actor(), report=report(tree, *picks, **facts))
