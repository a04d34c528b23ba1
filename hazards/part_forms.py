"""Forms of what was found on each part of the tree: boxes to tick, figures beside those that are measured."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from hazards.defects import KINDS, Kind, Measure
from hazards.forms import Draft
from hazards.models import Defect
from hazards.observation import DefectFound
from inventory.fields import InUnits, LengthField
from inventory.units import Units

# Title of the chapter and what to look at, in the order in which one walks around a tree.
CHAPTERS = {
    "roots": "Roots and soil",
    "root collar": "Root collar",
    "trunk": "Trunk",
    "union": "Unions",
    "limb": "Limbs",
    "crown": "Crown",
}


@dataclass(frozen=True)
class Row:
    """One kind of finding: its box and, when it is measured, its figure."""

    box: BoundField
    figure: BoundField | None
    measure: Measure | None


def _figure_field(kind: Kind, measure: Measure, units: Units) -> forms.Field:
    label = f"{kind.name.capitalize()}, {measure.of}"
    if measure.unit == "cm":
        length = LengthField(label=label, store="cm", maximum=measure.maximum, required=False)
        length.show_in(units)
        return length
    widget = forms.NumberInput(attrs={"class": "short", "step": "any"})
    return forms.FloatField(label=label, min_value=0, max_value=measure.maximum, required=False, widget=widget)


class PartForm(Draft, InUnits, forms.Form):
    """What was found on one part. A figure given without its tick counts as found."""

    other = forms.CharField(label="Anything else", required=False, max_length=60)
    remark = forms.CharField(label="Remark", required=False, max_length=200)

    def __init__(self, *args: Any, part: str, units: Units = Units.METRIC, **kwargs: Any) -> None:
        super().__init__(*args, units=units, **kwargs)
        self.part, self.title, self.kinds = part, CHAPTERS[part], KINDS[part]
        for number, kind in enumerate(self.kinds):
            self.fields[f"found_{number}"] = forms.BooleanField(label=kind.name.capitalize(), required=False)
            if kind.measure:
                self.fields[f"figure_{number}"] = _figure_field(kind, kind.measure, units)

    @property
    def rows(self) -> Iterator[Row]:
        for number, kind in enumerate(self.kinds):
            figure = self[f"figure_{number}"] if kind.measure else None
            yield Row(self[f"found_{number}"], figure, kind.measure)

    @staticmethod
    def of(part: str, defects: Iterable[Defect]) -> dict[str, Any]:
        """Initial values of a correction."""
        numbers = {kind.name: number for number, kind in enumerate(KINDS[part])}
        initial: dict[str, Any] = {}
        for defect in defects:
            if defect.part != part:
                continue
            initial["remark"] = initial.get("remark") or defect.note
            if defect.kind in numbers:
                initial[f"found_{numbers[defect.kind]}"] = True
                initial[f"figure_{numbers[defect.kind]}"] = defect.value
            else:
                initial["other"] = "; ".join(filter(None, [initial.get("other"), defect.kind]))
        return initial

    def found(self) -> list[DefectFound]:
        """Of a valid form; the remark goes with the first finding."""
        values = self.cleaned_data
        kinds = [
            (kind.name, figure, kind.measure.unit if kind.measure and figure is not None else "")
            for number, kind in enumerate(self.kinds)
            if (figure := values.get(f"figure_{number}")) is not None or values[f"found_{number}"]
        ]
        if values["other"] or (values["remark"] and not kinds):
            kinds.append((values["other"] or "other finding", None, ""))
        remarks = [values["remark"], *[""] * len(kinds)]
        return [
            DefectFound(self.part, name, figure, unit, remark)
            for (name, figure, unit), remark in zip(kinds, remarks, strict=False)
        ]
