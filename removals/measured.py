"""Form fields for masses, forces and speeds, typed in any of their units; lengths have theirs in `inventory.fields`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.fields import InUnits, LengthField, ShownField
from inventory.units import KG_PER_LB, MS_PER_MPH, N_PER_LBF, Units


@dataclass(frozen=True)
class Quantity:
    """Units with their size in SI, the one a bare number has for each reader, and an example."""

    si_per: Mapping[str, float]
    metric: str
    us: str
    example: str


MASS = Quantity({"kg": 1.0, "t": 1000.0, "lb": KG_PER_LB}, "kg", "lb", "80 kg or 180 lb")
FORCE = Quantity({"n": 1.0, "kn": 1000.0, "lbf": N_PER_LBF}, "n", "lbf", "12 kN or 2700 lbf")
SPEED = Quantity({"m/s": 1.0, "km/h": 1 / 3.6, "mph": MS_PER_MPH}, "m/s", "mph", "5 m/s or 11 mph")
WRITTEN = {"n": "N", "kn": "kN"}
_TYPED = re.compile(r"(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>[a-z/]+)?")


class MeasuredField(ShownField):
    """A mass, force or speed with its unit, or a bare number in the reader's; cleaned to a float in SI, empty to None."""

    def __init__(self, quantity: Quantity, *, maximum: float, minimum: float = 0.0, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"class": "short", "autocomplete": "off"}))
        super().__init__(**kwargs)
        self.quantity, self.minimum, self.maximum = quantity, minimum, maximum
        self.unit = quantity.metric

    def show_in(self, units: Units) -> None:
        self.unit = self.quantity.us if units is Units.US else self.quantity.metric

    def _shown(self, value: float) -> str:
        number = f"{value / self.quantity.si_per[self.unit]:.2f}".rstrip("0").rstrip(".")
        return f"{number} {WRITTEN.get(self.unit, self.unit)}"

    def prepare_value(self, value: Any) -> Any:
        return self._shown(value) if isinstance(value, int | float) else value

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        return self._read(text) if text else None

    def _read(self, text: str) -> float:
        typed = _TYPED.fullmatch(text.lower())
        size = self.quantity.si_per.get(typed["unit"] or self.unit) if typed else None
        if typed is None or size is None:
            raise ValidationError(
                f"“{text}” is not understood; write for example {self.quantity.example}.", code="invalid"
            )
        value = float(typed["number"].replace(",", ".")) * size
        if not self.minimum <= value <= self.maximum:
            low, high = self._shown(self.minimum), self._shown(self.maximum)
            raise ValidationError(f"{text} is out of range; give {low} to {high}.", code="out_of_range")
        return value


class InAllUnits(InUnits):
    """Mixin for forms with lengths and other measures: each takes the reader's unit and says it in its hint."""

    def __init__(self, *args: Any, units: Units = Units.METRIC, **kwargs: Any) -> None:
        super().__init__(*args, units=units, **kwargs)
        for field in self.fields.values():
            if isinstance(field, MeasuredField):
                field.show_in(units)
                field.help_text = _hint(str(field.help_text), field.unit)
            elif isinstance(field, LengthField):
                field.help_text = _hint(str(field.hint), field.unit)


def _hint(words: str, unit: str) -> str:
    """The field's own words before its unit: many fields with a whole example each would read as noise."""
    return f"{words} In {WRITTEN.get(unit, unit)}, or with another unit.".strip()
