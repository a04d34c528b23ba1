"""Forms of the inspection: the look itself and the targets, and what all its forms share."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from uuid_utils.compat import uuid7

from hazards.matrix import MEANING, Level, Occupancy
from hazards.models import Inspection, InspectionLevel, Target, TargetKind
from inventory.bounds import DBH_MAX_CM, DBH_MIN_CM, HEIGHT_MAX_M, HEIGHT_MIN_M, SPREAD_MAX_M
from inventory.errors import Refused
from inventory.fields import InUnits, LengthField, Position, PositionField
from inventory.models import Condition
from inventory.photos import clean_jpeg

PHOTOS_MAX = 8
MOMENT = "%Y-%m-%dT%H:%M"


def explained(levels: type[Level]) -> list[tuple[str, str]]:
    """Choices that say what the trade means by its words."""
    return [
        (level.value, f"{level.value.capitalize()}: {MEANING[level]}" if level in MEANING else level.value.capitalize())
        for level in levels
    ]


def bare(levels: type[Level]) -> list[tuple[str, str]]:
    return [(level.value, level.value.capitalize()) for level in levels]


def capital(choices: Iterable[tuple[Any, str]]) -> list[tuple[Any, str]]:
    return [(value, label[:1].upper() + label[1:]) for value, label in choices]


def asks(sentence: str) -> dict[str, str]:
    """What a field says when it was left empty."""
    return {"required": sentence}


class Draft(forms.BaseForm):
    """Mixin: a form shown again before it is finished keeps what was typed and complains of nothing."""

    draft = False

    def full_clean(self) -> None:
        if self.draft:
            self._errors, self.cleaned_data = forms.utils.ErrorDict(), {}
        else:
            super().full_clean()


class PhotosInput(forms.ClearableFileInput):
    allow_multiple_selected = True


class PhotosField(forms.FileField):
    """Several photos at once; each is decoded here, so that a bad one is told before anything is stored."""

    widget = PhotosInput(attrs={"accept": "image/jpeg,image/png,image/webp", "multiple": True})

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        uploads = [super(PhotosField, self).clean(upload) for upload in data or ()]
        if len(uploads) > PHOTOS_MAX:
            raise ValidationError(f"{len(uploads)} photos are too many at once; choose at most {PHOTOS_MAX}.")
        for upload in uploads:
            self._look_at(upload)
        return uploads

    def _look_at(self, upload: Any) -> None:
        try:
            clean_jpeg(upload)
        except Refused as refusal:
            raise ValidationError(f"{upload.name}: {refusal}") from None
        upload.seek(0)


class InspectionForm(Draft, InUnits, forms.Form):
    """The look: when, how close, how the tree does, how large it is."""

    id = forms.UUIDField(widget=forms.HiddenInput)
    observed_at = forms.DateTimeField(
        label="Seen at", widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format=MOMENT)
    )
    level = forms.TypedChoiceField(
        label="Level of the inspection", choices=capital(InspectionLevel.choices), coerce=int, widget=forms.RadioSelect
    )
    condition = forms.ChoiceField(
        choices=[(value, value.capitalize()) for value in Condition.values],
        error_messages=asks("Pick the condition of the tree."),
        widget=forms.RadioSelect(attrs={"class": "choices--across"}),
    )
    dieback_pct = forms.IntegerField(label="Crown dieback, %", min_value=0, max_value=100, required=False)
    dbh_cm = LengthField(
        label="Diameter at breast height", store="cm", minimum=DBH_MIN_CM, maximum=DBH_MAX_CM, required=False
    )
    height_m = LengthField(label="Height", store="m", minimum=HEIGHT_MIN_M, maximum=HEIGHT_MAX_M, required=False)
    crown_spread_m = LengthField(label="Crown spread", store="m", maximum=SPREAD_MAX_M, required=False)
    note = forms.CharField(required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 4}))
    photos = PhotosField(
        required=False,
        help_text=f"Up to {PHOTOS_MAX}. Place and device that the camera wrote into them are not kept.",
    )

    @classmethod
    def fresh(cls) -> dict[str, Any]:
        """Initial values of a new look; the id is made here, so that sending the form twice stores it once."""
        return {"id": uuid7(), "observed_at": timezone.localtime(), "level": InspectionLevel.BASIC}

    @classmethod
    def of(cls, inspection: Inspection) -> dict[str, Any]:
        """Initial values of a correction: what was recorded, under a new id."""
        names = ("level", "condition", "dieback_pct", "dbh_cm", "height_m", "crown_spread_m", "note")
        kept = {name: getattr(inspection, name) for name in names}
        return {**kept, "id": uuid7(), "observed_at": timezone.localtime(inspection.observed_at)}

    def facts(self) -> dict[str, Any]:
        """Keyword arguments of an InspectionReport. What was only shown keeps its full digits and its seconds."""
        facts = {name: value for name, value in self.cleaned_data.items() if name != "photos"}
        shown = self.initial["observed_at"]
        if facts["observed_at"] == shown.replace(second=0, microsecond=0):
            facts["observed_at"] = shown
        for name in ("dbh_cm", "height_m", "crown_spread_m"):
            if name in self.initial and name not in self.changed_data:
                facts[name] = self.initial[name]
        return facts


class TargetForm(Draft, forms.ModelForm[Target]):
    """What could be hit, and how often people or property are there."""

    kind = forms.ChoiceField(choices=[(kind, kind.capitalize()) for kind in TargetKind.values])
    occupancy = forms.ChoiceField(choices=list(reversed(explained(Occupancy))), widget=forms.RadioSelect)
    movable = forms.BooleanField(label="It can be moved or closed", required=False)
    position = PositionField(required=False)

    class Meta:
        model = Target
        fields: ClassVar = ["name", "kind", "occupancy", "movable"]
        help_texts: ClassVar = {"name": "As one would say it: play area, east bench, Mill Road."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.lon is not None and self.instance.lat is not None:
            self.initial["position"] = Position(self.instance.lon, self.instance.lat)

    def target(self) -> Target:
        """Of a valid form, not yet saved."""
        target = self.save(commit=False)
        position = self.cleaned_data["position"]
        target.lon, target.lat = (position.lon, position.lat) if position else (None, None)
        return target
