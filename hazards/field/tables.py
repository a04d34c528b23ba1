"""The rules of an inspection as data, for a page that works without the server: words, tables, bounds, sentences.

Every entry is worked out by the functions that the server itself uses, for each input there is; the tablet looks up.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any

from hazards.advice import Situation, advice
from hazards.assessment_forms import ASSESSMENTS_MAX
from hazards.defects import KINDS
from hazards.field.storm_words import storm_rules
from hazards.forms import PHOTOS_MAX
from hazards.impact import MEANING as DIRECTION_MEANING
from hazards.impact import Direction, Fall, suggest, target_zone_m
from hazards.matrix import (
    LIKELIHOOD,
    MEANING,
    RATING,
    Consequences,
    Exposure,
    Failure,
    FailureAndImpact,
    Impact,
    Level,
    Occupancy,
    Rating,
)
from hazards.models import Assessment, Defect, InspectionLevel, Part, Target, TargetKind
from hazards.observation import DISTANCE_MAX_M
from hazards.options import LEAVES_AS_IT_IS, MITIGATIONS, NOTE_MAX, OPTIONS_MAX
from hazards.part_forms import CHAPTERS
from inventory.bounds import DBH_MAX_CM, DBH_MIN_CM, HEIGHT_MAX_M, HEIGHT_MIN_M, SPREAD_MAX_M
from inventory.models import Condition, TreeStatus
from inventory.units import METRES_PER, MS_PER_MPH

NOTE_LENGTH = 4000
MS_PER = {"m/s": 1.0, "mph": MS_PER_MPH}
OWN_UNITS = {"metric": {"cm": "cm", "m": "m", "m/s": "m/s"}, "us": {"cm": "in", "m": "ft", "m/s": "mph"}}
_ANY_DAY = dt.date(2026, 1, 1)


def words(levels: type[Level]) -> list[str]:
    """By rank, the least first."""
    return [level.value for level in levels]


def rules() -> dict[str, Any]:
    """Plain data, the same for everybody and every park."""
    return {
        "units": {"per": [METRES_PER, MS_PER], "own": OWN_UNITS},
        "levels": [{"value": value, "label": label} for value, label in InspectionLevel.choices],
        "conditions": Condition.values,
        "statuses": TreeStatus.values,
        "parts": Part.values,
        "defects": _defects(),
        "target_kinds": TargetKind.values,
        **_matrices(),
        "suggestion": _suggestions(),
        "zone": {"factor": {name: target_zone_m(1, scatters=scatters) for name, scatters in _SCATTER.items()}},
        "scattering_conditions": [Condition.DEAD.value],
        "mitigation": _mitigation(),
        "advice": _advice(),
        "bounds": _bounds(),
        "storm": storm_rules(),
    }


def _defects() -> list[dict[str, Any]]:
    """In the order of the walk."""
    return [
        {
            "part": part,
            "title": title,
            "kinds": [
                {"name": kind.name, "measure": asdict(kind.measure) if kind.measure else None} for kind in KINDS[part]
            ],
        }
        for part, title in CHAPTERS.items()
    ]


def _cells(table: Mapping[Any, tuple[Level, ...]]) -> dict[str, list[str]]:
    return {row.value: [cell.value for cell in cells] for row, cells in table.items()}


def _meaning(levels: Iterable[Level], meaning: Mapping[Any, str]) -> dict[str, str]:
    return {level.value: meaning[level] for level in levels}


def _matrices() -> dict[str, Any]:
    """Words by rank; each row of a table by its word, its cells by the rank of the other word."""
    return {
        "failure": words(Failure),
        "impact": words(Impact),
        "failure_and_impact": words(FailureAndImpact),
        "consequences": words(Consequences),
        "ratings": words(Rating),
        "occupancy": words(Occupancy),
        "exposure": words(Exposure),
        "direction": words(Direction),
        "likelihood": _cells(LIKELIHOOD),
        "rating": _cells(RATING),
        "meaning": {
            "failure": _meaning(Failure, MEANING),
            "consequences": _meaning(Consequences, MEANING),
            "occupancy": _meaning(Occupancy, MEANING),
            "exposure": _meaning(Exposure, MEANING),
            "direction": _meaning(Direction, DIRECTION_MEANING),
        },
    }


_SCATTER = {"whole": False, "scatters": True}
# Of a tree one metre high, so that both stand well on their side of its reach.
_DISTANCE_M = {"within": 0.0, "beyond": 10.0}


def _suggestions() -> dict[str, Any]:
    """By use, exposure, direction ("" not said), "whole" or "scatters", "within" or "beyond" the reach of the fall."""
    directions: dict[str, Direction | None] = {"": None, **{each.value: each for each in Direction}}
    return {
        occupancy.value: {
            exposure.value: {
                said: {
                    wood: {
                        reach: _suggestion(Fall(occupancy, exposure, distance_m, 1.0, scatters, direction))
                        for reach, distance_m in _DISTANCE_M.items()
                    }
                    for wood, scatters in _SCATTER.items()
                }
                for said, direction in directions.items()
            }
            for exposure in Exposure
        }
        for occupancy in Occupancy
    }


def _suggestion(fall: Fall) -> dict[str, Any]:
    """``unexplained``: the words that need no reason."""
    said = suggest(fall)
    return {
        "impact": said.impact.value,
        "because": list(said.because),
        "unexplained": [impact.value for impact in Impact if said.explains(impact)],
    }


def _not_above(levels: type[Level]) -> dict[str, list[str]]:
    """What may be after a mitigation, by what is now."""
    return {now.value: [after.value for after in levels if after.rank <= now.rank] for now in levels}


def _mitigation() -> dict[str, Any]:
    return {
        "kinds": [{"value": value, "changes": value not in LEAVES_AS_IT_IS} for value in MITIGATIONS],
        "after": {
            "failure": _not_above(Failure),
            "impact": _not_above(Impact),
            "consequences": _not_above(Consequences),
            "rating": _not_above(Rating),
        },
        "most": OPTIONS_MAX,
    }


def _says(**changed: Any) -> list[str]:
    return advice(Situation(**{"dead": False, "dead_since": None, "on": _ANY_DAY, **changed}))


def _advice() -> dict[str, Any]:
    """Each sentence with the picks that call for it."""
    long_dead = {failure.value: _says(dead=True, failure=failure) for failure in Failure}
    beyond = {impact.value: _says(height_m=1.0, distance_m=10.0, impact=impact) for impact in Impact}
    urgent = {failure.value: _says(failure=failure) for failure in Failure}
    return {
        "urgent": _when(urgent),
        "long_dead": _when({word: said for word, said in long_dead.items() if word not in _when(urgent)["words"]}),
        "out_of_reach": _when(beyond),
    }


def _when(said: Mapping[str, list[str]]) -> dict[str, Any]:
    called = {word: sentences[0] for word, sentences in said.items() if sentences}
    return {"words": list(called), "sentence": next(iter(called.values()))}


def _bounds() -> dict[str, Any]:
    return {
        "dbh_cm": [DBH_MIN_CM, DBH_MAX_CM],
        "height_m": [HEIGHT_MIN_M, HEIGHT_MAX_M],
        "crown_spread_m": [0, SPREAD_MAX_M],
        "dieback_pct": [0, 100],
        "distance_m": [0, DISTANCE_MAX_M],
        "time_frame_years": [1, 5],
        "photos": PHOTOS_MAX,
        "assessments": ASSESSMENTS_MAX,
        "length": {
            "note": NOTE_LENGTH,
            "failure_mode": Assessment._meta.get_field("failure_mode").max_length,
            "impact_reason": Assessment._meta.get_field("impact_reason").max_length,
            "defect": Defect._meta.get_field("kind").max_length,
            "defect_note": Defect._meta.get_field("note").max_length,
            "option_note": NOTE_MAX,
            "target": Target._meta.get_field("name").max_length,
        },
    }
