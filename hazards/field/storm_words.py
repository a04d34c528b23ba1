"""Words, bounds and cautions of the quick sheet of a storm as data, worked out by the server's own functions."""

from __future__ import annotations

from typing import Any

from hazards.matrix import MEANING, Occupancy
from hazards.storm import KIND_WORDS, NEAR_WIRES, SIZE_MAX_CM, Find, FindKind, cautions

NOTE_MAX, PLACE_MAX = 2000, 200


def storm_rules() -> dict[str, Any]:
    """Which cautions belong to which kind, with and without wires; nothing of the order: the server ranks."""
    return {
        "kinds": [{"value": kind.value, "label": KIND_WORDS[kind]} for kind in FindKind],
        "occupancy": [
            {"value": use.value, "label": use.value.capitalize(), "hint": MEANING[use]} for use in reversed(Occupancy)
        ],
        "near_wires": NEAR_WIRES,
        "cautions": {kind.value: _cautions(kind) for kind in FindKind},
        "bounds": {"size_cm": [0.1, SIZE_MAX_CM], "note": NOTE_MAX, "place": PLACE_MAX},
    }


def _cautions(kind: FindKind) -> dict[str, list[str]]:
    return {
        "wires": list(cautions(Find(kind, Occupancy.RARE, wires=True))),
        "no_wires": list(cautions(Find(kind, Occupancy.RARE))),
    }
