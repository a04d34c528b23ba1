"""Forms about one tree: its facts, a photo of it."""

from __future__ import annotations

import datetime as dt
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from inventory import tags
from inventory.bounds import DBH_MAX_CM, DBH_MIN_CM, HEIGHT_MAX_M, HEIGHT_MIN_M, SPREAD_MAX_M
from inventory.fields import (
    InUnits,
    LengthField,
    LengthListField,
    PartialDate,
    PartialDateField,
    Position,
    PositionField,
)
from inventory.models import Condition, Park, Species, Tree
from inventory.units import Units

LIGHT = (("full", "Full sun"), ("part", "Part shade"), ("shade", "Shade"))
MOISTURE = (("dry", "Dry"), ("medium", "Medium"), ("wet", "Wet"))
NOT_RECORDED = ("", "Not recorded")


class SpeciesChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    """Botanical name first, as the palette is sorted."""

    def label_from_instance(self, species: Any) -> str:
        return f"{species.botanical}, {species.common}" if species.common else species.botanical


class WordField(forms.ChoiceField):
    """A choice of words that also keeps the word there is, though an import brought another."""

    def offer(self, choices: Any, present: str) -> None:
        known = {word for word, _label in choices}
        self.choices = [NOT_RECORDED, *choices, *([] if present in {"", *known} else [(present, present.capitalize())])]


class EditTreeForm(InUnits, forms.Form):
    """All facts of a tree that are corrected by hand; its status changes through an inspection or an order only."""

    tag = forms.CharField(max_length=tags.TAG_MAX)
    park = forms.ModelChoiceField(Park.objects.only("name").order_by("name"))
    species = SpeciesChoice(Species.objects.only("botanical", "common"), required=False, empty_label="Species unknown")
    cultivar = forms.CharField(max_length=80, required=False, help_text="Without quotes: Crimson King.")
    condition = WordField(required=False, help_text="A tree found dead is recorded by an inspection.")
    dbh_cm = LengthField(
        store="cm", minimum=DBH_MIN_CM, maximum=DBH_MAX_CM, required=False, label="Diameter at breast height"
    )
    dbh_estimated = forms.BooleanField(required=False, label="The diameter is estimated, not measured")
    stems_cm = LengthListField(
        store="cm",
        minimum=DBH_MIN_CM,
        maximum=DBH_MAX_CM,
        required=False,
        label="Several stems",
        widget=forms.TextInput,
        help_text="Each stem's diameter, when there are several: 30 cm + 25 cm.",
    )
    height_m = LengthField(store="m", minimum=HEIGHT_MIN_M, maximum=HEIGHT_MAX_M, required=False, label="Height")
    crown_spread_m = LengthField(store="m", maximum=SPREAD_MAX_M, required=False, label="Crown spread")
    planted = PartialDateField(required=False)
    position = PositionField(required=False)
    growing_space_m = LengthField(
        store="m",
        maximum=SPREAD_MAX_M,
        required=False,
        label="Growing space",
        help_text="Width of the open ground, for example 2.5 m or 8 ft.",
    )
    overhead_lines = forms.NullBooleanField(required=False, widget=forms.NullBooleanSelect, label="Overhead lines")
    light = WordField(required=False)
    soil_moisture = WordField(required=False)
    note = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 3}))
    seen = forms.DateTimeField(widget=forms.HiddenInput, input_formats=["%Y-%m-%dT%H:%M:%S.%f%z"])

    def __init__(self, *args: Any, tree: Tree, units: Units, **kwargs: Any) -> None:
        super().__init__(*args, units=units, initial=facts_of(tree), **kwargs)
        alive = [(word.value, word.label.capitalize()) for word in Condition if word != Condition.DEAD]
        for name, words in {"condition": alive, "light": LIGHT, "soil_moisture": MOISTURE}.items():
            cast(WordField, self.fields[name]).offer(words, getattr(tree, name))

    def clean_tag(self) -> str:
        tag: str = self.cleaned_data["tag"]
        if fault := tags.fault(tag):
            raise ValidationError(f"{fault[0].upper()}{fault[1:]}.")
        return tag

    def clean_planted(self) -> PartialDate | None:
        planted: PartialDate | None = self.cleaned_data["planted"]
        if planted and planted.day > timezone.localdate():
            raise ValidationError("The day of planting lies in the future; a tree stands here when it is planted.")
        return planted

    def seen_at(self) -> dt.datetime:
        """When the tree that the form showed was last changed."""
        seen: dt.datetime = self.cleaned_data["seen"]
        return seen

    def changes(self) -> dict[str, Any]:
        """What was changed on the page, by field of the tree."""
        changed = {name: self.cleaned_data[name] for name in self.changed_data if name != "seen"}
        if "planted" in changed:
            planted = changed.pop("planted")
            changed["planted_on"] = planted.day if planted else None
            changed["planted_precision"] = planted.precision if planted else ""
        if "position" in changed:
            position = changed.pop("position")
            changed["lon"], changed["lat"] = (position.lon, position.lat) if position else (None, None)
        return changed


def facts_of(tree: Tree) -> dict[str, Any]:
    """The tree as the form shows it."""
    facts = {name: getattr(tree, name) for name in EditTreeForm.base_fields if hasattr(tree, name)}
    position = None if tree.lon is None or tree.lat is None else Position(tree.lon, tree.lat)
    return facts | {
        "park": tree.park_id,
        "species": tree.species_id,
        "planted": PartialDate.of(tree),
        "position": position,
        "seen": tree.updated_at.strftime("%Y-%m-%dT%H:%M:%S.%f%z"),
    }


class PhotoForm(forms.Form):
    file = forms.FileField(
        label="Photo", help_text="JPEG, PNG or WebP. Place, time and device are taken out of the file."
    )
    caption = forms.CharField(
        max_length=200, required=False, help_text="What it shows, for example: crack at the union."
    )
