"""What the place says to the form of a felling plan: its lay, the nearest wire, how far the lay is clear."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from removals.lay_finder import FallingTree, Lay, find_lays, judge_lay, nearest_wire_m
from removals.lay_words import blocked_words, why
from removals.models import FellingPlan, RemovalOrder
from removals.order_place import OrderPlace, falling_tree, no_position, place_of, standing_things

SAME_M = 0.1
"""A length in the form is rounded to what a tape shows."""


@dataclass(frozen=True)
class FromPlace:
    """``initial``: over what the form starts from; ``words``: what the place says of the lay, a sentence each."""

    initial: dict[str, Any]
    words: tuple[str, ...]


def from_place(order: RemovalOrder, earlier: FellingPlan | None, asked_lay_deg: float | None) -> FromPlace:
    """``asked_lay_deg``: the lay that was picked from the rose, if any; else the earlier plan's."""
    tree = falling_tree(order.tree, earlier)
    if tree is None:
        return FromPlace({} if asked_lay_deg is None else {"lay_deg": asked_lay_deg}, ())
    place = place_of(order, tree.height_m)
    entered: dict[str, Any] = earlier.inputs.get("entered", {}) if earlier else {}
    lay_deg = entered.get("lay_deg") if asked_lay_deg is None else asked_lay_deg
    lay = None if lay_deg is None else judge_lay(tree, standing_things(place), lay_deg, place.accepted_names)
    initial = {**_wire(place), **({"lay_deg": lay_deg} if lay_deg is not None else {}), **_clear(lay, entered)}
    return FromPlace(initial, (*_not_known(order, place), *_words(place, tree, lay)))


def _wire(place: OrderPlace) -> dict[str, float]:
    nearest_m = nearest_wire_m(place.things)
    return {} if nearest_m is None else {"wire_distance_m": nearest_m}


def _clear(lay: Lay | None, entered: dict[str, Any]) -> dict[str, float | None]:
    """To the nearest thing in the swath; what was entered for a thing that is accepted by now is taken out."""
    if lay is None:
        return {}
    if lay.clear_length_m is not None:
        return {"clear_length_m": lay.clear_length_m}
    typed_m = entered.get("clear_length_m")
    passed = typed_m is not None and any(abs(each.thing.distance_m - typed_m) < SAME_M for each in lay.in_swath)
    return {"clear_length_m": None} if passed else {}


def _not_known(order: RemovalOrder, place: OrderPlace) -> tuple[str, ...]:
    return () if place.located else (no_position(order.tree),)


def _words(place: OrderPlace, tree: FallingTree, lay: Lay | None) -> tuple[str, ...]:
    if lay is None:
        refusal = find_lays(tree, standing_things(place), place.accepted_names).refusal
        return (refusal,) if refusal else ()
    if not lay.open:
        return (f"{lay.bearing_deg:.0f}° is blocked.", *blocked_words(lay))
    return (why(lay, tree.swath.reach_m),)
