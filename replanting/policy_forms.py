"""The city's policy of replacement as a form: the way of counting with its rows, the times, the care."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from inventory.fields import InUnits, LengthField
from inventory.units import Units
from replanting.care import WATER_RULES
from replanting.city_policy import TIMES
from replanting.filters import words
from replanting.models import CountForm
from replanting.owed import CALIPER_MOST_CM, PRINTED, Row, Rule
from replanting.policy import Policy

DIAMETER_MOST_CM = 500.0
ROWS_MOST, ROWS_SPARE = 20, 2
COUNTING = ("form", "section", "counted", "stock", "dead_counted", "diseased_counted")


class RowForm(InUnits, forms.Form):
    """A row of the table; one without a diameter and an amount is none."""

    from_cm = LengthField(label="From diameter", store="cm", maximum=DIAMETER_MOST_CM, required=False)
    amount = forms.FloatField(label="Amount", required=False, min_value=0)
    section = forms.CharField(label="Code section", max_length=80, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.help_text = ""
        self.fields["amount"].widget.attrs["class"] = "short"

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or {}
        if (found.get("from_cm") is None) is not (found.get("amount") is None) and not self.errors:
            raise forms.ValidationError("A row has a diameter and an amount; give both, or empty it.")
        return found


RowFormSet = forms.formset_factory(RowForm, extra=ROWS_SPARE, max_num=ROWS_MOST)


class PolicyForm(InUnits, forms.Form):
    """``seen`` is the version that the person looks at; somebody else may change it meanwhile."""

    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0)
    form = forms.ChoiceField(label="Counted as", choices=words(CountForm.values))
    section = forms.CharField(label="Code section", max_length=80, required=False)
    counted = LengthField(
        label="The rows count trees of",
        store="cm",
        minimum=0.5,
        maximum=CALIPER_MOST_CM,
        help_text="Caliper; where the rows count trees.",
    )
    stock = LengthField(
        label="The city plants trees of",
        store="cm",
        minimum=0.5,
        maximum=CALIPER_MOST_CM,
        help_text="Caliper; turns inches owed into trees.",
    )
    dead_counted = forms.BooleanField(label="Dead trees are counted", required=False)
    diseased_counted = forms.BooleanField(label="Diseased trees are counted", required=False)
    plant_within_months = forms.IntegerField(label="Planted within", help_text="Months from the removal.")
    replant_within_months = forms.IntegerField(label="After a failure", help_text="Months from the loss.")
    guarantee_months = forms.IntegerField(label="Guarantee", help_text="Months from the planting.")
    visit_every_days = forms.IntegerField(label="Young trees visited every", help_text="Days.")
    water_rule = forms.ChoiceField(
        label="Watering rule", choices=[(rule.key, rule.name) for rule in WATER_RULES.values()]
    )

    def policy(self, rows: tuple[Row, ...]) -> Policy:
        """Of a valid form."""
        facts = self.cleaned_data
        rule = Rule(
            form=facts["form"],
            rows=rows,
            section=facts["section"],
            counted_cm=facts["counted"],
            stock_cm=facts["stock"],
            dead_counted=facts["dead_counted"],
            diseased_counted=facts["diseased_counted"],
        )
        return Policy(rule=rule, **{name: facts[name] for name in TIMES})


def first_values(policy: Policy, version: int) -> dict[str, Any]:
    rule = policy.rule
    times = {name: getattr(policy, name) for name in TIMES}
    return {
        "seen": version,
        "form": rule.form,
        "section": rule.section,
        "counted": rule.counted_cm,
        "stock": rule.stock_cm,
        "dead_counted": rule.dead_counted,
        "diseased_counted": rule.diseased_counted,
        **times,
    }


def first_rows(policy: Policy, begin_with: str) -> list[dict[str, Any]]:
    """The rows that hold, or those in print for another way of counting."""
    rows = PRINTED.get(begin_with, policy.rule.rows)
    return [{"from_cm": row.from_cm, "amount": row.amount, "section": row.section} for row in rows]


def rows_of(formset: Any) -> tuple[Row, ...]:
    """Of a valid set, in the order of their diameters."""
    filled = [form.cleaned_data for form in formset if form.cleaned_data.get("from_cm") is not None]
    rows = (Row(facts["from_cm"], facts["amount"], facts["section"]) for facts in filled)
    return tuple(sorted(rows, key=lambda row: row.from_cm))


def forms_of(data: Mapping[str, Any] | None, policy: Policy, version: int, begin_with: str, units: Units) -> Any:
    """The form and its rows, shown in the reader's unit."""
    first = first_values(policy, version)
    if begin_with in PRINTED:
        first["form"] = begin_with
    rows = RowFormSet(data, prefix="rows", initial=first_rows(policy, begin_with), form_kwargs={"units": units})
    return PolicyForm(data, initial=first, units=units), rows
