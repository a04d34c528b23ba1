"""The job briefing: held on a plan, then signed on the tablet by one person after the other."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from inventory.access import Permission, requires
from inventory.context import units_of
from inventory.errors import Refused
from inventory.record import Actor
from removals import briefing_work
from removals.briefing import checklist, unsigned
from removals.briefing_forms import (
    BaseSignals,
    BriefingForm,
    SignalFormSet,
    SignatureForm,
    first_card,
    first_signals,
)
from removals.emergency import LINES
from removals.models import CrewRole, FellingPlan, JobBriefing
from removals.plan_views import plan_context, the_plan
from removals.procedure import procedure
from removals.readiness import briefed_on, briefing_gaps, latest_plan, named_crew
from removals.taking_down import taking_down
from removals.views import the_order


@requires(Permission.READ, to_change=Permission.BRIEF_CREW)
def briefing(request: HttpRequest, pk: int) -> HttpResponse:
    """The briefing of a plan: who, the procedure, signals, weather, emergency card, checklist."""
    plan = the_plan(pk)
    order = the_order(plan.order_id)
    earlier = JobBriefing.objects.filter(plan__order=order).order_by("-held_at").first()
    data = request.POST if request.method == "POST" else None
    form = BriefingForm(
        data, down=taking_down(order, plan), units=units_of(request), initial=first_card(order, earlier)
    )
    # A bound row that equals its initial value counts as untouched and would be dropped.
    rows = SignalFormSet(data, initial=None if data else first_signals(earlier), prefix="signals")
    if form.is_valid() and rows.is_valid():
        held = _held(request, plan, form, rows)
        if held:
            return redirect("removals:held_briefing", held.pk)
    shown = plan_context(request, plan)
    context = {
        **shown,
        "order": order,
        "tree": order.tree,
        "form": form,
        "signals": rows,
        "crew": named_crew(order),
        "procedure": procedure(shown["inp"], shown["result"]),
    }
    return render(request, "removals/briefing.html", context)


def _held(request: HttpRequest, plan: FellingPlan, form: BriefingForm, rows: BaseSignals) -> JobBriefing | None:
    try:
        held = briefing_work.hold_briefing(
            by=Actor(request.user),
            plan=plan,
            checked=form.checked(),
            gust_ms=form.cleaned_data["gust_ms"],
            weather=form.cleaned_data["weather"],
            emergency_card=form.card(),
            agreed=rows.rows(),
        )
    except Refused as refused:
        form.add_error(None, str(refused))
        return None
    messages.success(request, "The briefing is kept. Now each person of the crew signs.")
    return held


@requires(Permission.READ, to_change=Permission.BRIEF_CREW)
def held_briefing(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A briefing that was held: each person signs in turn; who is still missing; what was agreed."""
    found = JobBriefing.objects.select_related("plan__order", "held_by").prefetch_related("signatures")
    held = get_object_or_404(found, pk=pk)
    order = the_order(held.plan.order_id)
    crew = named_crew(order)
    form = SignatureForm(request.POST if request.method == "POST" else None, initial={"role": _next_role(held)})
    if form.is_valid() and _signed(request, held, form):
        return redirect("removals:held_briefing", held.pk)
    signed = [each.name for each in held.signatures.all()]
    down = briefed_on(held, held.plan)
    items = checklist(pull_line=down.pull_line, method=down.method)
    context = {
        "held": held,
        "plan": held.plan,
        "order": order,
        "tree": order.tree,
        "form": form,
        "to_sign": [member for member in crew if unsigned([member], signed)],
        "covered": [item for item in items if item.key in held.checked],
        "card": [(line.label, held.emergency.get(line.key, "")) for line in LINES],
        "down": down,
        "gaps": briefing_gaps(held, held.plan, crew),
        "latest": latest_plan(order) == held.plan,
    }
    return render(request, "removals/held_briefing.html", context)


def _next_role(held: JobBriefing) -> CrewRole:
    """The first role that the plan asks for and nobody has signed in."""
    signed = {each.role for each in held.signatures.all()}
    pullers = [CrewRole.PULLER] if briefed_on(held, held.plan).pull_line else []
    wanted = (CrewRole.FELLER, *pullers, CrewRole.SPOTTER, CrewRole.CREW_LEAD)
    return next((role for role in wanted if role not in signed), CrewRole.SPOTTER)


def _signed(request: HttpRequest, held: JobBriefing, form: SignatureForm) -> bool:
    try:
        briefing_work.sign(by=Actor(request.user), briefing=held, **form.cleaned_data)
    except Refused as refused:
        form.add_error(None, str(refused))
        return False
    return True
