"""A park as a tablet holds it: the server's own tables, a pack of a few trees, and a server that hands them out."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import Any

from playwright.sync_api import Route

from hazards.field.tables import rules
from tests.browser.tablet import PlayedServer

TODAY = dt.date.today()
TREES = ("id", "tag", "species", "cultivar", "lon", "lat", "status", "condition", "dbh_cm", "height_m", "crown_spread_m",
         "rating", "imminent", "reason", "failure", "impact", "failure_and_impact", "consequences", "inspected_on",
         "inspect_due", "scatters", "long_dead")  # fmt: skip
RATED = {"rating": "high", "failure": "probable", "impact": "high", "failure_and_impact": "likely",
         "consequences": "severe", "reason": "a union is probable to split onto the play area"}  # fmt: skip
HERE = {"longitude": 8.5, "latitude": 47.2, "accuracy": 6.0}


def tree(number: int, **changed: Any) -> dict[str, Any]:
    """The n-th tree stands 11 m farther north than the one before."""
    plain = {"id": number, "tag": f"LG-{number}", "species": 1, "cultivar": "", "status": "standing", "dbh_cm": 40}
    return plain | {"lon": 8.5, "lat": 47.2 + number * 1e-4, "height_m": 15} | changed


def day(days: int) -> str:
    return (TODAY + dt.timedelta(days=days)).isoformat()


FEW = (
    tree(1, inspect_due=day(-10), **RATED),
    tree(2, inspect_due=day(0), rating="low"),
    tree(3, inspect_due=day(20)),
    tree(12, species=2, inspect_due=day(300)),
)


def table(columns: tuple[str, ...], rows: list[dict[str, Any]]) -> dict[str, Any]:
    return {"columns": columns, "rows": [[row.get(column) for column in columns] for row in rows]}


def pack(trees: tuple[dict[str, Any], ...] = FEW) -> dict[str, Any]:
    targets = [
        {"id": 7, "name": "Play area", "kind": "playground", "occupancy": "frequent", "lon": 8.5002, "lat": 47.2001},
        {"id": 8, "name": "Mill Road", "kind": "road", "occupancy": "constant", "lon": 8.502, "lat": 47.2},
    ]
    concerns = [{"id": 1, "tree": 1, "text": "A limb hangs over the path.", "reported_on": day(-3)}]
    parts = {
        "trees": table(TREES, list(trees)),
        "targets": table(("id", "name", "kind", "occupancy", "lon", "lat"), targets),
        "concerns": table(("id", "tree", "text", "reported_on"), concerns),
    }
    return {"schema": 1, "park": {"code": "LG", "name": "Lantern Green"}, "token": "1", "full": True, "parts": parts}


SPECIES = {
    "columns": ["id", "botanical", "common"],
    "rows": [[1, "Quercus robur", "English oak"], [2, "Tilia cordata", "Littleleaf linden"]],
}


@dataclass
class ParkServer(PlayedServer):
    """Hands out the pack of Lantern Green and the server's own tables."""

    packs: dict[str, Any] = field(default_factory=lambda: {"LG": pack()})

    def tables(self, route: Route) -> None:
        route.fulfill(json=rules() | {"species": SPECIES}, headers={"ETag": '"1"'})
