"""One import from file to inventory: read in chunks into the staging tables, merged in one transaction at the end.

Until the merge nothing of the inventory changes, so an import can be stopped at any time and started again.
"""

import datetime as dt
import hashlib
from collections import Counter
from collections.abc import Callable, Iterable
from contextlib import suppress
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


REHEARSAL_WAIT_MS = 5_000


class Cancelled(Exception):
    """Somebody stopped the import."""


@dataclass(frozen=True)
class Source:
    """A file that was looked over: its table, how many rows it has and a sample of them."""

    table: readers.Table
    survey: readers.Survey

    @classmethod
    def of(cls, path: Path, first: int | None = None) -> "Source":
        """Look a file over, or the ``first`` rows of it. Raises FileProblem."""
        table = readers.open_table(path)
        return cls(table, readers.survey(table, first=first))

    @property
    def sampled(self) -> list[samples.Column]:
        return samples.columns(self.table.header, self.survey.sample)

    def guess(self) -> columns.Guess:
        return columns.guess(self.table.header, self.survey.sample)

    def reader(self, mapping: Mapping, latest: dt.date) -> RowReader:
        by_heading = {column.heading: column for column in self.sampled}
        middle = positions.centre(columns.sampled_positions(mapping, by_heading))
        return RowReader(self.table.header, mapping, latest=latest, middle=middle)


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
    if given is None:
        draft, notices = draft_for(source)
        mappings.check(draft)
        return Plan(draft, park, fallback), notices
    return Plan(completed(source, given), park, fallback), ()


def draft_for(source: Source) -> tuple[Mapping, tuple[str, ...]]:
    """The mapping remembered for a file of these columns, else a guess and what it assumed; it may lack something yet."""
    header = source.table.header
    known = ColumnMapping.objects.filter(header_key=mappings.header_key(header)).first()
    if known is not None:
        # What was confirmed once may lack what is asked for since: then it is guessed anew.
        with suppress(MappingProblem):
            return completed(source, known.mapping), (
                "The columns are read as they were confirmed for an earlier file.",
            )
    guess = source.guess()
    return guess.mapping, guess.notices


def completed(source: Source, given: object) -> Mapping:
    """A mapping as JSON, what it leaves open filled with the guesses for its columns."""
    named = mappings.draft_from_json(given, source.table.header)
    guess = columns.guess(source.table.header, source.survey.sample, given=named.columns).mapping.to_json()
    said = given if isinstance(given, dict) else {}
    units = {**guess["units"], **(said.get("units") or {})}
    return mappings.from_json({**guess, **said, "units": units}, source.table.header)


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
        fail(run, str(error) if isinstance(error, PROBLEMS) else f"The import broke off: {error}")
        raise
    finally:
        _close(run)


def rehearse(
    *, by: Actor, file_name: str, source: Source, plan: Plan, progress: Progress | None = None, first: int | None = None
) -> tuple[Outcome, list[Refusal]]:
    """All that ``import_file`` does, undone again. Raises Busy when another import is being taken in just now."""
    with transaction.atomic():
        merge.take_turn(wait_ms=REHEARSAL_WAIT_MS)
        run = ImportRun.objects.create(file_name=file_name, by=by.user)
        outcome = import_file(by=by, run=run, source=source, plan=plan, progress=progress, first=first)
        refusals = refused(run)
        transaction.set_rollback(True)
    return outcome, refusals


def refused(run: ImportRun) -> list[Refusal]:
    rows = ImportRefusal.objects.filter(run=run).order_by("row").values_list("row", "column", "value", "reason")
    return [Refusal(*row) for row in rows]


def sha256_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def fail(run: ImportRun, message: str) -> None:
    """The run ends with a sentence that says why."""
    # Within a transaction that is to be rolled back there is nothing to keep.
    if not transaction.get_connection().needs_rollback:
        ImportRun.objects.filter(pk=run.pk).update(state=RunState.FAILED, message=message, finished_at=timezone.now())


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


def first_rows(source: Source, plan: Plan, count: int) -> list[Row]:
    """The first rows as they would be taken in."""
    chunk = list(source.survey.sample[:count])
    return _read(source.reader(plan.mapping, timezone.localdate()), chunk, plan, Boundaries.stored())


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
        said.append(f"Rows that belong to no other park go to {merged.fallback}: {merged.in_fallback:,}.")
    if merged.parks_made:
        said.append(f"New parks: {_some(merged.parks_made)}.")
    if merged.taxa_made:
        said.append(f"New names: {_some(merged.taxa_made)}.")
    return said


def _some(names: tuple[str, ...], most: int = 12) -> str:
    more = f" and {len(names) - most:,} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


def _close(run: ImportRun) -> None:
    if not transaction.get_connection().needs_rollback:
        staging.close_tables()
        run.refresh_from_db()
