"""What a planner fills in for nursery stock: the list to order, what came, what is ordered again or written off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils import timezone
from uuid_utils.compat import uuid7

from inventory.fields import LengthField
from inventory.models import Species
from inventory.units import CM_PER_IN, Units
from replanting.forms import STOCKS, StepForm
from replanting.models import PlantingSeason, RejectReason, ReplacementTask, Stock, TaskState
from replanting.stock_list import SPARES_PCT, Wanted, spares
from replanting.stock_work import ORDERED_MOST
from replanting.workflow import CALIPER_MAX_CM

# A tree of two inches is what most codes ask for; a default, set with each line.
CALIPER_CM = 2 * CM_PER_IN


@dataclass(frozen=True)
class Group:
    """The tasks that ask for one taxon, none of them ordered yet."""

    species: Species
    cultivar: str
    tasks: tuple[ReplacementTask, ...]

    @property
    def key(self) -> str:
        return f"{self.species.pk}:{self.cultivar}"

    @property
    def name(self) -> str:
        return self.tasks[0].choice

    @property
    def trees(self) -> int:
        return sum(task.units for task in self.tasks)


def groups() -> list[Group]:
    """What waits to be ordered, by name of the taxon."""
    rows = ReplacementTask.objects.filter(state=TaskState.SPECIES_CHOSEN).select_related("species", "removed_tree")
    found: dict[tuple[int, str], list[ReplacementTask]] = {}
    for task in (
        rows.select_related("park", "moved_to")
        .defer("park__boundary", "moved_to__boundary")
        .order_by("species__botanical", "cultivar", "pk")
    ):
        found.setdefault((task.species_id or 0, task.cultivar), []).append(task)
    return [Group(_species(tasks[0]), tasks[0].cultivar, tuple(tasks)) for tasks in found.values()]


def _species(task: ReplacementTask) -> Species:
    if task.species is None:  # the database refuses this state
        raise ValueError("no species is chosen")
    return task.species


class LineForm(forms.Form):
    """One taxon of the list; it is ordered when its box is ticked."""

    take = forms.BooleanField(label="Order", required=False, initial=True)
    stock = forms.ChoiceField(choices=STOCKS, initial=Stock.BALLED)
    caliper = LengthField(store="cm", maximum=CALIPER_MAX_CM, minimum=0.5, initial=CALIPER_CM)
    spares = forms.IntegerField(min_value=0, max_value=ORDERED_MOST)

    def __init__(self, data: Any, *, group: Group, pct: int, units: Units) -> None:
        super().__init__(data, prefix=group.key)
        self.group = group
        self.fields["spares"].initial = spares(group.trees, pct)
        self.fields["caliper"].show_in(units)  # type: ignore[attr-defined]
        self.fields["caliper"].help_text = self.fields["spares"].help_text = ""
        for field, words in (("stock", "Stock"), ("caliper", "Caliper"), ("spares", "Spares"), ("take", "Order")):
            self.fields[field].widget.attrs["aria-label"] = f"{words} of {group.name}"

    def wanted(self) -> Wanted:
        typed = self.cleaned_data
        tasks = tuple(task.pk for task in self.group.tasks)
        group = self.group
        line = (group.species.pk, group.cultivar, typed["stock"], typed["caliper"])
        return Wanted(*line, tasks, typed["spares"], group.trees)


class NurseryOrderForm(StepForm):
    nursery = forms.CharField(max_length=120)
    season = forms.ChoiceField(label="For", choices=[(s, s.capitalize()) for s in PlantingSeason.values])
    year = forms.IntegerField(min_value=2000, max_value=2200)
    season_reason = forms.CharField(
        label="Why outside a window",
        max_length=300,
        required=False,
        help_text="Only when stock of the list is not planted in this season.",
    )
    field_order = ("nursery", "season", "year", "on", "season_reason")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        today = timezone.localdate()
        autumn = today.month <= 6
        self.fields["season"].initial = PlantingSeason.AUTUMN if autumn else PlantingSeason.SPRING
        self.fields["year"].initial = today.year if autumn else today.year + 1


class SparesForm(forms.Form):
    pct = forms.IntegerField(label="Spares, %", min_value=0, max_value=100, initial=SPARES_PCT)


def line_forms(data: Any, units: Units, pct: int) -> Iterator[LineForm]:
    for group in groups():
        yield LineForm(data, group=group, pct=pct, units=units)


class DeliveryForm(StepForm):
    # Sent twice, the delivery is stored once.
    id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid7)
    received = forms.IntegerField(label="Received", min_value=0, max_value=ORDERED_MOST, initial=0)
    rejected = forms.IntegerField(label="Rejected", min_value=0, max_value=ORDERED_MOST, initial=0)
    reason = forms.ChoiceField(
        label="Rejected for",
        choices=[("", "–"), *((reason, reason.capitalize()) for reason in RejectReason.values)],
        required=False,
    )
    note = forms.CharField(max_length=300, required=False)
    field_order = ("on", "received", "rejected", "reason", "note")


class AgainForm(StepForm):
    count = forms.IntegerField(label="Trees", min_value=1, max_value=ORDERED_MOST)
    field_order = ("count", "on")


class WriteOffForm(StepForm):
    count = forms.IntegerField(label="Trees", min_value=1, max_value=ORDERED_MOST)
    reason = forms.CharField(max_length=300, help_text="Dried out in the yard, stolen, broken.")
    field_order = ("count", "on", "reason")
