"""The looks that were asked for beyond the rounds, held against the inspections that a tree has."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from hazards.governing import met_by
from hazards.models import AskedLook, Inspection
from inventory.models import Tree


def settle_asked(tree: Tree, looks: Sequence[Inspection]) -> dt.date | None:
    """Keep by which of the tree's looks (latest first) each asked one is met; the earliest day of those still open.

    Worked out from all looks each time: a correction may take away what had met a look, and a late tablet may bring it.
    Call inside a transaction that holds the tree's lock.
    """
    due: list[dt.date] = []
    for asked in AskedLook.objects.filter(tree=tree):
        look = met_by(asked, looks)
        if look is None:
            due.append(asked.due_on)
        if asked.met_by_id != (look.pk if look else None):
            asked.met_by = look
            asked.save(update_fields=["met_by"])
    return min(due, default=None)
