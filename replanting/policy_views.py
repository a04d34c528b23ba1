"""The page of the city's policy of replacement."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory.access import Permission, allowed, requires
from inventory.context import units_of
from inventory.errors import Refused
from inventory.models import RecordEntry
from inventory.record import Actor
from replanting.care import WATER_RULES
from replanting.city_policy import TIMES, change_policy, policy_of
from replanting.models import ReplantingPolicy
from replanting.owed import FORMS, IN_INCHES, ONE, Count, Removed, Rule, Silent, count
from replanting.policy import DEFAULT, Policy
from replanting.policy_forms import COUNTING, PolicyForm, forms_of, rows_of

HISTORY_SHOWN = 20
EXAMPLES_CM = (15.0, 30.0, 45.0, 60.0, 90.0, 120.0)


@requires(Permission.READ, to_change=Permission.SET_POLICY)
def policy(request: HttpRequest) -> HttpResponse:
    row = ReplantingPolicy.objects.first()
    holds, version = (policy_of(row), row.version) if row else (DEFAULT, 0)
    sent = request.POST if request.method == "POST" else None
    form, rows = forms_of(sent, holds, version, request.GET.get("begin", ""), units_of(request))
    if sent and form.is_valid() and rows.is_valid() and (redirected := _change(request, form, rows)):
        return redirected
    context = {
        "form": form,
        "rows": rows,
        "counting": [form[name] for name in COUNTING],
        "times": [form[name] for name in TIMES],
        "begin_with": [(form, form.capitalize()) for form in FORMS if form != ONE],
        "holds": holds,
        "water": WATER_RULES[holds.water_rule],
        "in_inches": holds.rule.form in IN_INCHES,
        "examples": [(cm, _counted(holds.rule, cm)) for cm in EXAMPLES_CM],
        "own": row is not None,
        "may_set": allowed(request.user, Permission.SET_POLICY),
        "history": RecordEntry.objects.filter(subject_type="replanting.replantingpolicy", subject_id="1")[
            :HISTORY_SHOWN
        ],
    }
    return render(request, "replanting/policy.html", context)


def _counted(rule: Rule, dbh_cm: float) -> Count | None:
    """None: the rule does not speak of such a tree."""
    try:
        return count(rule, Removed(dbh_cm))
    except Silent:
        return None


def _change(request: HttpRequest, form: PolicyForm, rows: Any) -> HttpResponse | None:
    wanted: Policy = form.policy(rows_of(rows))
    try:
        change_policy(by=Actor(request.user), policy=wanted, seen=form.cleaned_data["seen"])
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return None
    messages.success(request, "The policy holds from now on; numbers that were fixed and promised days stay.")
    return redirect("replanting:policy")
