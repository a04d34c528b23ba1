"""An import's way through the browser, before and beside the reading of the file itself (``run.py``)."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils import timezone
from uuid_utils.compat import uuid7

from inventory import record
from inventory.importing import mapping as mappings
from inventory.importing.mapping import Mapping
from inventory.importing.run import Source, draft_for, sha256_of
from inventory.importing.source import FileProblem
from inventory.models import ColumnMapping, ImportRun, Park, RunState
from inventory.record import Actor


def receive(*, by: Actor, file: UploadedFile[Any], park: Park | None) -> ImportRun:
    """Keep a file that was sent in and look it over. Raises FileProblem, and keeps nothing then."""
    run = ImportRun(file_name=Path(file.name or "trees").name[-200:], park=park, by=by.user)
    # The name that the file came with never reaches the disk.
    run.file.save(uuid7().hex, file, save=False)
    try:
        source = Source.of(Path(run.file.path))
    except FileProblem:
        run.file.delete(save=False)
        raise
    draft, notices = draft_for(source)
    run.sha256, run.progress_total = sha256_of(Path(run.file.path)), source.survey.rows
    run.mapping, run.message = draft.to_json(), "\n".join(notices)
    run.save()
    return run


@transaction.atomic
def confirm(*, by: Actor, run: ImportRun, header: tuple[str, ...], mapping: Mapping) -> None:
    """The mapping is right: for this run, and for the next file of these columns."""
    run.mapping, run.message = mapping.to_json(), ""
    run.save(update_fields=["mapping", "message"])
    remember(by=by, header=header, mapping=mapping)


def remember(*, by: Actor, header: tuple[str, ...], mapping: Mapping) -> None:
    ColumnMapping.objects.update_or_create(
        header_key=mappings.header_key(header),
        defaults={"header": list(header), "mapping": mapping.to_json(), "by": by.user},
    )


def queue(*, run: ImportRun) -> bool:
    """The run waits for the background worker from now on; False when it did so already."""
    return bool(ImportRun.objects.filter(pk=run.pk, state=RunState.UPLOADED).update(state=RunState.QUEUED, message=""))


@transaction.atomic
def cancel(*, by: Actor, run: ImportRun) -> bool:
    """Stop an import that has not ended; whether there was one to stop."""
    waiting = (RunState.UPLOADED, RunState.QUEUED, RunState.RUNNING)
    stopped = ImportRun.objects.filter(pk=run.pk, state__in=waiting).update(
        state=RunState.CANCELLED, finished_at=timezone.now(), message="Stopped before anything was taken in."
    )
    if stopped:
        record.write(by=by, verb="cancelled", subject=run, summary=f"Stopped the import of {run.file_name}."[:300])
    return bool(stopped)
