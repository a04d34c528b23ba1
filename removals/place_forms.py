"""Forms of the place: a thing by bearing and distance, and the reason why one is accepted in the swath."""

from __future__ import annotations

from typing import Any

from django import forms

from inventory.fields import InUnits, LengthField
from inventory.units import Units
from removals.forms import words_field
from removals.order_place import ADDED_KINDS
from removals.place_work import FARTHEST_M
from removals.plan_fields import bearing, length

POINTS = 6
SHOWN_POINTS = 2
NEAREST_M = 0.1

PointFields = tuple[forms.BoundField, forms.BoundField]


def _point_fields() -> dict[str, forms.Field]:
    fields: dict[str, forms.Field] = {}
    for n in range(1, POINTS + 1):
        fields[f"bearing_{n}"] = bearing(f"Point {n}: bearing", required=n == 1, help_text="")
        fields[f"distance_{n}"] = length(
            f"Point {n}: distance from the stump", "m", FARTHEST_M, minimum=NEAREST_M, required=n == 1
        )
    return fields


class ThingForm(InUnits, forms.Form):
    """What the inventory does not hold. Six points are enough for the corners of a building or a bent wire."""

    kind = forms.ChoiceField(
        label="What it is", choices=[(each.value, each.value.capitalize()) for each in ADDED_KINDS]
    )
    name = forms.CharField(label="Name", max_length=80, help_text="As the crew will call it, for example service drop.")

    def __init__(self, *args: Any, units: Units = Units.METRIC, **kwargs: Any) -> None:
        super().__init__(*args, units=units, **kwargs)
        for name, field in _point_fields().items():
            if isinstance(field, LengthField):
                field.show_in(units)
            self.fields[name] = field

    def points(self) -> list[tuple[float, float]]:
        """Of a valid form: bearing in degrees and distance in metres, in their order."""
        rows = ((self.cleaned_data[f"bearing_{n}"], self.cleaned_data[f"distance_{n}"]) for n in range(1, POINTS + 1))
        return [(bearing_deg, distance_m) for bearing_deg, distance_m in rows if distance_m is not None]

    def first_rows(self) -> list[PointFields]:
        return [self._row(n) for n in range(1, SHOWN_POINTS + 1)]

    def more_rows(self) -> list[PointFields]:
        return [self._row(n) for n in range(SHOWN_POINTS + 1, POINTS + 1)]

    def more_open(self) -> bool:
        return any(field.value() for row in self.more_rows() for field in row)

    def _row(self, n: int) -> PointFields:
        return self[f"bearing_{n}"], self[f"distance_{n}"]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        for n in range(1, POINTS + 1):
            for here, other in ((f"bearing_{n}", f"distance_{n}"), (f"distance_{n}", f"bearing_{n}")):
                if data.get(here) is None and data.get(other) is not None and here not in self.errors:
                    self.add_error(here, "A point takes both a bearing and a distance.")
        return data


class AcceptForm(forms.Form):
    name = forms.CharField(max_length=120, widget=forms.HiddenInput)
    reason = words_field(
        "Why the tree may fall on it", 300, help_text="For example: the bench is to be replaced anyway."
    )


class NameForm(forms.Form):
    """The thing that a button is about."""

    name = forms.CharField(max_length=120)
