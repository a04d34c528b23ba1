"""What is stored of inspections, targets, ratings, the ranking, pests and the city's policy."""

from hazards.models.inspections import (
    Assessment,
    Defect,
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

__all__ = [
    "Assessment",
    "CityPolicy",
    "Defect",
    "Inspection",
    "InspectionLevel",
    "Mitigation",
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
