"""The parts of an order's page that stand around the felling: crew, work before and after, what stays standing."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from inventory.access import Permission
from removals.crew_rules import crew_notices
from removals.crew_work import NAME_CREW, crew_of
from removals.kept_places import KEEP
from removals.models import DOWN, RemovalOrder, WorkItem, WorkState
from removals.work_items import Item, Stage, items_of


@dataclass(frozen=True)
class Line:
    """One item on the page; ``row`` is missing while nobody has entered it."""

    item: Item
    row: WorkItem | None

    @property
    def state(self) -> str:
        return self.row.state if self.row else WorkState.OPEN.value


def order_parts(order: RemovalOrder, granted: frozenset[Permission], today: dt.date) -> dict[str, Any]:
    """Context for `_crew.html`, `_work.html` and `_kept.html`; a part that does not apply yet is empty."""
    rows = {row.kind: row for row in order.work_items.all()}
    crew = crew_of(order)
    return {
        "crew": crew,
        "crew_notices": crew_notices(crew, order.scheduled_for or today) if order.before_felling else (),
        "crew_may": order.before_felling and NAME_CREW in granted,
        "before": [line for line in _lines(rows, Stage.BEFORE) if order.approved_on or line.row],
        "after": _lines(rows, Stage.AFTER) if order.felled_on else (),
        "kept_place": getattr(order, "kept_place", None) if order.felled_on else None,
        "keep_may": order.state in DOWN and KEEP in granted,
    }


def _lines(rows: dict[str, WorkItem], stage: Stage) -> tuple[Line, ...]:
    return tuple(Line(item, rows.get(item.kind)) for item in items_of(stage))
