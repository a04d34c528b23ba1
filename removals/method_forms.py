"""Forms of the comparison of methods, and of the city's rules for removals."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms

from removals.estimates import HOURS_LEAST, HOURS_MOST, WEEK_HOURS_MOST
from removals.forms import words_field
from removals.methods import Access, MethodRow, Ruling
from removals.plan_fields import number

LOOKED = (("", "nobody has looked"), ("yes", "yes"), ("no", "no"))
ANSWERS = {"yes": True, "no": False}
MOST = 1_000_000


def _asked(label: str) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=LOOKED, required=False)


class AccessForm(forms.Form):
    """What the place allows; sent in the address, so that a comparison can be shared."""

    lift = _asked("A lift can be brought to the tree")
    crane = _asked("A crane can be brought to the tree")
    machine = _asked("A machine that holds the stem can be brought to the tree")
    wires_isolated = forms.BooleanField(label="The owner of the wires has isolated them", required=False)

    def access(self) -> Access:
        data = self.cleaned_data if self.is_valid() else {}
        answers = {name: ANSWERS.get(data.get(name, "")) for name in ("lift", "crane", "machine")}
        return Access(**answers, wires_isolated=bool(data.get("wires_isolated")))


def typed(access: dict[str, Any]) -> dict[str, str]:
    """A kept `Access` as the form would have sent it."""
    words = {True: "yes", False: "no"}
    answers = {name: words[access[name]] for name in ("lift", "crane", "machine") if access.get(name) is not None}
    return {**answers, **({"wires_isolated": "on"} if access.get("wires_isolated") else {})}


class ChooseForm(forms.Form):
    method = forms.ChoiceField(label="How the tree is taken down", widget=forms.RadioSelect)
    reason = words_field("Why this one", 300)

    def __init__(self, *args: Any, rows: Sequence[MethodRow], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.open = [row for row in rows if row.ruling is not Ruling.RULED_OUT]
        self.fields["method"].choices = [(row.method.value, row.method.capitalize()) for row in self.open]  # type: ignore[attr-defined]


class RulesForm(forms.Form):
    """Rates in the city's own money, what it can hire, and the dates and intervals it has set."""

    person_hour = number("One of the crew, an hour", 0, MOST)
    climber_hour = number("A climber, an hour", 0, MOST)
    lift_day = number("A lift with its operator, a day", 0, MOST)
    crane_day = number("A crane with its operator, a day", 0, MOST)
    machine_day = number("A machine that holds the stem, a day", 0, MOST)
    lift_reach_m = number("The lift reaches up to, m", 1, 100)
    machine_most_cm = number("The machine holds stems up to, cm", 1, 300)
    small_hours = number("A small tree without a method takes a crew, h", HOURS_LEAST, HOURS_MOST)
    medium_hours = number("A medium tree, h", HOURS_LEAST, HOURS_MOST)
    large_hours = number("A large tree, h", HOURS_LEAST, HOURS_MOST)
    very_large_hours = number("A very large tree, h", HOURS_LEAST, HOURS_MOST)
    crew_people = forms.IntegerField(label="People of a crew", min_value=1, max_value=20)
    week_hours = number("Crew hours of a week, all crews together", 0, WEEK_HOURS_MOST)
    nesting_from = forms.CharField(label="Nesting season from", max_length=5, help_text="Month and day: 03-01.")
    nesting_to = forms.CharField(label="Nesting season to", max_length=5, help_text="Month and day: 08-31.")
    snag_inspection_months = forms.IntegerField(
        label="A standing snag is inspected every, months", min_value=1, max_value=120
    )
    stump_inspection_months = forms.IntegerField(
        label="A kept stump is inspected every, months", min_value=1, max_value=240
    )
