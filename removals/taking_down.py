"""How an order's tree comes down: felled by its plan, or by the method that was chosen instead."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from removals.bounds import METHOD_BOUNDS
from removals.felling_input import Haul
from removals.methods import NOT_FELLED
from removals.models import FellingPlan, MethodChoice, RemovalOrder


@dataclass(frozen=True, slots=True)
class TakingDown:
    """What plan and method together ask for.

    ``method``: the chosen one, or empty; ``conditions``: what the comparison said that it holds under. ``stop_wind_ms``:
    the gust held at 2 m over which nobody works, printed by the plan of a felling, else the cap; None: still air only.
    """

    method: str
    reason: str
    conditions: tuple[str, ...]
    chosen_at: dt.datetime | None
    pull_line: bool
    winch: bool
    stop_wind_ms: float | None

    @property
    def felled(self) -> bool:
        """By the felling plan; also while no method has been chosen."""
        return self.method not in NOT_FELLED


def latest_method(order: RemovalOrder, at: dt.datetime | None = None) -> MethodChoice | None:
    """The method that holds now, or that held at a time."""
    choices = order.method_choices.order_by("-pk")
    return (choices.filter(chosen_at__lte=at) if at else choices).first()


def taking_down(order: RemovalOrder, plan: FellingPlan | None, at: dt.datetime | None = None) -> TakingDown:
    """By the plan and the method that holds now, or that held at a time. A line is used by a felling only."""
    choice = latest_method(order, at)
    felled = choice is None or choice.method not in NOT_FELLED
    line = plan.inputs.get("line") if plan and felled else None
    return TakingDown(
        method=choice.method if choice else "",
        reason=choice.reason if choice else "",
        conditions=_conditions(choice) if choice else (),
        chosen_at=choice.chosen_at if choice else None,
        pull_line=line is not None,
        winch=bool(line and line["haul"] == Haul.WINCH),
        stop_wind_ms=_printed_ms(plan) if felled else METHOD_BOUNDS.gust_ms.high,
    )


def _conditions(choice: MethodChoice) -> tuple[str, ...]:
    rows = choice.comparison.get("rows", ())
    return tuple(each for row in rows if row["method"] == choice.method for each in row["conditions"])


def _printed_ms(plan: FellingPlan | None) -> float | None:
    """None when the plan holds in still air only."""
    forces = (plan.results.get("forces") if plan else None) or {}
    printed: float | None = (forces.get("stop_wind") or {}).get("printed_ms")
    return printed
