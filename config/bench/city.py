"""A large made-up city for measuring, inside a transaction that is rolled back."""

import csv
import datetime as dt
from collections.abc import Iterator
from pathlib import Path

from django.db import connection
from django.utils import timezone

from hazards.matrix import Consequences, Exposure, Failure, Impact, Occupancy, rate
from hazards.models import Assessment, Inspection, Part, Standing, Target, TargetKind
from inventory.models import Condition, Park, Tree

HEADER = ("Tag", "Park", "Botanical name", "DBH cm", "Height m", "Status", "Planted", "Latitude", "Longitude")
GENERA = ("Acer", "Tilia", "Quercus", "Fraxinus", "Ulmus", "Betula", "Platanus", "Carpinus")
EPITHETS = ("prima", "secunda", "tertia", "quarta", "quinta")
PARKS = 10


def tree_rows(trees: int) -> Iterator[tuple[object, ...]]:
    """Rows of a plain tree file, a pure function of their number."""
    for n in range(trees):
        species = f"{GENERA[n % len(GENERA)]} {EPITHETS[n // 8 % len(EPITHETS)]}"
        planted = dt.date(1950, 1, 1) + dt.timedelta(days=n % 25_000)
        spot = (f"{45 + n % 1000 * 1e-4:.6f}", f"{-40 + n // 1000 * 1e-4:.6f}")
        yield (f"BN{n:08d}", f"BENCH{n % PARKS}", species, 5 + n % 90, 3 + n % 22, "alive", planted.isoformat(), *spot)


def write_tree_file(path: Path, trees: int) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(HEADER)
        writer.writerows(tree_rows(trees))


def rate_all() -> None:
    """Give every standing tree a place in the ranking, all by one assessment: only the order is of interest here."""
    tree = Tree.objects.filter(tag__startswith="BN").earliest("pk")
    assessment = _assessment(tree)
    key = "('x' || substr(md5(tree_id::text), 1, 12))::bit(48)::bigint"
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE hazards_standing SET rating = %s, assessment_id = %s, inspection_id = %s, inspected_on = %s,"  # noqa: S608
            f" triage_key = {key} WHERE park_id IN (SELECT id FROM inventory_park WHERE code LIKE 'BENCH%%')",
            [assessment.rating, assessment.pk, assessment.inspection_id, assessment.inspection.observed_at.date()],
        )
        for model in (Tree, Standing, Park):
            cursor.execute(f"ANALYZE {model._meta.db_table}")


_LOOK_AT_ALL = """
INSERT INTO hazards_inspection
    SELECT (jsonb_populate_record(i, jsonb_build_object('id', gen_random_uuid(), 'tree_id', s.tree_id))).*
    FROM hazards_standing s JOIN hazards_inspection i ON i.id = s.inspection_id
    WHERE i.tree_id <> s.tree_id AND s.tag LIKE 'BN%';
INSERT INTO hazards_assessment
    SELECT (jsonb_populate_record(a, jsonb_build_object('id', gen_random_uuid(), 'inspection_id', i.id))).*
    FROM hazards_standing s
    JOIN hazards_assessment a ON a.id = s.assessment_id
    JOIN hazards_inspection i ON i.tree_id = s.tree_id AND i.id <> s.inspection_id
    WHERE s.tag LIKE 'BN%';
UPDATE hazards_standing s SET assessment_id = a.id, inspection_id = i.id
    FROM hazards_inspection i JOIN hazards_assessment a ON a.inspection_id = i.id
    WHERE i.tree_id = s.tree_id AND s.tag LIKE 'BN%';
ANALYZE hazards_inspection;
ANALYZE hazards_assessment;
ANALYZE hazards_standing;
"""


def look_at_all() -> None:
    """A look of its own for every tree, so that what reads the looks of the whole city has them all to read."""
    with connection.cursor() as cursor:
        cursor.execute(_LOOK_AT_ALL)


def _assessment(tree: Tree) -> Assessment:
    inspection = Inspection.objects.create(tree=tree, observed_at=timezone.now(), condition=Condition.GOOD)
    target = Target.objects.create(park=tree.park, name="bench", kind=TargetKind.PATH, occupancy=Occupancy.RARE.value)
    picks = (Failure.POSSIBLE, Impact.LOW, Consequences.MINOR)
    rated = rate(*picks)
    return Assessment.objects.create(
        inspection=inspection,
        target=target,
        part=Part.LIMB,
        failure_mode="bench",
        exposure=Exposure.FULLY_EXPOSED.value,
        occupancy=Occupancy.RARE.value,
        failure=picks[0].value,
        impact=picks[1].value,
        consequences=picks[2].value,
        failure_and_impact=rated.failure_and_impact.value,
        rating=rated.rating.value,
    )
