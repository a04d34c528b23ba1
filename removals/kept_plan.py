"""A felling plan as it is kept: plain data, a digest that signatures name, and the way back to the trade's own types."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields, is_dataclass
from enum import Enum
from types import UnionType
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from removals import felling
from removals.felling_input import FellingInput
from removals.felling_result import FellingPlanResult
from removals.felling_steps import Step, steps
from removals.ground_steps import ground_steps

Made = TypeVar("Made")


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """What JSON can hold of a plan. ``digest``: SHA-256 of the other three in canonical form, 64 hexadecimal digits."""

    inputs: dict[str, Any]
    results: dict[str, Any]
    assumptions: list[str]
    digest: str


def computed(inputs: FellingInput, assumptions: Sequence[str], entered: Mapping[str, Any]) -> KeptPlan:
    """Compute the plan, with each figure's steps, and make it plain."""
    result = felling.plan(inputs)
    opened = (*steps(inputs, result), *ground_steps(inputs, result))
    whole = {
        "inputs": {**asdict(inputs), "entered": dict(entered)},
        "results": {**asdict(result), "steps": [asdict(step) for step in opened]},
        "assumptions": list(assumptions),
    }
    # An infinite figure would be a fault of the method, not something to keep.
    canonical = json.dumps(whole, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return KeptPlan(**json.loads(canonical), digest=hashlib.sha256(canonical.encode()).hexdigest())


def read_input(inputs: Mapping[str, Any]) -> FellingInput:
    return _revived(FellingInput, inputs)


def read_result(results: Mapping[str, Any]) -> FellingPlanResult:
    return _revived(FellingPlanResult, results)


def read_steps(results: Mapping[str, Any]) -> tuple[Step, ...]:
    return tuple(Step(**step) for step in results["steps"])


def _revived(kind: type[Made], data: Mapping[str, Any]) -> Made:
    """A dataclass from the mapping that `asdict` and JSON made of it; keys that are not its fields are left out."""
    hints = get_type_hints(kind)
    names = [field.name for field in fields(kind) if field.name in data]  # type: ignore[arg-type]
    return kind(**{name: _value(hints[name], data[name]) for name in names})


def _value(hint: Any, value: Any) -> Any:
    if value is None:
        return None
    if get_origin(hint) in (Union, UnionType):
        (hint,) = (each for each in get_args(hint) if each is not type(None))
    if get_origin(hint) is tuple:
        return tuple(_value(get_args(hint)[0], each) for each in value)
    if is_dataclass(hint) and isinstance(hint, type):
        return _revived(hint, value)
    if isinstance(hint, type) and issubclass(hint, Enum):
        return hint(value)
    return value
