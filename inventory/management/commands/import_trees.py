"""``manage.py import_trees FILE``: bring a city's tree file in (CSV, XLSX or GeoJSON); harmless to repeat."""

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from inventory.importing.rows import Refusal
from inventory.importing.run import PROBLEMS, Outcome, Plan, Source, import_file, plan_for, refused, rehearse, sha256_of
from inventory.models import ImportRun
from inventory.record import COMMAND

SHOWN_REFUSALS = 10


class Command(BaseCommand):
    help = "Import a tree file: trees, stumps and vacant sites; every row is taken or refused with its reason."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--mapping", type=Path, help="JSON: which column is what; guessed when left out")
        parser.add_argument(
            "--park", default="", help="code of the park that all rows belong to; made when there is none"
        )
        parser.add_argument("--dry-run", action="store_true", help="do everything, then undo it")
        parser.add_argument("--json", action="store_true", help="print the counts and the refused rows as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        try:
            source = Source.of(path)
            given = json.loads(options["mapping"].read_text(encoding="utf-8")) if options["mapping"] else None
            plan, assumed = plan_for(source, given, park=options["park"], fallback=path.stem)
            for notice in assumed:
                self.stderr.write(notice)
            outcome, refusals = self._import(path, source, plan, assumed, dry_run=options["dry_run"])
        except (OSError, json.JSONDecodeError, *PROBLEMS) as error:
            raise CommandError(str(error)) from error
        for notice in outcome.notices:
            self.stderr.write(notice)
        if options["json"]:
            self.stdout.write(json.dumps(outcome.as_json(refusals), ensure_ascii=False))
        else:
            self._say(outcome, refusals, dry_run=options["dry_run"])

    def _import(
        self, path: Path, source: Source, plan: Plan, assumed: tuple[str, ...], *, dry_run: bool
    ) -> tuple[Outcome, list[Refusal]]:
        progress = self._progress if sys.stderr.isatty() else None
        if dry_run:
            return rehearse(by=COMMAND, file_name=path.name, source=source, plan=plan, progress=progress)
        run = ImportRun.objects.create(file_name=path.name[-200:], sha256=sha256_of(path), message="\n".join(assumed))
        outcome = import_file(by=COMMAND, run=run, source=source, plan=plan, progress=progress)
        return outcome, refused(run)

    def _progress(self, done: int, total: int) -> None:
        self.stderr.write(f"\r{done:,} of {total:,} rows", ending="\n" if done == total else "")
        self.stderr.flush()

    def _say(self, outcome: Outcome, refusals: list[Refusal], *, dry_run: bool) -> None:
        counts = outcome.counts
        self.stdout.write(
            f"{counts.rows:,} rows: {counts.imported:,} imported, {counts.updated:,} updated, {counts.unchanged:,} unchanged, "
            f"{counts.sites:,} stumps and vacant sites, {counts.refused:,} refused."
        )
        for each in refusals[:SHOWN_REFUSALS]:
            self.stdout.write(f"  row {each.row}, {each.column or 'whole row'} “{each.value}”: {each.reason}")
        if len(refusals) > SHOWN_REFUSALS:
            self.stdout.write(f"  and {len(refusals) - SHOWN_REFUSALS:,} more; --json lists them all.")
        if dry_run:
            self.stdout.write("Nothing was kept: this was a dry run.")
