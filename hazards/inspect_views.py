"""The inspection form: a new look at a tree, or the correction of one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from hazards.advice import Situation, advice
from hazards.assessment_forms import AssessmentForm, AssessmentForms, AssessmentFormSet, Seen
from hazards.forms import Draft, InspectionForm, TargetForm
from hazards.matrix import Consequences, Failure, Impact, Rated, failure_and_impact, rate
from hazards.models import Inspection, Standing, Target
from hazards.observation import scatters_when_it_falls
from hazards.options import residual_of
from hazards.part_forms import CHAPTERS, PartForm
from hazards.workflow import InspectionReport, record_inspection, save_target
from inventory.access import Permission, requires
from inventory.context import units_of
from inventory.errors import Refused
from inventory.models import Tree
from inventory.photos import add_photo
from inventory.record import Actor
from inventory.units import Units


@dataclass(frozen=True)
class Row:
    """One assessment of the form; ``outcome`` is what its picks lead to so far, None when nothing was sent yet."""

    form: AssessmentForm
    outcome: dict[str, Any] | None


@dataclass
class Sheet:
    """All forms of one page, filled together."""

    tree: Tree
    units: Units
    look: InspectionForm
    parts: list[PartForm]
    assessments: AssessmentFormSet
    target: TargetForm

    def checked(self) -> list[Draft]:
        options = (option for form in self.assessments.forms for option in form.options)
        return [self.look, *self.parts, *self.assessments.forms, *options]

    def is_valid(self) -> bool:
        # All of them, so that every fault is told at once.
        return all([self.look.is_valid(), *(part.is_valid() for part in self.parts), self.assessments.is_valid()])

    def faulty(self) -> list[Draft]:
        return [form for form in self.checked() if form.is_bound and form.errors]

    def rows(self) -> list[Row]:
        return [Row(form, self._outcome(form) if form.is_bound else None) for form in self.assessments.forms]

    def _outcome(self, form: AssessmentForm) -> dict[str, Any]:
        """Read whether or not the row is finished; its complaints are not shown here."""
        return outcome(row_of(form.data, form.prefix or "", self.tree, self.units), self.tree)

    def stay_draft(self) -> None:
        for form in self.checked():
            form.draft = True

    def go_to_last_row(self) -> None:
        if self.assessments.forms:
            self.assessments.forms[-1].fields["part"].widget.attrs["autofocus"] = True

    def report(self, supersedes: Inspection | None) -> InspectionReport:
        return InspectionReport(
            tree=self.tree,
            supersedes=supersedes,
            assessments=self.assessments.picks(),
            defects=tuple(found for part in self.parts for found in part.found()),
            **self.look.facts(),
        )


def row_of(data: Mapping[str, Any], prefix: str, tree: Tree, units: Units) -> AssessmentForm:
    """One assessment out of what was sent, as far as it goes."""
    seen = seen_of(data, tree, units)
    form = AssessmentForm(data, prefix=prefix, targets=tree.park.targets.all(), seen=seen, units=units)
    for each in (form, *form.options):
        each.full_clean()
    return form


def seen_of(data: Mapping[str, Any] | None, tree: Tree, units: Units) -> Seen:
    """The tree as it is being looked at: what was typed so far goes before what is known."""
    typed: dict[str, Any] = {}
    if data is not None:
        look = InspectionForm(data, units=units)
        look.full_clean()
        typed = look.cleaned_data
    scatters = scatters_when_it_falls(tree, typed.get("condition") or "")
    height_m = typed.get("height_m")
    return Seen(tree.height_m if height_m is None else height_m, scatters)


def sheet_of(request: HttpRequest, tree: Tree, corrected: Inspection | None) -> Sheet:
    data, files, units = request.POST or None, request.FILES or None, units_of(request)
    look = InspectionForm.of(corrected) if corrected else InspectionForm.fresh()
    defects = list(corrected.defects.all()) if corrected else []
    rated = _kept(corrected) if corrected else []
    return Sheet(
        tree=tree,
        units=units,
        look=InspectionForm(data, files, initial=look, units=units),
        parts=[
            PartForm(data, prefix=f"part-{n}", part=part, initial=PartForm.of(part, defects), units=units)
            for n, part in enumerate(CHAPTERS)
        ],
        assessments=AssessmentForms(
            with_one_more(data) if data and "add" in data else data,
            initial=None if data else rated,
            prefix="assessments",
            form_kwargs={
                "targets": tree.park.targets.all(),
                "seen": seen_of(data, tree, units),
                "units": units,
            },
        ),
        target=TargetForm(
            data if data and "add_target" in data else None, prefix="target", instance=Target(park=tree.park)
        ),
    )


def _kept(corrected: Inspection) -> list[dict[str, Any]]:
    return [AssessmentForm.of(each) for each in corrected.assessments.prefetch_related("options")]


def with_one_more(data: QueryDict) -> QueryDict:
    """The posted rows and an empty one after them."""
    more, name = data.copy(), "assessments-TOTAL_FORMS"
    rows = more.get(name, "")
    more[name] = str(int(rows) + 1) if rows.isdigit() else rows
    return more


@requires(Permission.INSPECT)
def inspect(request: HttpRequest, tag: str) -> HttpResponse:
    trees = Tree.objects.select_related("park", "species").defer("park__boundary")
    return _inspect(request, get_object_or_404(trees, tag=tag), None)


@requires(Permission.INSPECT)
def correct(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Recorded inspections stay as they are: a correction takes the place of one."""
    looks = Inspection.objects.select_related("tree__park", "tree__species").defer("tree__park__boundary")
    corrected = get_object_or_404(looks, pk=pk)
    return _inspect(request, corrected.tree, corrected)


def _inspect(request: HttpRequest, tree: Tree, corrected: Inspection | None) -> HttpResponse:
    sheet = sheet_of(request, tree, corrected)
    if request.method == "POST":
        if "add" in request.POST or "check" in request.POST:
            sheet.stay_draft()
            if "add" in request.POST:
                sheet.go_to_last_row()
        elif "add_target" in request.POST:
            _add_target(request, sheet)
        elif sheet.is_valid() and (stored := _store(request, sheet, corrected)):
            return redirect("hazards:inspection", stored.pk)
    context = {
        "tree": tree,
        "standing": Standing.objects.filter(tree=tree).first(),
        "corrected": corrected,
        "sheet": sheet,
        "targets": tree.park.targets.all(),
        "asked": [] if corrected else list(tree.asked_looks.filter(met_by__isnull=True)),
    }
    return render(request, "hazards/inspect.html", context)


def _add_target(request: HttpRequest, sheet: Sheet) -> None:
    """A target met on the walk is kept at once; the rest of the form goes on as a draft."""
    if sheet.target.is_valid():
        try:
            saved = save_target(by=Actor(request.user), target=sheet.target.target())
        except Refused as refusal:
            sheet.target.add_error("name", str(refusal))
        else:
            messages.success(request, f"{saved.name} can now be chosen as a target.")
            sheet.target = TargetForm(prefix="target", instance=Target(park=saved.park))
    sheet.stay_draft()


def _store(request: HttpRequest, sheet: Sheet, corrected: Inspection | None) -> Inspection | None:
    by = Actor(request.user)
    try:
        with transaction.atomic():
            stored = record_inspection(by=by, report=sheet.report(corrected))
            for upload in sheet.look.cleaned_data["photos"]:
                add_photo(by=by, tree=sheet.tree, file=upload, about=stored.pk, taken_at=stored.observed_at)
    except Refused as refusal:
        sheet.look.add_error(None, str(refusal))
        return None
    rated = "" if sheet.assessments.picks() else " Nothing was rated, so the tree keeps the rating it had."
    messages.success(request, f"The inspection of {sheet.tree.tag} is kept.{rated}")
    return stored


@requires(Permission.INSPECT)
def preview(request: HttpRequest, tag: str) -> HttpResponse:
    """What the picks of one row lead to so far: a fragment, asked for as the picks change."""
    tree = get_object_or_404(Tree.objects.select_related("park", "species").defer("park__boundary"), tag=tag)
    form = row_of(request.GET, request.GET.get("prefix", ""), tree, units_of(request))
    template = "hazards/_options_preview.html" if request.GET.get("of") == "options" else "hazards/_preview.html"
    return render(request, template, outcome(form, tree))


@dataclass(frozen=True)
class Now:
    """The three picks of a row that has them all."""

    failure: Failure
    impact: Impact
    consequences: Consequences

    @property
    def rated(self) -> Rated:
        return rate(self.failure, self.impact, self.consequences)


def outcome(form: AssessmentForm, tree: Tree) -> dict[str, Any]:
    """The suggestion, the way through the tables as far as it goes, and advice."""
    failure, impact = form.picked("failure", Failure), form.picked_impact()
    consequences, suggestion = form.picked("consequences", Consequences), form.suggestion()
    now = Now(failure, impact, consequences) if failure and impact and consequences else None
    situation = Situation(
        dead=tree.is_dead,
        dead_since=tree.dead_since,
        on=timezone.localdate(),
        height_m=form.seen.height_m,
        distance_m=form.cleaned_data.get("distance_m"),
        failure=failure,
        impact=impact,
        brittle=form.seen.scatters,
    )
    return {
        "suggestion": suggestion,
        "failure": failure,
        "impact": impact,
        "consequences": consequences,
        "likelihood": failure_and_impact(failure, impact) if failure and impact else None,
        "rated": now.rated if now else None,
        "after": [(option, residual_of(option, now)) for option in form.option_picks()] if now else [],
        "advice": advice(situation),
    }
