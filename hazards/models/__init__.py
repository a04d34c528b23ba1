"""What is stored of inspections, targets, ratings, the ranking, concerns, storms, pests and the city's policy."""

from hazards.models.concerns import (
    OPEN_CONCERNS,
    ApiKey,
    Concern,
    ConcernDesk,
    ConcernSource,
    ConcernState,
    Knock,
    PlainAnswer,
    Seen,
)
from hazards.models.field import FieldGone, FieldRecord
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
from hazards.models.storms import StormEvent, StormFind
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
    "OPEN_CONCERNS",
    "OPEN_MITIGATIONS",
    "ApiKey",
    "AskedLook",
    "Assessment",
    "CityPolicy",
    "Closure",
    "Concern",
    "ConcernDesk",
    "ConcernSource",
    "ConcernState",
    "Defect",
    "FallDirection",
    "FieldGone",
    "FieldRecord",
    "Inspection",
    "InspectionLevel",
    "Knock",
    "Mitigation",
    "MitigationKind",
    "MitigationOption",
    "MitigationOrder",
    "MitigationState",
    "Part",
    "PestWatch",
    "PlainAnswer",
    "PruningLimit",
    "SavedView",
    "Seen",
    "Standing",
    "StandingQuerySet",
    "StormEvent",
    "StormFind",
    "Target",
    "TargetKind",
    "is_word",
    "words",
]
