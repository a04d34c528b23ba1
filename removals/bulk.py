"""One kind of work proposed for many trees: a transaction a tree, and a line that says what became of each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse

from hazards import mitigation
from hazards.models import Assessment, MitigationKind, Standing
from inventory.errors import Refused
from inventory.record import Actor
from removals import workflow

REMOVAL = "removal"
KINDS = (REMOVAL, *MitigationKind.values)
TREES_MOST = 200


@dataclass(frozen=True, slots=True)
class Outcome:
    """``number`` and ``url`` of the order that was proposed; empty where ``why_not`` says why there is none."""

    standing: Standing
    number: str = ""
    url: str = ""
    why_not: str = ""


def propose_for_all(*, by: Actor, standings: Iterable[Standing], kind: str, reason: str = "") -> list[Outcome]:
    """Propose ``kind`` for each tree in turn. A refusal stops no other tree and stores nothing of its own.

    ``reason``: for all of them; without one each order says what the ranking says of its tree.
    """
    return [_proposed(by, standing, kind, reason.strip() or standing.reason) for standing in standings]


def _proposed(by: Actor, standing: Standing, kind: str, reason: str) -> Outcome:
    try:
        if kind == REMOVAL:
            removal = workflow.propose(by=by, tree=standing.tree, reason=reason)
            return Outcome(standing, removal.number, reverse("removals:order", args=[removal.pk]))
        order = mitigation.propose(
            by=by, tree=standing.tree, kind=kind, reason=reason, assessment=_advised(standing, kind)
        )
        return Outcome(standing, order.number, reverse("hazards:work_order", args=[order.pk]))
    except Refused as refused:
        return Outcome(standing, why_not=str(refused))


def _advised(standing: Standing, kind: str) -> Assessment | None:
    """The finding that rates the tree, where it names this work among what would mend it."""
    finding = standing.assessment
    return finding if finding and finding.options.filter(mitigation=kind).exists() else None
