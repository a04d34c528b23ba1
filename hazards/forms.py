"""Forms of the inspection: the look itself, the assessments, the targets."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, TypeVar, cast

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils import timezone
from uuid_utils.compat import uuid7

from hazards.matrix import MEANING, Consequences, Exposure, Failure, Impact, Level, Occupancy, Rating, suggest_impact
from hazards.models import Assessment, Inspection, InspectionLevel, Mitigation, Part, Target, TargetKind
from hazards.observation import DISTANCE_MAX_M, AssessmentPick
from inventory.bounds import DBH_MAX_CM, DBH_MIN_CM, HEIGHT_MAX_M, HEIGHT_MIN_M, SPREAD_MAX_M
from inventory.errors import Refused
from inventory.fields import InUnits, LengthField, Position, PositionField
from inventory.models import Condition
from inventory.photos import clean_jpeg

AnyLevel = TypeVar("AnyLevel", bound=Level)
PHOTOS_MAX = 8
ASSESSMENTS_MAX = 12
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


class TargetChoice(forms.ModelChoiceField[Target]):
    def label_from_instance(self, target: Any) -> str:
        return f"{target.name} ({target.occupancy} use)"


class AssessmentForm(Draft, InUnits, forms.Form):
    """One failure mode against one target, with the three picks."""

    title = "Assessment"
    part = forms.ChoiceField(
        label="What could fail",
        choices=[("", "Choose a part"), *((part, part.capitalize()) for part in Part.values)],
        error_messages=asks("Choose the part that could fail."),
    )
    failure_mode = forms.CharField(
        label="How it would fail",
        max_length=120,
        help_text="For example: splitting at the included bark.",
        error_messages=asks("Say how it would fail, for example: breaking at the cavity."),
    )
    time_frame_years = forms.TypedChoiceField(
        label="Within", choices=[(n, f"{n} year{'s' if n > 1 else ''}") for n in range(1, 6)], coerce=int, initial=1
    )
    failure = forms.ChoiceField(
        label="Likelihood of failure",
        choices=explained(Failure),
        widget=forms.RadioSelect,
        error_messages=asks("Pick the likelihood of failure."),
    )
    target = TargetChoice(
        label="What it would hit",
        queryset=Target.objects.none(),
        empty_label="Choose a target",
        error_messages=asks("Choose what it would hit; add the target above when it is not listed."),
    )
    occupancy = forms.ChoiceField(
        label="Use that day",
        choices=[("", "As usual"), *bare(Occupancy)],
        required=False,
        help_text="When the rating holds for another day than the ordinary one.",
    )
    distance_m = LengthField(label="Distance to it", store="m", maximum=DISTANCE_MAX_M, required=False)
    exposure = forms.ChoiceField(
        label="How exposed it is",
        choices=list(reversed(explained(Exposure))),
        widget=forms.RadioSelect,
        error_messages=asks("Pick how exposed the target is."),
    )
    impact = forms.ChoiceField(
        label="Likelihood of impact",
        choices=[("", "As suggested"), *bare(Impact)],
        required=False,
        widget=forms.RadioSelect(attrs={"class": "choices--across"}),
        help_text="Suggested from how much the target is used and how exposed it is; shown below.",
    )
    impact_reason = forms.CharField(label="Why not as suggested", required=False, max_length=200)
    consequences = forms.ChoiceField(
        choices=explained(Consequences), widget=forms.RadioSelect, error_messages=asks("Pick the consequences.")
    )
    mitigation = forms.ChoiceField(label="What would mend it", required=False, choices=capital(Mitigation.choices))
    residual_rating = forms.ChoiceField(
        label="Rating after that", required=False, choices=[("", "Not said"), *bare(Rating)]
    )

    def __init__(self, *args: Any, targets: QuerySet[Target], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["target"]
        assert isinstance(field, forms.ModelChoiceField)  # noqa: S101 - for the type checker
        field.queryset = targets

    @classmethod
    def of(cls, assessment: Assessment) -> dict[str, Any]:
        """Initial values of a correction."""
        return {name: getattr(assessment, name) for name in cls.base_fields}

    def clean(self) -> dict[str, Any]:
        values: dict[str, Any] = super().clean() or {}
        suggested = self.suggested_impact()
        if suggested and not values.get("impact_reason") and values.get("impact") not in {"", None, suggested.value}:
            self.add_error("impact_reason", f"The suggestion is {suggested.value}; say why it does not hold here.")
        return values

    def picked(self, name: str, levels: type[AnyLevel]) -> AnyLevel | None:
        """What was picked so far; None while it is not."""
        word = self.cleaned_data.get(name)
        return levels(word) if word else None

    def use(self) -> Occupancy | None:
        target = self.cleaned_data.get("target")
        return self.picked("occupancy", Occupancy) or (Occupancy(target.occupancy) if target else None)

    def suggested_impact(self) -> Impact | None:
        use, exposure = self.use(), self.picked("exposure", Exposure)
        return suggest_impact(use, exposure) if use and exposure else None

    def picked_impact(self) -> Impact | None:
        """The inspector's, or the suggested one."""
        return self.picked("impact", Impact) or self.suggested_impact()

    def pick(self) -> AssessmentPick:
        """Of a valid form."""
        values = self.cleaned_data
        impact = self.picked_impact()
        assert impact is not None  # noqa: S101 - target and exposure are required
        plain = ("part", "failure_mode", "time_frame_years", "target", "distance_m", "impact_reason", "mitigation")
        return AssessmentPick(
            **{name: values[name] for name in (*plain, "residual_rating")},
            exposure=Exposure(values["exposure"]),
            failure=Failure(values["failure"]),
            impact=impact,
            consequences=Consequences(values["consequences"]),
            occupancy=self.picked("occupancy", Occupancy),
        )


class AssessmentFormSet(forms.BaseFormSet[AssessmentForm]):
    """The assessments of one look. A row left empty, or ticked to be taken out, is not one."""

    def initial_form_count(self) -> int:
        return 0  # so that any row may be left empty

    def total_form_count(self) -> int:
        return super().total_form_count() if self.is_bound else max(1, len(self.initial or ()))

    def add_fields(self, form: AssessmentForm, index: int | None) -> None:
        super().add_fields(form, index)
        form.fields["DELETE"].label = "Leave this assessment out"
        form.title = f"Assessment {(index or 0) + 1}"

    def kept(self) -> list[AssessmentForm]:
        return [form for form in self.forms if form not in self.deleted_forms]

    def picks(self) -> tuple[AssessmentPick, ...]:
        """Of a valid formset."""
        return tuple(form.pick() for form in self.kept() if form.has_changed())


# The factory's types know the base class only.
AssessmentForms = cast(
    type[AssessmentFormSet],
    forms.formset_factory(
        AssessmentForm,
        formset=AssessmentFormSet,
        extra=0,
        can_delete=True,
        max_num=ASSESSMENTS_MAX,
        absolute_max=ASSESSMENTS_MAX,
        validate_max=True,
    ),
)


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
