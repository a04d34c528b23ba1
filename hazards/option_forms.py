"""The form of one way to lower a rating: what would be done, and what of the picks it would change."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from hazards.forms import Draft, bare
from hazards.matrix import Consequences, Failure, Impact, Level, Rating
from hazards.models import MitigationOption
from hazards.options import MITIGATIONS, NOTE_MAX, OPTIONS_MAX, OptionPick

OPTIONS_SHOWN = 3


def _as_now(levels: type[Level]) -> list[tuple[str, str]]:
    return [("", "As now"), *bare(levels)]


class OptionForm(Draft, forms.Form):
    title = "Option"
    mitigation = forms.ChoiceField(
        label="What would mend it",
        required=False,
        choices=[("", "Nothing chosen"), *((word, word.capitalize()) for word in MITIGATIONS)],
    )
    failure = forms.ChoiceField(label="Failure after", required=False, choices=_as_now(Failure))
    impact = forms.ChoiceField(label="Impact after", required=False, choices=_as_now(Impact))
    consequences = forms.ChoiceField(label="Consequences after", required=False, choices=_as_now(Consequences))
    residual_rating = forms.ChoiceField(
        label="Rating after", required=False, choices=[("", "By the tables"), *bare(Rating)]
    )
    note = forms.CharField(label="Note on it", required=False, max_length=NOTE_MAX)

    def clean(self) -> dict[str, Any]:
        values: dict[str, Any] = super().clean() or {}
        said = [name for name in ("residual_rating", "failure", "impact", "consequences") if values.get(name)]
        if said and not values.get("mitigation"):
            word = values[said[0]]
            what = (
                f"A residual rating of {word}" if said[0] == "residual_rating" else f"“{word.capitalize()}” afterwards"
            )
            self.add_error("mitigation", f"{what} needs the mitigation that leads to it; choose one.")
        return values

    @classmethod
    def of(cls, option: MitigationOption) -> dict[str, Any]:
        """Initial values of a correction. Where picks were kept, the tables give the rating again."""
        kept = {name: getattr(option, name) for name in cls.base_fields}
        return {**kept, "residual_rating": ""} if option.failure else kept

    def option(self, *, chosen: bool) -> OptionPick | None:
        """As far as it goes; None where nothing was chosen."""
        values = self.cleaned_data
        if not values.get("mitigation"):
            return None
        return OptionPick(
            mitigation=values["mitigation"],
            residual_rating=values.get("residual_rating") or "",
            failure=Failure(values["failure"]) if values.get("failure") else None,
            impact=Impact(values["impact"]) if values.get("impact") else None,
            consequences=Consequences(values["consequences"]) if values.get("consequences") else None,
            note=values.get("note") or "",
            chosen=chosen,
        )


def option_forms(data: Any, prefix: str | None, initial: list[dict[str, Any]]) -> list[OptionForm]:
    """As many as were sent or kept before, and never fewer than are shown at first."""
    count = max(OPTIONS_SHOWN, len(initial), _sent(data or {}, prefix))
    found = []
    for n in range(min(count, OPTIONS_MAX)):
        form = OptionForm(data, prefix=f"{prefix}-option-{n}", initial=initial[n] if n < len(initial) else None)
        form.title = f"Option {n + 1}"
        found.append(form)
    return found


def _sent(data: Mapping[str, Any], prefix: str | None) -> int:
    return sum(f"{prefix}-option-{n}-mitigation" in data for n in range(OPTIONS_MAX))
