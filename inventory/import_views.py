"""The pages of an import: file sent in, columns confirmed, first rows and problems seen, progress, result."""

from __future__ import annotations

from pathlib import Path
from typing import Any, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from inventory.access import Permission, requires
from inventory.csv_out import csv_download
from inventory.import_forms import MappingForm, UploadForm
from inventory.importing.mapping import Mapping, check, draft_from_json
from inventory.importing.merge import Busy
from inventory.importing.rows import Refusal, Row, TreeRow
from inventory.importing.run import PROBLEMS, Plan, Source, first_rows, rehearse
from inventory.importing.source import FileProblem
from inventory.importing.workflow import cancel, confirm, queue, receive
from inventory.models import ImportRun, RunState
from inventory.paging import page_of
from inventory.record import Actor
from inventory.tasks import import_uploaded

# The pages before the import look at the top of the file only.
LOOKED_AT_ROWS, SHOWN_ROWS, SHOWN_REFUSALS = 2_000, 10, 50
ENDED = (RunState.DONE, RunState.FAILED, RunState.CANCELLED)


@requires(Permission.IMPORT_TREES)
def imports(request: HttpRequest) -> HttpResponse:
    """Send a file in; the imports so far."""
    form = UploadForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        try:
            run = receive(by=Actor(request.user), **form.cleaned_data)
        except FileProblem as problem:
            form.add_error("file", str(problem))
        else:
            return redirect("inventory:import_columns", run.pk)
    page = page_of(ImportRun.objects.select_related("by"), ["-pk"], request.GET.get("page", ""))
    return render(request, "inventory/imports.html", {"form": form, "page": page})


@requires(Permission.IMPORT_TREES)
def import_columns(request: HttpRequest, pk: int) -> HttpResponse:
    """What each column means: guessed or remembered, to be confirmed."""
    run = get_object_or_404(ImportRun, pk=pk)
    if run.state != RunState.UPLOADED:
        return redirect("inventory:import_run", run.pk)
    try:
        source = _source(run)
        form = MappingForm(request.POST or None, source=source, shown=_mapping(run, source))
    except PROBLEMS as problem:
        messages.error(request, str(problem))
        return redirect("inventory:imports")
    if request.method == "POST" and form.is_valid():
        confirm(by=Actor(request.user), run=run, header=source.table.header, mapping=form.mapping)
        return redirect("inventory:import_preview", run.pk)
    return render(request, "inventory/import_columns.html", {"run": run, "form": form})


@requires(Permission.IMPORT_TREES)
def import_preview(request: HttpRequest, pk: int) -> HttpResponse:
    """The first rows as they will be stored, and the problems among the first two thousand; sending it starts the import."""
    run = get_object_or_404(ImportRun.objects.select_related("park"), pk=pk)
    if run.state != RunState.UPLOADED:
        return redirect("inventory:import_run", run.pk)
    if request.method == "POST":
        return _start(request, run)
    try:
        context = _preview(request, run)
    except (*PROBLEMS, Busy) as problem:
        messages.error(request, str(problem))
        return redirect("inventory:import_columns", run.pk)
    return render(request, "inventory/import_preview.html", {"run": run, **context})


def _preview(request: HttpRequest, run: ImportRun) -> dict[str, Any]:
    source = _source(run)
    mapping = _mapping(run, source)
    check(mapping)
    plan = Plan(mapping, run.park.code if run.park else "", Path(run.file_name).stem)
    outcome, refusals = rehearse(
        by=Actor(request.user), file_name=run.file_name, source=source, plan=plan, first=LOOKED_AT_ROWS
    )
    rows = [_shown(row) for row in first_rows(source, plan, SHOWN_ROWS)]
    return {"outcome": outcome, "tiles": _tiles(outcome.counts), "refusals": refusals[:SHOWN_REFUSALS], "rows": rows}


def _start(request: HttpRequest, run: ImportRun) -> HttpResponse:
    if queue(run=run):
        import_uploaded.enqueue(run.pk, cast(int, request.user.pk))
    return redirect("inventory:import_run", run.pk)


@requires(Permission.IMPORT_TREES)
def import_run(request: HttpRequest, pk: int) -> HttpResponse:
    """An import on its way or at its end."""
    run = get_object_or_404(ImportRun.objects.select_related("park", "by"), pk=pk)
    if run.state == RunState.UPLOADED:
        return redirect("inventory:import_columns", run.pk)
    context = {
        "run": run,
        "ended": run.state in ENDED,
        "words": _how_far(run),
        "tiles": _tiles(run),
        "notices": run.message.splitlines(),
        "refusals": run.refusals.order_by("row")[:SHOWN_REFUSALS],
    }
    return render(request, "inventory/import_run.html", context)


@requires(Permission.IMPORT_TREES)
def import_progress(request: HttpRequest, pk: int) -> HttpResponse:
    """The progress bar alone; when the import has ended the page loads itself again."""
    run = get_object_or_404(ImportRun, pk=pk)
    response = render(request, "inventory/_import_progress.html", {"run": run, "words": _how_far(run)})
    if run.state in ENDED:
        response["HX-Refresh"] = "true"
    return response


@requires(Permission.IMPORT_TREES)
@require_POST
def import_cancel(request: HttpRequest, pk: int) -> HttpResponse:
    run = get_object_or_404(ImportRun, pk=pk)
    if cancel(by=Actor(request.user), run=run):
        messages.success(request, f"The import of {run.file_name} is stopped; nothing of it was taken in.")
    else:
        messages.info(request, "The import had ended already.")
    return redirect("inventory:imports")


@requires(Permission.IMPORT_TREES)
def import_refusals(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Every refused row as CSV."""
    run = get_object_or_404(ImportRun, pk=pk)
    rows = run.refusals.order_by("row").values_list("row", "column", "value", "reason").iterator()
    return csv_download(f"refused-rows-{run.pk}.csv", ("row", "column", "value", "reason"), rows)


def _source(run: ImportRun) -> Source:
    return Source.of(Path(run.file.path), first=LOOKED_AT_ROWS)


def _mapping(run: ImportRun, source: Source) -> Mapping:
    return draft_from_json(run.mapping, source.table.header)


def _how_far(run: ImportRun) -> str:
    return f"{run.progress_done:,} of {run.progress_total:,} rows"


def _tiles(counts: Any) -> list[dict[str, Any]]:
    labels = {
        "rows": "rows",
        "imported": "new trees",
        "updated": "updated",
        "unchanged": "unchanged",
        "sites": "stumps and vacant sites",
        "refused": "refused",
    }
    return [{"figure": f"{getattr(counts, name):,}", "label": label} for name, label in labels.items()]


def _shown(row: Row) -> dict[str, Any]:
    """A row for the table of the preview."""
    if isinstance(row, Refusal):
        return {"row": row.row, "refusal": row}
    if isinstance(row, TreeRow):
        kind = "dead standing" if row.dead else "standing"
        return {
            "row": row.row,
            "taken": row,
            "name": row.name,
            "dbh_cm": row.size.cm,
            "height_m": row.height_m,
            "kind": kind,
        }
    kind = "stump" if row.is_stump else "vacant site"
    return {"row": row.row, "taken": row, "dbh_cm": row.stump_diameter_cm, "height_m": None, "kind": kind}
