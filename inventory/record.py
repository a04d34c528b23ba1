"""The record of who did what. Every workflow function writes one entry, in its own transaction."""

from dataclasses import dataclass
from typing import Any

from django.db import models
from django.utils import timezone

from inventory.models import RecordEntry, Tree


@dataclass(frozen=True)
class Actor:
    """Who acts, and from where: ``web``, ``command``, ``tablet`` or ``import``. No user: the program itself."""

    user: Any = None
    via: str = "web"

    @property
    def name(self) -> str:
        return "Hingewood" if self.user is None else str(self.user.get_full_name() or self.user.get_username())


COMMAND = Actor(via="command")


def entry(
    *, by: Actor, verb: str, subject: models.Model, summary: str, tree: Tree | None = None, **data: Any
) -> RecordEntry:
    """An entry not yet saved, for callers that write many at once."""
    return RecordEntry(
        at=timezone.now(),
        actor=by.user,
        actor_name=by.name,
        via=by.via,
        verb=verb,
        subject_type=subject._meta.label_lower,
        subject_id=str(subject.pk),
        tree=tree,
        summary=summary,
        data=data,
    )


def write(
    *, by: Actor, verb: str, subject: models.Model, summary: str, tree: Tree | None = None, **data: Any
) -> RecordEntry:
    """Add one entry to the record. Call it inside the transaction that makes the change."""
    made = entry(by=by, verb=verb, subject=subject, summary=summary, tree=tree, **data)
    made.save(force_insert=True)
    return made
