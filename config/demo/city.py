"""Alderquay's ground: palette, parks and trees, the trees through the same import as any city's file."""

from django.conf import settings
from django.db import connection

from config.demo.files import CITY
from inventory.importing.run import Outcome, Source, import_file, plan_for, refused, sha256_of
from inventory.models import ImportRun, Park, Tree
from inventory.palette_file import read_palette
from inventory.park_file import read_parks
from inventory.record import COMMAND, Actor
from inventory.workflow import load_palette, put_parks


def other_parks() -> str:
    """The names of parks that are not Alderquay's, '' also for a database that has no tables yet."""
    if Park._meta.db_table not in connection.introspection.table_names():
        return ""
    own = [park["code"] for park in _parks()]
    return ", ".join(Park.objects.exclude(code__in=own).order_by("code").values_list("name", flat=True)[:5])


def _parks() -> list[dict[str, object]]:
    return read_parks((CITY / "parks.geojson").read_text(encoding="utf-8"))


def load_ground() -> str:
    with (settings.BASE_DIR / "fixtures" / "species.csv").open(encoding="utf-8", newline="") as file:
        taxa = read_palette(file)
    load_palette(by=COMMAND, taxa=taxa)
    parks = _parks()
    put_parks(by=COMMAND, parks=parks)
    return f"{len(taxa)} taxa in the palette, {len(parks)} parks with boundaries and emergency cards."


def load_trees(by: Actor) -> str:
    """Import the city's tree file by its guessed mapping, once: later changes of its trees are not undone."""
    if Tree.objects.exists():
        return f"The trees are there already: {Tree.objects.standing().count():,} stand."
    path = CITY / "trees.csv"
    source = Source.of(path)
    plan, assumed = plan_for(source, fallback="Alderquay")
    run = ImportRun.objects.create(file_name=path.name, sha256=sha256_of(path), by=by.user, message="\n".join(assumed))
    return _in_words(import_file(by=by, run=run, source=source, plan=plan), run)


def _in_words(outcome: Outcome, run: ImportRun) -> str:
    counts = outcome.counts
    first = next(iter(refused(run)), None)
    example = f", for example row {first.row}, {first.column} “{first.value}”: {first.reason}" if first else ""
    return (
        f"{counts.rows:,} rows of a raw tree file: {counts.imported:,} trees, {counts.sites:,} stumps and vacant sites, "
        f"{counts.refused:,} refused{example}"
    )
