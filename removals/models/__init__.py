"""What is stored of removals: orders, plans and briefings, crews, the work around a felling, the place."""

from removals.models.crews import CrewMember, Ticket, TicketKind, Worker
from removals.models.orders import BEFORE_FELLING, DOWN, OPEN_STATES, OrderQuerySet, OrderState, RemovalOrder
from removals.models.plans import BriefingSignature, CrewRole, FellingPlan, JobBriefing
from removals.models.site import AcceptedThing, CityRules, MethodChoice, SiteThing
from removals.models.work import (
    NEVER_WAIVED,
    FellingOutcome,
    KeptKind,
    KeptPlace,
    LodgedTree,
    WorkItem,
    WorkKind,
    WorkState,
)

__all__ = [
    "BEFORE_FELLING",
    "DOWN",
    "NEVER_WAIVED",
    "OPEN_STATES",
    "AcceptedThing",
    "BriefingSignature",
    "CityRules",
    "CrewMember",
    "CrewRole",
    "FellingOutcome",
    "FellingPlan",
    "JobBriefing",
    "KeptKind",
    "KeptPlace",
    "LodgedTree",
    "MethodChoice",
    "OrderQuerySet",
    "OrderState",
    "RemovalOrder",
    "SiteThing",
    "Ticket",
    "TicketKind",
    "WorkItem",
    "WorkKind",
    "WorkState",
    "Worker",
]
