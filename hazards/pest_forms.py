"""Forms of the watch for pests."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms
from django.utils import timezone

from hazards.models import PestWatch, PruningLimit

DATE, ISO = {"type": "date"}, "%Y-%m-%d"


class PestWatchForm(forms.ModelForm[PestWatch]):
    since = forms.DateField(label="Watched since", widget=forms.DateInput(DATE, ISO), initial=timezone.localdate)

    class Meta:
        model = PestWatch
        fields: ClassVar = ["pest", "since", "note"]


class EndForm(forms.Form):
    ended_on = forms.DateField(label="Ended on", widget=forms.DateInput(DATE, ISO), initial=timezone.localdate)


class LimitForm(forms.ModelForm[PruningLimit]):
    class Meta:
        model = PruningLimit
        fields: ClassVar = ["genus", "region", "first", "last", "rule", "authority"]
        help_texts: ClassVar = {
            "region": "Where it holds: the city, or a part of it.",
            "first": "Month and day, for example 04-15.",
            "last": "Month and day; included.",
            "rule": "For example: no pruning but to avert danger.",
            "authority": "Who says so, and where it can be read.",
        }

    def __init__(self, data: Any = None, *, watch: PestWatch) -> None:
        super().__init__(data, instance=PruningLimit(watch=watch))
        self.fields["genus"] = forms.ChoiceField(choices=[(genus, genus) for genus in watch.kind.genera])
