"""One import from file to inventory: read in chunks into the staging tables, merged in one transaction at the end.

Until the merge nothing of the inventory changes, so an import can be stopped at any time and started again.
"""

import datetime as dt
import hashlib
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path

from django.db import transaction
from django.utils import timezone

from inventory import record
from inventory.importing import columns, merge, positions, readers, samples, staging
from inventory.importing import mapping as mappings
from inventory.importing.mapping import Mapping, MappingProblem, Role
from inventory.importing.merge import Counts
from inventory.importing.parks import Boundaries
from inventory.importing.rows import Refusal, Row, RowReader
from inventory.importing.source import FileProblem, SourceRow
from inventory.models import ColumnMapping, ImportRefusal, ImportRun, RunState
from inventory.record import Actor

Progress = Callable[[int, int], None]
PROBLEMS = (FileProblem, MappingProblem)


class Cancelled(Exception):
    """Somebody stopped the import."""


@dataclass(frozen=True)
class Source:
    """A file that was looked over: its table, how many rows it has and a sample of them."""

    table: readers.Table
    survey: readers.Survey

    @classmethod
    def of(cls, path: Path) -> "Source":
        table = readers.open_table(path)
        return cls(table, readers.survey(table))

    def guess(self) -> columns.Guess:
        return columns.guess(self.table.header, self.survey.sample)

    def reader(self, mapping: Mapping, latest: dt.date) -> RowReader:
        middle = positions.centre(columns.sampled_positions(mapping, self._by_heading()))
        return RowReader(self.table.header, mapping, latest=latest, middle=middle)

    def _by_heading(self) -> dict[str, samples.Column]:
        return {column.heading: column for column in samples.columns(self.table.header, self.survey.sample)}


@dataclass(frozen=True)
class Plan:
    """How a file is to be read. ``park``: all rows belong to it; ``fallback``: the park of rows that nothing else places."""

    mapping: Mapping
    park: str = ""
    fallback: str = "Imported"

    def heading(self, *roles: Role) -> str:
        return next((self.mapping.columns[role] for role in roles if role in self.mapping.columns), "")


@dataclass
class Outcome:
    """What an import did, or would do."""

    counts: Counts
    parks_made: tuple[str, ...] = ()
    notices: list[str] = field(default_factory=list)

    def as_json(self, refusals: Iterable[Refusal]) -> dict[str, object]:
        listed = [
            {"row": each.row, "column": each.column, "value": each.value, "reason": each.reason} for each in refusals
        ]
        return {**asdict(self.counts), "refusals": listed}


def plan_for(source: Source, given: object = None, *, park: str = "", fallback: str) -> tuple[Plan, tuple[str, ...]]:
    """A plan and what was assumed in making it: by a mapping as JSON; else one remembered for this header; else a guess.

    Raises MappingProblem.
    """
    header = source.table.header
    if given is None:
        given = remembered(header)
    if given is None:
        guess = source.guess()
        mappings.check(guess.mapping)
        return Plan(guess.mapping, park, fallback), guess.notices
    return Plan(completed(source, given), park, fallback), ()


def completed(source: Source, given: object) -> Mapping:
    """A mapping as JSON, what it leaves open filled with the guesses for its columns."""
    named = mappings.from_json(given, source.table.header)
    guess = columns.guess(source.table.header, source.survey.sample, given=named.columns).mapping.to_json()
    said = given if isinstance(given, dict) else {}
    units = {**guess["units"], **(said.get("units") or {})}
    return mappings.from_json({**guess, **said, "units": units}, source.table.header)


def remembered(header: Iterable[str]) -> object:
    """The mapping that was confirmed for a file of these columns, as JSON; None when there is none."""
    found = ColumnMapping.objects.filter(header_key=mappings.header_key(header)).first()
    return found.mapping if found else None


def remember(*, by: Actor, header: tuple[str, ...], mapping: Mapping) -> None:
    """Keep a confirmed mapping for the next file of these columns."""
    ColumnMapping.objects.update_or_create(
        header_key=mappings.header_key(header),
        defaults={"header": list(header), "mapping": mapping.to_json(), "by": by.user},
    )


def import_file(
    *, by: Actor, run: ImportRun, source: Source, plan: Plan, progress: Progress | None = None, first: int | None = None
) -> Outcome:
    """Import a file, or its ``first`` rows, keeping the run's progress, counts and refused rows; one entry in the record.

    Raises FileProblem (the run is failed then) and Cancelled.
    """
    _start(run, source, plan)
    try:
        remarks = _stage(run, source, plan, progress, first)
        with transaction.atomic():
            return _take(by=by, run=run, plan=plan, remarks=remarks)
    except Cancelled:
        raise
    except Exception as error:
        _fail(run, str(error) if isinstance(error, PROBLEMS) else f"The import broke off: {error}")
        raise
    finally:
        _close(run)


def rehearse(
    *, by: Actor, file_name: str, source: Source, plan: Plan, progress: Progress | None = None, first: int | None = None
) -> tuple[Outcome, list[Refusal]]:
    """All that ``import_file`` does, undone again."""
    with transaction.atomic():
        run = ImportRun.objects.create(file_name=file_name, by=by.user)
        outcome = import_file(by=by, run=run, source=source, plan=plan, progress=progress, first=first)
        refusals = refused(run)
        transaction.set_rollback(True)
    return outcome, refusals


def refused(run: ImportRun) -> list[Refusal]:
    rows = ImportRefusal.objects.filter(run=run).order_by("row").values_list("row", "column", "value", "reason")
    return [Refusal(*row) for row in rows]


def cancel(*, by: Actor, run: ImportRun) -> bool:
    """Stop an import that has not ended; whether there was one to stop."""
    waiting = (RunState.UPLOADED, RunState.QUEUED, RunState.RUNNING)
    with transaction.atomic():
        stopped = ImportRun.objects.filter(pk=run.pk, state__in=waiting).update(
            state=RunState.CANCELLED, finished_at=timezone.now(), message="Stopped before anything was taken in."
        )
        if stopped:
            record.write(by=by, verb="cancelled", subject=run, summary=f"Stopped the import of {run.file_name}.")
    return bool(stopped)


def sha256_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _start(run: ImportRun, source: Source, plan: Plan) -> None:
    run.state, run.mapping = RunState.RUNNING, plan.mapping.to_json()
    run.progress_done, run.progress_total = 0, source.survey.rows
    run.save(update_fields=["state", "mapping", "progress_done", "progress_total"])


def _stage(run: ImportRun, source: Source, plan: Plan, progress: Progress | None, first: int | None) -> Counter[str]:
    """Read the file into the staging tables; what was remarked, and how often."""
    reader = source.reader(plan.mapping, timezone.localdate())
    boundaries = Boundaries.stored()
    remarks: Counter[str] = Counter()
    done = 0
    staging.open_tables()
    for chunk in readers.chunks(source.table, first=first):
        rows = _read(reader, chunk, plan, boundaries)
        staging.copy_in(rows)
        remarks.update(remark for row in rows if not isinstance(row, Refusal) for remark in row.remarks)
        done += len(chunk)
        _go_on(run, progress_done=done)
        if progress:
            progress(done, source.survey.rows)
    return remarks


def _read(reader: RowReader, chunk: list[SourceRow], plan: Plan, boundaries: Boundaries) -> list[Row]:
    rows = reader.read(chunk)
    if plan.park:
        return [row if isinstance(row, Refusal) else replace(row, park=plan.park) for row in rows]
    return boundaries.place(rows)


def _go_on(run: ImportRun, **changes: object) -> None:
    """Keep the run's progress unless somebody stopped it."""
    if not ImportRun.objects.filter(pk=run.pk, state=RunState.RUNNING).update(**changes):
        raise Cancelled


def _take(*, by: Actor, run: ImportRun, plan: Plan, remarks: Counter[str]) -> Outcome:
    merged = merge.merge(
        tag_column=plan.heading(Role.TAG),
        status_column=plan.heading(Role.STATUS, Role.TYPE, Role.BOTANICAL),
        fallback=plan.fallback,
    )
    outcome = Outcome(merged.counts, merged.parks_made, _notices(merged, remarks))
    merge.keep_refusals(run.pk)
    _go_on(
        run,
        state=RunState.DONE,
        finished_at=timezone.now(),
        message="\n".join(filter(None, [run.message, *outcome.notices])),
        **asdict(merged.counts),
    )
    record.write(
        by=by,
        verb="imported",
        subject=run,
        summary=f"Imported {run.file_name}: {_in_words(merged.counts)}."[:300],
        sha256=run.sha256,
        parks=list(merged.parks_made),
        species=list(merged.taxa_made),
        **asdict(merged.counts),
    )
    run.refresh_from_db()
    return outcome


def _in_words(counts: Counts) -> str:
    return (
        f"{counts.rows:,} rows, {counts.imported:,} new, {counts.updated:,} updated, {counts.unchanged:,} unchanged, "
        f"{counts.sites:,} places, {counts.refused:,} refused"
    )


def _notices(merged: merge.Merged, remarks: Counter[str]) -> list[str]:
    said = [f"{count:,} × {remark}." for remark, count in remarks.most_common()]
    if merged.in_fallback:
        said.append(f"{merged.in_fallback:,} rows belong to no other park: they go to {merged.fallback}.")
    if merged.parks_made:
        said.append(f"New parks: {', '.join(merged.parks_made[:20])}.")
    if merged.taxa_made:
        said.append(f"New names: {', '.join(merged.taxa_made[:20])}.")
    return said


def _fail(run: ImportRun, message: str) -> None:
    """Outside of the merge's transaction: that one is rolled back."""
    if transaction.get_connection().needs_rollback:
        return
    ImportRun.objects.filter(pk=run.pk).update(state=RunState.FAILED, message=message, finished_at=timezone.now())


def _close(run: ImportRun) -> None:
    if not transaction.get_connection().needs_rollback:
        staging.close_tables()
        run.refresh_from_db()
