"""Two looks at one tree by two people within a few hours: both stay, and somebody should compare them."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterable

from hazards.models import Inspection

# Common practice, no source: within half a working day a tree does not change, people's eyes do.
NEAR = dt.timedelta(hours=4)


def looked_at_too(inspection: Inspection) -> str:
    """A sentence for whoever reviews, or nothing."""
    near = (inspection.observed_at - NEAR, inspection.observed_at + NEAR)
    others = Inspection.objects.filter(tree=inspection.tree_id, observed_at__range=near, superseded_by=None)
    other = others.exclude(inspector=inspection.inspector_id).select_related("inspector").first()
    if other is None or other.inspector is None:
        return ""
    return _words(other.inspector.get_full_name() or other.inspector.get_username())


def _words(name: str) -> str:
    return f"{name} looked at this tree within {NEAR.seconds // 3600} hours of this look: compare the two."


def near_pairs(inspections: Iterable[Inspection]) -> list[tuple[Inspection, Inspection]]:
    """Of one tree's inspections, which know their inspector and their correction: the pairs to compare, newest first."""
    counted = [each for each in inspections if not hasattr(each, "superseded_by") and each.inspector_id is not None]
    counted.sort(key=lambda each: each.observed_at, reverse=True)
    return [
        (later, earlier)
        for later, earlier in itertools.pairwise(counted)
        if later.inspector_id != earlier.inspector_id and later.observed_at - earlier.observed_at <= NEAR
    ]
