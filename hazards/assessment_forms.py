"""The form of an assessment: one failure mode against one target, with the three picks and what would mend it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeVar, cast

from django import forms
from django.db.models import QuerySet

from hazards.forms import Draft, asks, bare, explained
from hazards.impact import MEANING as DIRECTION_MEANING
from hazards.impact import Direction, Fall, Suggestion, suggest
from hazards.matrix import Consequences, Exposure, Failure, Impact, Level, Occupancy
from hazards.models import Assessment, Part, Target
from hazards.observation import DISTANCE_MAX_M, AssessmentPick
from hazards.option_forms import OptionForm, option_forms
from hazards.options import OPTIONS_MAX, OptionPick
from inventory.fields import InUnits, LengthField

AnyLevel = TypeVar("AnyLevel", bound=Level)
ASSESSMENTS_MAX = 12


@dataclass(frozen=True)
class Seen:
    """What of the tree itself, as this look finds it, the suggestion is made from."""

    height_m: float | None
    scatters: bool


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
    direction = forms.ChoiceField(
        label="Where it would fall",
        choices=[
            ("", "Not said"),
            *((way.value, f"{way.value.capitalize()}: {DIRECTION_MEANING[way]}") for way in reversed(Direction)),
        ],
        required=False,
        help_text="Most likely, seen from the target.",
    )
    impact = forms.ChoiceField(
        label="Likelihood of impact",
        choices=[("", "As suggested"), *bare(Impact)],
        required=False,
        widget=forms.RadioSelect(attrs={"class": "choices--across"}),
        help_text="Suggested from the use of the target, how exposed it is, how far away, and where it would fall; shown below.",
    )
    impact_reason = forms.CharField(label="Why not as suggested", required=False, max_length=200)
    consequences = forms.ChoiceField(
        choices=explained(Consequences), widget=forms.RadioSelect, error_messages=asks("Pick the consequences.")
    )
    advised = forms.TypedChoiceField(
        label="Advised of these",
        required=False,
        choices=[(n, f"Option {n + 1}") for n in range(OPTIONS_MAX)],
        coerce=int,
        initial=0,
    )

    def __init__(self, *args: Any, targets: QuerySet[Target], seen: Seen, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.seen = seen
        self.options = option_forms(self.data if self.is_bound else None, self.prefix, self.initial.get("options", []))
        advised = self.fields["advised"]
        assert isinstance(advised, forms.TypedChoiceField)  # noqa: S101 - for the type checker
        advised.choices = [(n, f"Option {n + 1}") for n in range(len(self.options))]
        field = self.fields["target"]
        assert isinstance(field, forms.ModelChoiceField)  # noqa: S101 - for the type checker
        field.queryset = targets

    @classmethod
    def of(cls, assessment: Assessment) -> dict[str, Any]:
        """Initial values of a correction; the advised option comes first."""
        kept = {name: getattr(assessment, name) for name in cls.base_fields if name != "advised"}
        return {**kept, "options": [OptionForm.of(option) for option in assessment.options.all()]}

    def is_valid(self) -> bool:
        return all([super().is_valid(), *(option.is_valid() for option in self.options)])

    def has_changed(self) -> bool:
        # Which of the options is advised says nothing while there is none.
        return bool(set(self.changed_data) - {"advised"}) or any(option.has_changed() for option in self.options)

    def stay_draft(self) -> None:
        for form in (self, *self.options):
            form.draft = True

    def clean(self) -> dict[str, Any]:
        values: dict[str, Any] = super().clean() or {}
        suggestion, impact = self.suggestion(), self.picked("impact", Impact)
        if suggestion and impact and not values.get("impact_reason") and not suggestion.explains(impact):
            self.add_error(
                "impact_reason", f"The suggestion is {suggestion.impact.value}; say why it does not hold here."
            )
        return values

    def picked(self, name: str, levels: type[AnyLevel]) -> AnyLevel | None:
        """What was picked so far; None while it is not."""
        word = self.cleaned_data.get(name)
        return levels(word) if word else None

    def use(self) -> Occupancy | None:
        target = self.cleaned_data.get("target")
        return self.picked("occupancy", Occupancy) or (Occupancy(target.occupancy) if target else None)

    def suggestion(self) -> Suggestion | None:
        use, exposure = self.use(), self.picked("exposure", Exposure)
        if not use or not exposure:
            return None
        distance_m, direction = self.cleaned_data.get("distance_m"), self.picked("direction", Direction)
        return suggest(Fall(use, exposure, distance_m, self.seen.height_m, self.seen.scatters, direction))

    def picked_impact(self) -> Impact | None:
        """The inspector's, or the suggested one."""
        suggestion = self.suggestion()
        return self.picked("impact", Impact) or (suggestion.impact if suggestion else None)

    def option_picks(self) -> tuple[OptionPick, ...]:
        """Those that were filled in, as far as they go; a single one is the advised one."""
        advised = self.cleaned_data.get("advised") or 0
        filled = [
            (n, form) for n, form in enumerate(self.options) if getattr(form, "cleaned_data", {}).get("mitigation")
        ]
        picks = (form.option(chosen=n == advised or len(filled) == 1) for n, form in filled)
        return tuple(pick for pick in picks if pick)

    def pick(self) -> AssessmentPick:
        """Of a valid form."""
        values = self.cleaned_data
        impact = self.picked_impact()
        assert impact is not None  # noqa: S101 - target and exposure are required
        plain = ("part", "failure_mode", "time_frame_years", "target", "distance_m", "impact_reason")
        return AssessmentPick(
            **{name: values[name] for name in plain},
            options=self.option_picks(),
            direction=self.picked("direction", Direction),
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
