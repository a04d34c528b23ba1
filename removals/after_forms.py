"""Forms of what follows the cut: how the felling went, and a tree that hangs."""

from __future__ import annotations

from typing import Any

from django import forms

from inventory.fields import LengthField
from removals.forms import OrderForm, day_field, words_field
from removals.measured import InAllUnits
from removals.outcome import Went
from removals.plan_fields import bearing

AS_PLANNED, OTHERWISE = "as planned", "otherwise"
HELD, BROKE, UNSEEN = "held", "broke early", "not seen"
HINGE = {HELD: True, BROKE: False, UNSEEN: None}
DIAMETER_MOST_CM = 500
HEIGHT_MOST_M = 120


def _pick(label: str, words: tuple[str, ...]) -> forms.ChoiceField:
    """Nothing is picked beforehand: the city learns from these, so an answer is one that somebody gave."""
    choices = [(word, word.capitalize()) for word in words]
    widget = forms.RadioSelect(attrs={"class": "choices--across"})
    return forms.ChoiceField(label=label, choices=choices, widget=widget)


class FellForm(InAllUnits, OrderForm):
    """When, how it went, and what was measured on the ground; it carries the digest of the plan that the page showed."""

    on = day_field("Felled on")
    how = _pick("It went", (AS_PLANNED, OTHERWISE))
    outcome = words_field("How it went, in words", 400, help_text="What was different: direction, hinge, hang-up.")
    hinge = _pick("The hinge", (HELD, BROKE, UNSEEN))
    hung_up = forms.BooleanField(label="It hung up on the way", required=False)
    actual_lay_deg = bearing(
        "Bearing it fell on", required=False, help_text="Along the stem on the ground, degrees from true north."
    )
    diameter_cm = LengthField(
        label="Diameter at the cut, measured", store="cm", minimum=1, maximum=DIAMETER_MOST_CM, required=False
    )
    height_m = LengthField(
        label="Height, measured along the ground", store="m", minimum=1, maximum=HEIGHT_MOST_M, required=False
    )
    near_miss = words_field(
        "A near miss, if there was one",
        1000,
        required=False,
        help_text="What nearly happened, and what kept it from happening. It is read to learn, not to blame.",
    )
    plan_digest = forms.CharField(widget=forms.HiddenInput, required=False, max_length=64)

    def __init__(self, *args: Any, felled: bool = True, **kwargs: Any) -> None:
        """``felled``: by its plan; else there is no hinge and no lay to report."""
        super().__init__(*args, **kwargs)
        if not felled:
            del self.fields["hinge"], self.fields["actual_lay_deg"]
            self.fields["on"].label = "Taken down on"

    def went(self) -> Went:
        data = self.cleaned_data
        return Went(
            as_planned=data["how"] == AS_PLANNED,
            hinge_held=HINGE[data.get("hinge", UNSEEN)],
            actual_lay_deg=data.get("actual_lay_deg"),
            hung_up=data["hung_up"],
            near_miss=data["near_miss"],
            diameter_cm=data["diameter_cm"],
            height_m=data["height_m"],
        )

    def report(self) -> dict[str, Any]:
        """What `workflow.fell` takes."""
        told = {name: self.cleaned_data[name] for name in ("on", "outcome", "plan_digest")}
        return {**told, "went": self.went()}


class LodgedForm(OrderForm):
    marked = words_field(
        "How the place is marked and kept clear", 300, help_text="Tape, cones, who stands guard, until when."
    )


class ClearLodgedForm(OrderForm):
    cleared_by = forms.CharField(label="Who brought it down", max_length=150)
    how = words_field("How it was brought down", 300)
