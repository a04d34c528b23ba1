"""Forms around a felling: work items, crew, workers and their tickets, kept places."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.db.models import Q

from inventory.fields import InUnits, LengthField
from removals.crew_work import TicketFacts
from removals.forms import day_field, words_field
from removals.kept_places import MOST_M
from removals.models import CrewRole, KeptKind, TicketKind, Worker, WorkKind
from removals.work_items import Item, Season

CREW_ROWS = 6
PERSON_LABEL = "Who looked, competent for wildlife"


def _date(label: str) -> forms.DateField:
    return forms.DateField(
        label=label, required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )


class SettleForm(forms.Form):
    """What has to be recorded of one item; its fields follow the table of items."""

    on = day_field("Done on")

    def __init__(self, *args: Any, item: Item, season: Season, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if item.checks:
            self.fields["checks"] = forms.MultipleChoiceField(
                label="Looked for",
                choices=[(check, check.capitalize()) for check in item.checks],
                widget=forms.CheckboxSelectMultiple,
                error_messages={"required": f"Look for {', '.join(item.checks)}, and tick each."},
            )
        if item.kind == WorkKind.NESTING:
            needed = f"Needed when the day of the work falls in the nesting season, {season}."
            self.fields["reference"] = forms.CharField(
                label=PERSON_LABEL, max_length=80, required=False, help_text=needed
            )
        elif item.reference:
            self.fields["reference"] = forms.CharField(label=item.reference, max_length=80)
        self.fields["note"] = words_field(item.note or "Note", 300, required=bool(item.note))


class ReasonForm(forms.Form):
    reason = words_field("Why", 300)


# ---- The crew --------------------------------------------------------------------------------------------------------


class WorkerField(forms.ModelChoiceField[Worker]):
    def label_from_instance(self, obj: Worker) -> str:
        tickets = ", ".join(f"{ticket.kind} until {ticket.expires_on:%-d %b %Y}" for ticket in obj.tickets.all())
        return f"{obj.name} ({tickets})" if tickets else f"{obj.name} (no ticket)"


class MemberForm(forms.Form):
    """One place in a crew; an empty row is nobody."""

    worker = WorkerField(label="Worker", queryset=Worker.objects.none(), required=False, empty_label="Nobody")
    role = forms.ChoiceField(
        label="Role", choices=[("", "–"), *((role, role.capitalize()) for role in CrewRole.values)], required=False
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        workers = Worker.objects.filter(active=True).prefetch_related("tickets")
        self.fields["worker"].queryset = workers  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("worker") and not data.get("role"):
            self.add_error("role", f"Give {data['worker'].name} a role.")
        return data


CrewFormSet = forms.formset_factory(MemberForm, extra=CREW_ROWS, max_num=CREW_ROWS, absolute_max=20)


def named(rows: Any) -> list[tuple[Worker, str]]:
    """The (worker, role) pairs of a valid `CrewFormSet`."""
    return [(row["worker"], row["role"]) for row in rows.cleaned_data if row.get("worker")]


class WorkerForm(forms.Form):
    """A worker with every kind of ticket; one without a day is a ticket that the worker does not hold."""

    name = forms.CharField(label="Name", max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    user = forms.ModelChoiceField(
        label="Signs in as",
        queryset=User.objects.none(),
        required=False,
        empty_label="Does not sign in",
        help_text="Only for somebody who also uses this program.",
    )
    first_aid_until = _date("First-aid training valid until")
    active = forms.BooleanField(label="Works in crews", required=False, initial=True)

    def __init__(self, *args: Any, worker: Worker | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        free = Q(worker=None) | Q(worker=worker)
        people = User.objects.filter(free, is_active=True).order_by("username")
        self.fields["user"].queryset = people  # type: ignore[attr-defined]
        for kind in TicketKind.values:
            self.fields[f"{kind}_until"] = _date(f"{kind.capitalize()} ticket valid until")
            self.fields[f"{kind}_number"] = forms.CharField(label="Its number", max_length=60, required=False)
        if worker:
            self.initial.update(_facts_of(worker))

    def ticket_rows(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return [(self[f"{kind}_until"], self[f"{kind}_number"]) for kind in TicketKind.values]

    def facts(self) -> dict[str, Any]:
        """What `save_worker` takes."""
        data = self.cleaned_data
        tickets = {
            kind: TicketFacts(data[f"{kind}_until"], data[f"{kind}_number"])
            for kind in TicketKind.values
            if data[f"{kind}_until"]
        }
        return {name: data[name] for name in ("name", "user", "first_aid_until", "active")} | {"tickets": tickets}


def _facts_of(worker: Worker) -> dict[str, str | bool | int | dt.date | None]:
    known: dict[str, str | bool | int | dt.date | None] = {
        "name": worker.name,
        "user": worker.user_id,
        "first_aid_until": worker.first_aid_until,
        "active": worker.active,
    }
    for ticket in worker.tickets.all():
        known |= {f"{ticket.kind}_until": ticket.expires_on, f"{ticket.kind}_number": ticket.number}
    return known


# ---- Kept places -----------------------------------------------------------------------------------------------------


class KeepForm(InUnits, forms.Form):
    kind = forms.ChoiceField(
        label="What stays",
        choices=[(KeptKind.SNAG, "A standing snag, made safe"), (KeptKind.STUMP, "The stump")],
        widget=forms.RadioSelect,
    )
    height_left_m = LengthField(store="m", maximum=MOST_M, label="Height left")
    reason = words_field("Why it is kept", 300, help_text="For example: habitat, what lives in it, or what it holds.")


class LookForm(forms.Form):
    on = day_field("On")
    note = words_field("What was seen", 300)
