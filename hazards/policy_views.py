"""The city's policy: how soon work and inspections are due."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, ClassVar

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from hazards.city_policy import change_policy, current, fields_of, policy_of
from hazards.matrix import MEANING, Occupancy, Rating
from hazards.models import CityPolicy
from hazards.policy import DEFAULT, Policy
from hazards.triage import Criterion, Order
from inventory.access import Permission, allowed, requires
from inventory.errors import Refused
from inventory.models import RecordEntry
from inventory.record import Actor

HISTORY_SHOWN = 20
WORK = ["imminent_days", *(f"{rating.value}_days" for rating in reversed(Rating))]
OPEN_ENDED = ["moderate_days", "low_days"]
ROUNDS = [f"{use.value}_months" for use in reversed(Occupancy)]
LOOKS = ["dead_days", *(f"{rating.value}_look_days" for rating in reversed(Rating))]
CRITERION_WORDS = {
    Criterion.FAILURE_AND_IMPACT: "How likely it is to fail and hit",
    Criterion.CONSEQUENCES: "How grave the consequences are",
    Criterion.OCCUPANCY: "How much the target is used",
    Criterion.DECLINE: "Dead, then dying, and for how long",
    Criterion.WEAK_WOOD: "Weak-wooded species",
    Criterion.DUE: "The earlier day the work is due",
}
FIXED_WORDS = ("Imminent failure", "Rating")
PLACES = {criterion: f"place_{criterion.name.lower()}" for criterion in Criterion}
NOT_COUNTED = ""


class PolicyForm(forms.ModelForm[CityPolicy]):
    """``seen`` is the version that the person looks at; somebody else may change it meanwhile."""

    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0)

    class Meta:
        model = CityPolicy
        fields: ClassVar = [*WORK, *ROUNDS, *LOOKS, "rerating_days"]
        labels: ClassVar = {
            "imminent_days": "Imminent failure",
            "dead_days": "Standing dead trees",
            "rerating_days": "After work on a tree",
            **{f"{rating.value}_days": f"Rated {rating.value}" for rating in Rating},
            **{f"{rating.value}_look_days": f"While rated {rating.value}" for rating in Rating},
            **{f"{use.value}_months": f"{use.value.capitalize()} use" for use in Occupancy},
        }
        help_texts: ClassVar = {
            **dict.fromkeys(OPEN_ENDED, "Days; empty: at the next round."),
            "dead_days": "Days from one look to the next.",
            "rerating_days": "Days from the work to the look that rates the tree anew.",
            **{f"{rating.value}_look_days": "Days; empty: at the next round." for rating in Rating},
            **{name: "Days." for name in WORK if name not in OPEN_ENDED},
            **{f"{use.value}_months": f"Months: {MEANING[use]}." for use in Occupancy},
        }

    def __init__(self, data: Any = None, *, row: CityPolicy | None) -> None:
        version = row.version if row else 0
        holds = policy_of(row) if row else DEFAULT
        super().__init__(data, initial={**fields_of(holds), **places_of(holds.order), "seen": version})
        for criterion, name in PLACES.items():
            self.fields[name] = _place_field(criterion)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        given = [place for name in PLACES.values() if (place := cleaned.get(name))]
        for place in sorted({place for place in given if given.count(place) > 1}):
            self.add_error(None, f"Two criteria stand at place {place} of the order; give each a place of its own.")
        return cleaned

    def policy(self) -> Policy:
        """Of a valid form."""
        return replace(policy_of(self.save(commit=False)), order=self._order())

    def _order(self) -> Order:
        placed = [(int(place), criterion) for criterion, name in PLACES.items() if (place := self.cleaned_data[name])]
        return tuple(criterion for _, criterion in sorted(placed, key=lambda each: each[0]))

    def in_order(self) -> list[forms.BoundField]:
        """In the order that holds, those left out last."""
        places = {name: int(self.initial[name] or len(PLACES) + 1) for name in PLACES.values()}
        return [self[name] for name in sorted(PLACES.values(), key=lambda name: places[name])]


def places_of(order: Order) -> dict[str, str]:
    """Field → place from 1, empty for what does not count."""
    return {name: str(order.index(each) + 1) if each in order else NOT_COUNTED for each, name in PLACES.items()}


def _place_field(criterion: Criterion) -> forms.ChoiceField:
    places = [(str(place), str(place)) for place in range(1, len(Criterion) + 1)]
    return forms.ChoiceField(
        label=CRITERION_WORDS[criterion], choices=[*places, (NOT_COUNTED, "does not count")], required=False
    )


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
        "looks": [form[name] for name in LOOKS],
        "order": form.in_order(),
        "order_holds": [*FIXED_WORDS, *(CRITERION_WORDS[each] for each in current().order), "Tag"],
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
        *((f"Look again, {labels[name].lower()}", _every(fields[name])) for name in LOOKS),
        ("Rated anew after work on a tree", f"within {fields['rerating_days']} days"),
    ]


def _every(days: object) -> str:
    return "at the next round" if days is None else f"every {days} days"


def _days(days: object) -> str:
    if days is None:
        return "at the next round"
    return "on the same day" if days == 0 else f"within {days} day{'' if days == 1 else 's'}"
