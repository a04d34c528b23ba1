"""What is stored of inspections, targets, ratings, the ranking, pests and the city's policy."""

from hazards.models.inspections import (
    Assessment,
    Defect,
    FallDirection,
    Inspection,
    InspectionLevel,
    Mitigation,
    Part,
    Target,
    TargetKind,
)
from hazards.models.pests import PestWatch, PruningLimit
from hazards.models.policy import CityPolicy, SavedView
from hazards.models.standing import Standing, StandingQuerySet
from hazards.models.words import is_word, words
from hazards.models.work import (
    OPEN_MITIGATIONS,
    AskedLook,
    Closure,
    MitigationKind,
    MitigationOption,
    MitigationOrder,
    MitigationState,
)

__all__ = [
    "OPEN_MITIGATIONS",
    "AskedLook",
    "Assessment",
    "CityPolicy",
    "Closure",
    "Defect",
    "FallDirection",
    "Inspection",
    "InspectionLevel",
    "Mitigation",
    "MitigationKind",
    "MitigationOption",
    "MitigationOrder",
    "MitigationState",
    "Part",
    "PestWatch",
    "PruningLimit",
    "SavedView",
    "Standing",
    "StandingQuerySet",
    "Target",
    "TargetKind",
    "is_word",
    "words",
]
