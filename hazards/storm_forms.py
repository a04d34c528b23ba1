"""Forms of a storm: opening and ending it, the quick sheet of a find, dealing with it."""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from uuid_utils.compat import uuid7

from hazards.forms import MOMENT, PhotosField, asks, explained
from hazards.matrix import Occupancy
from hazards.models import StormEvent
from hazards.models.storms import GUST_MAX_MS
from hazards.storm import KIND_WORDS, SIZE_MAX_CM, FindKind
from hazards.storms import LOOK_AGAIN_DAYS, LOOK_AGAIN_DAYS_MAX, FindReport
from inventory.bounds import DBH_MAX_CM
from inventory.fields import InUnits, LengthField, PositionField
from inventory.models import Park, Tree
from inventory.units import MS_PER_MPH, Units

MS_PER = {"m/s": 1.0, "km/h": 1 / 3.6, "mph": MS_PER_MPH, "kn": 1852 / 3600}
_SPEED = re.compile(r"(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>[a-z/]+)?")

YES_NO_UNSAID = (("", "Not known"), ("yes", "Yes"), ("no", "No"))


def moment_field(label: str) -> forms.DateTimeField:
    widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format=MOMENT)
    return forms.DateTimeField(label=label, initial=timezone.localtime, widget=widget)


class GustField(forms.CharField):
    """A wind speed as it is reported: ``90 km/h``, ``56 mph``, ``25 m/s``; cleaned to metres per second or None."""

    unit = "m/s"

    def to_python(self, value: Any) -> Any:
        text = (super().to_python(value) or "").strip().lower()
        if not text:
            return None
        part = _SPEED.fullmatch(text)
        factor = MS_PER.get(part["unit"] or self.unit) if part else None
        if part is None or factor is None:
            raise ValidationError(f"“{text}” is not a wind speed; write for example 90 km/h, 56 mph or 25 m/s.")
        gust_ms = float(part["number"].replace(",", ".")) * factor
        if gust_ms > GUST_MAX_MS:
            raise ValidationError(f"{text} is out of range; give up to {GUST_MAX_MS} m/s.")
        return round(gust_ms, 3)


class OpenStormForm(forms.Form):
    name = forms.CharField(max_length=80, help_text="For example: gale of 3 March.")
    began_at = moment_field("It began")
    gust_ms = GustField(label="Strongest gust", required=False)
    parks = forms.ModelMultipleChoiceField(
        queryset=Park.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        error_messages=asks("Choose at least one park that the storm has passed over."),
    )

    def __init__(self, *args: Any, units: Units, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["parks"].queryset = Park.objects.defer("boundary").order_by("name")  # type: ignore[attr-defined]
        gust = self.fields["gust_ms"]
        gust.unit = "mph" if units is Units.US else "m/s"  # type: ignore[attr-defined]
        gust.help_text = f"For example 56 mph, 90 km/h or 25 m/s; a bare number is in {gust.unit}."  # type: ignore[attr-defined]


class EndStormForm(forms.Form):
    days = forms.IntegerField(
        label="Others are looked at within days",
        min_value=1,
        max_value=LOOK_AGAIN_DAYS_MAX,
        initial=LOOK_AGAIN_DAYS,
        help_text=f"Rated moderate or more, or standing dead. {LOOK_AGAIN_DAYS} days is this program's own proposal.",
    )


class FindForm(InUnits, forms.Form):
    """The quick sheet. ``id`` is made with the form, so that sending it twice keeps the find once."""

    id = forms.UUIDField(widget=forms.HiddenInput)
    kind = forms.ChoiceField(
        label="What it is",
        choices=[(kind.value, KIND_WORDS[kind]) for kind in FindKind],
        widget=forms.RadioSelect(attrs={"class": "choices--across"}),
        error_messages=asks("Pick what it is."),
    )
    wires = forms.BooleanField(label="Wires are down, touched or pulled tight", required=False)
    emergency_way = forms.BooleanField(label="It blocks a way that ambulances or fire engines need", required=False)
    occupancy = forms.ChoiceField(
        label="How often people are there",
        choices=list(reversed(explained(Occupancy))),
        widget=forms.RadioSelect,
        error_messages=asks("Pick how often people are there."),
    )
    tag = forms.CharField(label="Tag of the tree", max_length=40, required=False)
    park = forms.ModelChoiceField(queryset=Park.objects.none(), to_field_name="code", required=False)
    place = forms.CharField(
        label="Place in words",
        max_length=200,
        required=False,
        help_text="Where there is no tree of ours, or no tag to read.",
    )
    position = PositionField(required=False)
    size_cm = LengthField(label="Diameter where it broke", store="cm", minimum=0.1, maximum=SIZE_MAX_CM, required=False)
    note = forms.CharField(required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))
    photos = PhotosField(required=False)
    dbh_cm = LengthField(label="Diameter at breast height", store="cm", minimum=0.1, maximum=DBH_MAX_CM, required=False)
    stump_cm = LengthField(
        label="Stump, at 2 ft or 0.6 m", store="cm", minimum=0.1, maximum=SIZE_MAX_CM, required=False
    )
    crown_lost_pct = forms.IntegerField(label="Crown lost, %", min_value=0, max_value=100, required=False)
    lean_deg = forms.IntegerField(label="Lean, degrees", min_value=0, max_value=90, required=False)
    public_property = forms.TypedChoiceField(
        label="On public ground",
        choices=YES_NO_UNSAID,
        coerce=lambda word: word == "yes",
        empty_value=None,
        required=False,
    )

    def __init__(self, *args: Any, event: StormEvent, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("id", uuid7())
        self.event = event
        self.fields["park"].queryset = event.parks.defer("boundary").order_by("name")  # type: ignore[attr-defined]

    def clean_tag(self) -> Tree | None:
        tag = self.cleaned_data["tag"].strip()
        if not tag:
            return None
        trees = Tree.objects.select_related("park").defer("park__boundary")
        if tree := trees.filter(tag__iexact=tag).first():
            return tree
        raise ValidationError(f"No tree has the tag “{tag}”; mend it, or leave it empty and say the place in words.")

    def report(self) -> FindReport:
        """Of a valid form."""
        facts = {name: value for name, value in self.cleaned_data.items() if name in FindReport.__dataclass_fields__}
        position = self.cleaned_data["position"]
        return FindReport(
            **{
                **facts,
                "kind": FindKind(facts["kind"]),
                "occupancy": Occupancy(facts["occupancy"]),
                "tree": self.cleaned_data["tag"],
                "photos": tuple(self.cleaned_data["photos"]),
                "lon": position.lon if position else None,
                "lat": position.lat if position else None,
            }
        )


class DealForm(forms.Form):
    how = forms.CharField(
        label="What was done",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="For example: limb cut and cleared, way open.",
    )


class CloseOffForm(forms.Form):
    id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid7)
    area = forms.CharField(label="What is closed", max_length=200, help_text="For example: the path along the pond.")
    barrier = forms.CharField(
        label="What keeps people out", max_length=200, help_text="For example: tape on three sides and two signs."
    )
