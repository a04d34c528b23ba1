"""The report of one park: counted in the database, once, and small by the time it gets here.

Trees by size, species and rating are the standing ones, alive or dead, so that each of these sections adds up to them.
Sizes are classes of diameter at breast height in centimetres, from the lower edge up to, not including, the upper.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from django.db.models import Count, Q

from hazards.matrix import Rating
from hazards.models import Standing
from inventory.csv_out import safe_cell
from inventory.models import Park, Tree, TreeStatus
from inventory.sizes import SIZE_CLASSES, SizeClass
from inventory.units import Units
from removals.models import OrderState, RemovalOrder
from replanting.ledger import ledger

if TYPE_CHECKING:
    from pandas import DataFrame

TOP_SPECIES = 12
REST, UNKNOWN = "all other species", "species unknown"
NOT_MEASURED, NOT_RATED = "not measured", "not rated"
Counts = dict[str, int]


@dataclass(frozen=True)
class ParkReport:
    """Section → name → count, each section in the order in which it is read."""

    code: str
    name: str
    area_m2: float | None
    on: dt.date
    sections: dict[str, Counts]

    @property
    def standing(self) -> int:
        status = self.sections["status"]
        return status[TreeStatus.STANDING] + status[TreeStatus.DEAD_STANDING]

    def lines(self) -> Iterator[tuple[str, str, int]]:
        for section, counts in self.sections.items():
            for name, count in counts.items():
                yield section, name, count


def park_report(park: Park, today: dt.date) -> ParkReport:
    sections = {
        "status": by_status(park),
        "size_class": by_size(park),
        "species": by_species(park),
        **hazards(park, today),
        "orders": by_state(park),
        "replacements": asdict(ledger(today, park)),
    }
    sections["attention"]["to be located"] = Tree.objects.unlocated().filter(park=park).count()
    sections["overdue"]["removal orders"] = RemovalOrder.objects.filter(park=park).overdue(today).count()
    sections["overdue"]["replacements"] = sections["replacements"]["overdue"]
    return ParkReport(park.code, park.name, park.area_m2, today, sections)


def by_status(park: Park) -> Counts:
    found = Tree.objects.filter(park=park).order_by().values_list("status").annotate(Count("pk"))
    return dict.fromkeys(TreeStatus.values, 0) | dict(found)


def within(size: SizeClass) -> Q:
    low = Q(dbh_cm__gte=size.low_cm)
    return low if size.high_cm is None else low & Q(dbh_cm__lt=size.high_cm)


def by_size(park: Park) -> Counts:
    counts = {size.key: Count("pk", filter=within(size)) for size in SIZE_CLASSES}
    found = Tree.objects.standing().filter(park=park).aggregate(**counts, none=Count("pk", filter=Q(dbh_cm=None)))
    named = {size.label(Units.METRIC): found[size.key] for size in SIZE_CLASSES}
    return named | {NOT_MEASURED: found["none"]}


def by_species(park: Park) -> Counts:
    """The commonest, the rest in one, and those of unknown species."""
    trees = Tree.objects.standing().filter(park=park).order_by()
    found = dict(trees.values_list("species__botanical").annotate(Count("pk")))
    unknown = found.pop(None, 0)
    commonest = sorted(found.items(), key=lambda item: (-item[1], item[0]))
    rest = sum(count for _, count in commonest[TOP_SPECIES:])
    return dict(commonest[:TOP_SPECIES]) | {REST: rest, UNKNOWN: unknown}


def hazards(park: Park, today: dt.date) -> dict[str, Counts]:
    """Ratings, what asks for attention and what is overdue, in one look at the park's standing rows."""
    rows = Standing.objects.filter(park=park)
    found = rows.aggregate(
        **{rating.value: Count("pk", filter=Q(rating=rating.value)) for rating in Rating},
        unrated=Count("pk", filter=Q(rating="")),
        imminent=Count("pk", filter=Q(imminent=True)),
        never=Count("pk", filter=Q(inspected_on=None)),
        inspections=Count("pk", filter=Q(inspect_due__lt=today)),
        work=Count("pk", filter=Q(work_due__lt=today)),
    )
    worst_first = [rating.value for rating in reversed(Rating)]
    return {
        "rating": {rating: found[rating] for rating in worst_first} | {NOT_RATED: found["unrated"]},
        "attention": {"imminent failure": found["imminent"], "never inspected": found["never"]},
        "overdue": {"inspections": found["inspections"], "work": found["work"]},
    }


def by_state(park: Park) -> Counts:
    found = RemovalOrder.objects.filter(park=park).order_by().values_list("state").annotate(Count("pk"))
    return dict.fromkeys(OrderState.values, 0) | dict(found)


def as_frame(report: ParkReport) -> DataFrame:
    """Tidy: one count a row, with columns section, name, value."""
    from pandas import DataFrame

    return DataFrame(report.lines(), columns=["section", "name", "value"])


def as_csv(report: ParkReport) -> str:
    frame = as_frame(report)
    return frame.assign(name=frame["name"].map(safe_cell)).to_csv(index=False)


def as_json(report: ParkReport) -> dict[str, Any]:
    head = {"code": report.code, "name": report.name, "area_m2": report.area_m2, "on": report.on.isoformat()}
    return {**head, **report.sections}
