"""The city's policy: how soon work and inspections are due."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from hazards.city_policy import change_policy, current, fields_of, policy_of
from hazards.matrix import MEANING, Occupancy, Rating
from hazards.models import CityPolicy
from hazards.policy import DEFAULT, Policy
from inventory.access import Permission, allowed, requires
from inventory.errors import Refused
from inventory.models import RecordEntry
from inventory.record import Actor

HISTORY_SHOWN = 20
WORK = ["imminent_days", *(f"{rating.value}_days" for rating in reversed(Rating))]
OPEN_ENDED = ["moderate_days", "low_days"]
ROUNDS = [f"{use.value}_months" for use in reversed(Occupancy)]


class PolicyForm(forms.ModelForm[CityPolicy]):
    """``seen`` is the version that the person looks at; somebody else may change it meanwhile."""

    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0)

    class Meta:
        model = CityPolicy
        fields: ClassVar = [*WORK, *ROUNDS, "dead_days", "rerating_days"]
        labels: ClassVar = {
            "imminent_days": "Imminent failure",
            "dead_days": "Standing dead trees",
            "rerating_days": "After work on a tree",
            **{f"{rating.value}_days": f"Rated {rating.value}" for rating in Rating},
            **{f"{use.value}_months": f"{use.value.capitalize()} use" for use in Occupancy},
        }
        help_texts: ClassVar = {
            **dict.fromkeys(OPEN_ENDED, "Days; empty: at the next round."),
            "dead_days": "Days from one inspection to the next.",
            "rerating_days": "Days from the work to the look that rates the tree anew.",
            **{name: "Days." for name in WORK if name not in OPEN_ENDED},
            **{f"{use.value}_months": f"Months: {MEANING[use]}." for use in Occupancy},
        }

    def __init__(self, data: Any = None, *, row: CityPolicy | None) -> None:
        version = row.version if row else 0
        initial = {**fields_of(policy_of(row) if row else DEFAULT), "seen": version}
        super().__init__(data, initial=initial)

    def policy(self) -> Policy:
        """Of a valid form."""
        return policy_of(self.save(commit=False))


@requires(Permission.READ, to_change=Permission.SET_POLICY)
def policy(request: HttpRequest) -> HttpResponse:
    row = CityPolicy.objects.first()
    form = PolicyForm(request.POST or None, row=row)
    if form.is_valid() and (redirected := _change(request, form)):
        return redirected
    context = {
        "form": form,
        "work": [form[name] for name in WORK],
        "rounds": [form[name] for name in ROUNDS],
        "holds": _in_words(current()),
        "own": row is not None,
        "may_set": allowed(request.user, Permission.SET_POLICY),
        "history": RecordEntry.objects.filter(subject_type="hazards.citypolicy", subject_id="1")[:HISTORY_SHOWN],
    }
    return render(request, "hazards/policy.html", context)


def _change(request: HttpRequest, form: PolicyForm) -> HttpResponse | None:
    try:
        count = change_policy(by=Actor(request.user), policy=form.policy(), seen=form.cleaned_data["seen"])
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return None
    trees = f"{count:,} tree{'' if count == 1 else 's'}"
    messages.success(request, f"The policy holds from now on; the dates of {trees} changed with it.")
    return redirect("hazards:policy")


def _in_words(holds: Policy) -> list[tuple[str, str]]:
    """Label and time of each line."""
    labels = PolicyForm.Meta.labels
    fields = fields_of(holds)
    return [
        *((f"Work, {labels[name].lower()}", _days(fields[name])) for name in WORK),
        *((f"Inspection, {labels[name].lower()}", f"every {fields[name]} months") for name in ROUNDS),
        ("Inspection, standing dead trees", f"every {fields['dead_days']} days"),
        ("Rated anew after work on a tree", f"within {fields['rerating_days']} days"),
    ]


def _days(days: int | None) -> str:
    if days is None:
        return "at the next round"
    return "on the same day" if days == 0 else f"within {days} day{'' if days == 1 else 's'}"
