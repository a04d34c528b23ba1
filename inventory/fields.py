"""Form fields of the trade: lengths in the reader's unit, dates as far as they are known, a position as one pair.

A form that holds lengths inherits from `InUnits` and is made with ``units=units_of(request)``.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.models import DatePrecision, Tree
from inventory.units import METRES_PER, Units, parse_length_m


class InUnits(forms.BaseForm):
    """Mixin for forms: gives each length field the unit that the reader chose."""

    def __init__(self, *args: Any, units: Units = Units.METRIC, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, LengthField):
                field.show_in(units)


class ShownField(forms.CharField):
    """Text that stands for a value: it has changed when the text is another than the one shown."""

    def has_changed(self, initial: Any, data: Any) -> bool:
        return bool(str(self.prepare_value(initial) or "") != str(data or "").strip())


class LengthField(ShownField):
    """A length, typed as ``14 in``, ``36 cm``, ``6' 4"`` or a bare number in the reader's unit; cleaned to a float.

    ``store`` is the unit of the cleaned value and of the bounds, ``cm`` or ``m``; empty cleans to None. The figure shown is
    rounded, so a form that edits a stored length should save only what stands in ``form.changed_data``.
    """

    def __init__(
        self,
        *,
        store: str,
        maximum: float,
        minimum: float = 0.0,
        unit_metric: str = "",
        unit_us: str = "",
        **kwargs: Any,
    ) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"class": "short", "autocomplete": "off"}))
        super().__init__(**kwargs)
        self.store, self.minimum, self.maximum = store, minimum, maximum
        self.unit_of = {
            Units.METRIC: unit_metric or store,
            Units.US: unit_us or {"cm": "in", "m": "ft"}[store],
        }
        self.hint = self.help_text
        self.show_in(Units.METRIC)

    def show_in(self, units: Units) -> None:
        self.unit = self.unit_of[units]
        self.help_text = self.hint or f"For example {self._example(units)}; a bare number is in {self.unit}."

    def _example(self, units: Units) -> str:
        pair = ("36 cm", "14 in") if self.store == "cm" else ("12 m", "40 ft")
        return " or ".join(pair if units is Units.METRIC else reversed(pair))

    def _shown(self, value: float) -> str:
        """In the reader's unit, to a hundredth, without idle zeros: ``35.56 cm``, ``14 in``."""
        number = value * METRES_PER[self.store] / METRES_PER[self.unit]
        return f"{number:.2f}".rstrip("0").rstrip(".") + f" {self.unit}"

    def prepare_value(self, value: Any) -> Any:
        return self._shown(value) if isinstance(value, int | float) else value

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        return self._read(text) if text else None

    def _read(self, text: str) -> float:
        try:
            length = round(parse_length_m(text, self.unit) / METRES_PER[self.store], 6)
        except ValueError as error:
            raise ValidationError(str(error), code="invalid") from None
        if not self.minimum <= length <= self.maximum:
            low, high = self._shown(self.minimum), self._shown(self.maximum)
            raise ValidationError(f"{text} is out of range; give {low} to {high}.", code="out_of_range")
        return length


class LengthListField(LengthField):
    """Several lengths, ``30 cm + 25 cm`` (or with semicolons, or on lines of their own); cleaned to a list of floats."""

    def prepare_value(self, value: Any) -> Any:
        return " + ".join(map(self._shown, value)) if isinstance(value, list) else value

    def to_python(self, value: Any) -> Any:
        text = forms.CharField.to_python(self, value) or ""
        return [self._read(part.strip()) for part in re.split(r"[+;\n]", text) if part.strip()]


@dataclass(frozen=True)
class PartialDate:
    """A day, with how much of it is known."""

    day: dt.date
    precision: DatePrecision

    @classmethod
    def of(cls, tree: Tree) -> PartialDate | None:
        """When the tree was planted."""
        return cls(tree.planted_on, DatePrecision(tree.planted_precision)) if tree.planted_on else None

    def __str__(self) -> str:
        return self.day.strftime({"year": "%Y", "month": "%Y-%m", "day": "%Y-%m-%d"}[self.precision.value])


_DATE = re.compile(r"\d{4}(-\d{1,2}){0,2}")
_PRECISIONS = (DatePrecision.YEAR, DatePrecision.MONTH, DatePrecision.DAY)


class PartialDateField(ShownField):
    """A date as far as it is known: ``2019``, ``2019-05`` or ``2019-05-14``; cleaned to a PartialDate or None."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", "As far as it is known: 2019, 2019-05 or 2019-05-14.")
        kwargs.setdefault("widget", forms.TextInput(attrs={"class": "short", "autocomplete": "off"}))
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        return str(value) if isinstance(value, PartialDate) else value

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        parts = [int(part) for part in text.split("-")] if _DATE.fullmatch(text) else []
        try:
            day = dt.date(*[*parts, 1, 1][:3])
        except (TypeError, ValueError):
            raise ValidationError(
                f"“{text}” is not a date; write 2019, 2019-05 or 2019-05-14.", code="invalid"
            ) from None
        return PartialDate(day, _PRECISIONS[len(parts) - 1])


@dataclass(frozen=True)
class Position:
    """Degrees, WGS 84; written latitude first, as phones and maps do."""

    lon: float
    lat: float

    def __str__(self) -> str:
        return f"{self.lat:.6f}, {self.lon:.6f}"


_PAIR = re.compile(r"(?P<lat>[-+]?\d{1,3}(?:\.\d+)?)\s*[,;\s]\s*(?P<lon>[-+]?\d{1,3}(?:\.\d+)?)")


class PositionField(ShownField):
    """Latitude and longitude in decimal degrees, as a phone gives them: ``47.20341, 8.51172``; a Position or None."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", "Latitude, longitude in decimal degrees, for example 47.20341, 8.51172.")
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off"}))
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        return str(value) if isinstance(value, Position) else value

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        pair = _PAIR.fullmatch(text)
        if pair is None:
            raise ValidationError(
                f"“{text}” is not a position; write latitude, longitude in decimal degrees, for example 47.20341, 8.51172.",
                code="invalid",
            )
        lat, lon = float(pair["lat"]), float(pair["lon"])
        if abs(lat) > 90 or abs(lon) > 180:
            raise ValidationError(
                "The latitude goes from -90 to 90 and the longitude from -180 to 180; write the latitude first.",
                code="out_of_range",
            )
        return Position(lon, lat)
