"""What a person fills in to move, split, merge or waive what is owed, and to say what stands in the way."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.models import Park, PlantingPlace
from replanting.filters import words
from replanting.forms import ReasonForm, StepForm
from replanting.models import ObstacleKind, ReplacementTask, TaskState, WaiverKind
from replanting.owing import TREES_MOST
from replanting.parting import mates

PLACES_SHOWN = 20


def vacant_places() -> Any:
    """Planting places that nothing is to be planted on, of those whose position is known."""
    taken = ReplacementTask.objects.exclude(state__in=[TaskState.WAIVED, TaskState.MERGED]).filter(place__isnull=False)
    return PlantingPlace.objects.filter(lon__isnull=False).exclude(pk__in=taken.values("place"))


class MoveForm(ReasonForm):
    place = forms.CharField(
        label="Planting place",
        max_length=40,
        required=False,
        help_text="The tag of a vacant one; it says which park, and where.",
    )
    park = forms.ModelChoiceField(
        Park.objects.only("code", "name").order_by("name"),
        to_field_name="code",
        label="Or a park",
        required=False,
        help_text="When the spot is not chosen yet.",
    )
    field_order = ("place", "park", "reason", "on")

    def clean_place(self) -> PlantingPlace | None:
        tag = self.cleaned_data["place"].strip()
        if not tag:
            return None
        place = PlantingPlace.objects.select_related("park").filter(tag=tag).first()
        if place is None:
            raise ValidationError(f"There is no planting place “{tag}”; give the tag of a vacant one, or a park.")
        return place


class SplitForm(ReasonForm):
    units = forms.IntegerField(label="Trees to split off", min_value=1)
    field_order = ("units", "reason", "on")

    def about(self, task: ReplacementTask) -> None:
        self.fields["units"].help_text = f"1 to {task.units - 1}, of {task.units}."


class TaskField(forms.ModelChoiceField[ReplacementTask]):
    def label_from_instance(self, obj: ReplacementTask) -> str:
        many = f"{obj.units} trees" if obj.units > 1 else "1 tree"
        return f"{many}, {obj.choice or 'species not chosen'}, due {obj.due_on:%-d %b %Y}"


class MergeForm(ReasonForm):
    into = TaskField(ReplacementTask.objects.none(), label="Together with", empty_label=None, widget=forms.RadioSelect)
    field_order = ("into", "reason", "on")

    def about(self, task: ReplacementTask) -> None:
        self.fields["into"].queryset = mates(task)  # type: ignore[attr-defined]


class WaiveForm(ReasonForm):
    kind = forms.ChoiceField(
        label="How", choices=words(WaiverKind.values), initial=WaiverKind.LET_GO, widget=forms.RadioSelect
    )
    units = forms.IntegerField(label="Trees waived", min_value=1, required=False)
    field_order = ("kind", "units", "reason", "on")

    def about(self, task: ReplacementTask) -> None:
        if task.units == 1:
            del self.fields["units"]
            return
        self.fields["units"].help_text = f"Of {task.units}; the others stay owed."
        self.initial.setdefault("units", task.units)


class ObstacleForm(StepForm):
    kind = forms.ChoiceField(
        label="What stands in the way", choices=words(ObstacleKind.values), widget=forms.RadioSelect
    )
    note = forms.CharField(
        max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 3}), help_text="Needed with “other”."
    )
    field_order = ("kind", "note", "on")


class FixForm(ReasonForm):
    trees = forms.IntegerField(label="Trees owed", min_value=1, max_value=TREES_MOST)
    field_order = ("trees", "reason", "on")
