"""What a person fills in at each step of a replacement. ``facts()`` is what the workflow function takes."""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from uuid_utils.compat import uuid7

from inventory.fields import InUnits, LengthField, PositionField, ShownField
from inventory.units import L_PER_GAL, Units
from replanting.models import FailureCause, ReplacementTask, Stock
from replanting.planting_checks import CHECKS, Check
from replanting.workflow import BALL_MAX_CM, CALIPER_MAX_CM

_VOLUME = re.compile(r"(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>[a-z]*)")
_LITRES_PER = {
    **dict.fromkeys(("l", "litre", "litres", "liter", "liters"), 1.0),
    **dict.fromkeys(("gal", "gallon", "gallons"), L_PER_GAL),
}


STOCKS = [(stock, stock.capitalize()) for stock in Stock.values]


class VolumeField(ShownField):
    """Water, typed as ``20 l``, ``5 gal`` or a bare number in the reader's unit; cleaned to litres or None."""

    unit = "l"

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"class": "short", "autocomplete": "off"}))
        super().__init__(**kwargs)

    def show_in(self, units: Units) -> None:
        self.unit = "gal" if units is Units.US else "l"
        self.help_text = (
            f"For example 20 l or 5 gal; a bare number is in {'US gallons' if units is Units.US else 'litres'}."
        )

    def to_python(self, value: Any) -> Any:
        text = (super().to_python(value) or "").lower()
        if not text:
            return None
        part = _VOLUME.fullmatch(text)
        litres = _LITRES_PER.get(part["unit"] or self.unit) if part else None
        if part is None or litres is None:
            raise ValidationError(f"“{text}” is not an amount of water; write for example 20 l or 5 gal.")
        return float(part["number"].replace(",", ".")) * litres


class StepForm(InUnits, forms.Form):
    """A step that happened on a day."""

    on = forms.DateField(label="On", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["on"].initial = timezone.localdate

    def about(self, task: ReplacementTask) -> None:
        """Fit the form to the task that it is shown for."""

    def facts(self) -> dict[str, Any]:
        return self.cleaned_data


class ReasonForm(StepForm):
    reason = forms.CharField(max_length=300, widget=forms.Textarea(attrs={"rows": 3}))


class ChooseForm(forms.Form):
    cultivar = forms.CharField(max_length=80, required=False, help_text="Without quotes, for example Beacon.")
    reason = forms.CharField(
        label="Why this species",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Stays with the choice: the place, the neighbours, the mix.",
    )


class OrderForm(StepForm):
    stock = forms.ChoiceField(choices=STOCKS, widget=forms.RadioSelect)
    nursery = forms.CharField(max_length=120)
    field_order = ("stock", "nursery", "on")


class PlantForm(StepForm):
    # Sent twice, the planting is stored once.
    id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid7, required=False)
    stock = forms.ChoiceField(choices=STOCKS, widget=forms.RadioSelect)
    caliper = LengthField(
        store="cm",
        maximum=CALIPER_MAX_CM,
        minimum=0.1,
        required=False,
        help_text="Stem diameter 6 in (15 cm) above ground, 12 in (30 cm) when it is over 4 in (10 cm).",
    )
    position = PositionField(
        required=False,
        help_text="Latitude, longitude as a phone gives them; left empty, the spot of the removed tree.",
    )
    ball = LengthField(
        label="Root ball across", store="cm", maximum=BALL_MAX_CM, minimum=1, required=False, unit_us="in"
    )
    crew = forms.CharField(max_length=120, required=False, help_text="Losses are told by crew.")
    season_reason = forms.CharField(
        label="Why outside the planting window",
        max_length=300,
        required=False,
        help_text="Only where the day lies outside of it.",
    )
    photo = forms.FileField(required=False, widget=forms.ClearableFileInput(attrs={"accept": "image/*"}))

    def __init__(self, *args: Any, units: Units = Units.METRIC, **kwargs: Any) -> None:
        super().__init__(*args, units=units, **kwargs)
        for check in CHECKS:
            self.fields[check.key] = _check_field(check, units)
        caliper = self.fields["caliper"]
        caliper.help_text = f"{caliper.help_text} A bare number is in {caliper.unit}."  # type: ignore[attr-defined]

    def about(self, task: ReplacementTask) -> None:
        if task.place:
            self.fields["position"].help_text = f"Left empty: the planting place {task.place.tag}."
        elif task.units > 1 or not task.on_the_old_spot:
            self.fields[
                "position"
            ].help_text = "Latitude, longitude as a phone gives them; needed, for it is a new spot."

    def facts(self) -> dict[str, Any]:
        typed = self.cleaned_data
        spot = typed["position"]
        return {
            "id": typed["id"],
            "on": typed["on"],
            "stock": typed["stock"],
            "caliper_cm": typed["caliper"],
            "ball_cm": typed["ball"],
            "crew": typed["crew"],
            "season_reason": typed["season_reason"],
            "lon": spot and spot.lon,
            "lat": spot and spot.lat,
            "checks": {
                check.key: answer for check in CHECKS if (answer := _answer(check, typed[check.key])) is not None
            },
            "photo": typed["photo"],
        }


def _check_field(check: Check, units: Units) -> forms.Field:
    if not check.measure:
        answers = [("yes", "Yes"), ("no", "No"), ("", "Not looked at")]
        return forms.ChoiceField(
            label=check.question,
            choices=answers,
            required=False,
            widget=forms.RadioSelect,
            help_text=f"{check.source}.",
        )
    field = LengthField(label=check.question, store="cm", maximum=check.most_cm, required=False)
    field.show_in(units)
    field.help_text = f"{field.help_text} {check.source}."
    return field


def _answer(check: Check, typed: Any) -> bool | float | None:
    return typed if check.measure else {"yes": True, "no": False}.get(typed)


class FailForm(StepForm):
    causes = forms.MultipleChoiceField(
        label="Lost to",
        choices=[(cause, cause.capitalize()) for cause in FailureCause.values],
        widget=forms.CheckboxSelectMultiple,
    )
    reason = forms.CharField(label="In words", max_length=200, required=False, widget=forms.Textarea(attrs={"rows": 3}))


class VisitForm(StepForm):
    # Sent twice, the visit is stored once.
    id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid7)
    alive = forms.ChoiceField(
        label="The tree is", choices=[("yes", "Alive"), ("no", "Dead")], initial="yes", widget=forms.RadioSelect
    )
    watered_l = VolumeField(label="Water given", required=False)
    saturated = forms.BooleanField(label="Root ball saturated: not watered", required=False)
    stakes_off = forms.BooleanField(label="Stakes taken off", required=False)
    note = forms.CharField(max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *args: Any, units: Units = Units.METRIC, **kwargs: Any) -> None:
        super().__init__(*args, units=units, **kwargs)
        self.fields["watered_l"].show_in(units)  # type: ignore[attr-defined]

    def facts(self) -> dict[str, Any]:
        return {**self.cleaned_data, "alive": self.cleaned_data["alive"] == "yes"}
