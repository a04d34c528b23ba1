"""Orders brought to a state through the workflow, and plans for them."""

import datetime as dt

from django.contrib.auth.models import User
from django.utils import timezone

from inventory.access import Role
from inventory.models import Tree
from inventory.record import Actor
from removals import briefing_work, crew_work, site_work, workflow
from removals.briefing import checklist
from removals.cut import NotchKind
from removals.felling_input import DRAG_IN_LEAF, FellingInput, Site
from removals.lines import line_by_force
from removals.models import FellingPlan, JobBriefing, RemovalOrder, Ticket, TicketKind, Worker
from removals.taking_down import taking_down
from removals.weight import entered_mass
from removals.work_items import Stage, items_of
from tests.factories import TreeFactory

CARD = {
    "phone": "Lead's mobile, full signal at the gate",
    "address": "1 Quay Road, Alderquay",
    "position": "45.20010, -40.30010",
    "access": "North gate; Cy Rowan meets the ambulance",
    "hospital": "Alderquay General, 4 km",
    "kit": "On the tailboard",
    "trained": "Ada Larch",
}
SAID = {"gust_ms": 2.0, "emergency_card": CARD}
CREW = (("Ada Larch", "feller"), ("Bo Hazel", "puller"), ("Cy Rowan", "spotter"))


def inputs(*, pull_n: float | None = 12_000.0, **changes) -> FellingInput:
    """An upright tree, 36 cm thick and 15 m high, with a strong line; ``pull_n=None``: no line."""
    _, drag_low, drag_high = DRAG_IN_LEAF
    values = {
        "diameter_m": 0.36,
        "notch": NotchKind.CONVENTIONAL,
        "notch_share": 0.25,
        "opening_deg": 60.0,
        "hinge_share": 0.10,
        "cut_height_m": 0.8,
        "height_m": 15.0,
        "crown_spread_m": 6.0,
        "crown_base_m": 5.0,
        "mass": entered_mass(1100.0),
        "back_lean_m": 0.0,
        "side_lean_m": 0.0,
        "mor_pa": 57e6,
        "mor_low_pa": 40e6,
        "mor_high_pa": 74e6,
        "wind_against_ms": 3.0,
        "crown_area_m2": 30.0,
        "drag": 0.4,
        "drag_low": drag_low,
        "drag_high": drag_high,
        "crown_centre_m": 10.0,
        "line": None if pull_n is None else line_by_force(pull_n, 10.0, 25.0),
        "site": Site(lay_deg=90.0),
    }
    return FellingInput(**{**values, **changes})


def workers(crew=CREW) -> list[tuple[Worker, str]]:
    """The people of a crew as workers, each with every ticket for another year."""
    ends = timezone.localdate() + dt.timedelta(days=365)
    named = []
    for name, role in crew:
        worker, made = Worker.objects.get_or_create(name=name, defaults={"first_aid_until": ends})
        if made:
            Ticket.objects.bulk_create(Ticket(worker=worker, kind=kind, expires_on=ends) for kind in TicketKind.values)
        named.append((worker, role))
    return named


def settle_all(order: RemovalOrder, stage: Stage, *, by: Actor, on: dt.date | None = None) -> None:
    """Every item of a stage done, with what has to be recorded of it."""
    for item in items_of(stage):
        said = {"reference": "L-4711", "note": "Seen to", "checks": item.checks}
        site_work.settle(by=by, order=order, kind=item.kind, on=on, **said)


class Story:
    """One order, and the people who bring it forward."""

    def __init__(self, cast: dict[Role, User], tree: Tree | None = None) -> None:
        self.inspector, self.manager, self.lead = (
            Actor(cast[role]) for role in (Role.INSPECTOR, Role.MANAGER, Role.CREW_LEAD)
        )
        self.today = timezone.localdate()
        self.order = workflow.propose(by=self.inspector, tree=tree or TreeFactory(), reason="Decay at the base")

    @classmethod
    def of(cls, other: "Story", tree: Tree) -> "Story":
        """Another order with the same people."""
        cast = {Role.INSPECTOR: other.inspector.user, Role.MANAGER: other.manager.user, Role.CREW_LEAD: other.lead.user}
        return cls(cast, tree)

    def approved(self) -> "Story":
        self.order = workflow.approve(by=self.manager, order=self.order)
        return self

    def prepared(self) -> "Story":
        """Approved, with everything that has to be done before the work, and its crew named."""
        self.approved()
        settle_all(self.order, Stage.BEFORE, by=self.lead)
        crew_work.name_crew(by=self.lead, order=self.order, crew=workers(CREW))
        return self

    def scheduled(self) -> "Story":
        self.prepared()
        self.order = workflow.schedule(
            by=self.manager, order=self.order, scheduled_for=self.today, crew_lead=self.lead.user
        )
        return self

    def planned(self, felling_input: FellingInput | None = None) -> FellingPlan:
        return workflow.make_plan(by=self.lead, order=self.order, inputs=felling_input or inputs())

    def briefed(self, plan: FellingPlan | None = None, crew=CREW, at: dt.datetime | None = None, **said) -> JobBriefing:
        plan = plan or self.planned()
        down = taking_down(plan.order, plan)
        checked = [item.key for item in checklist(pull_line=down.pull_line, method=down.method)]
        return briefing_work.hold_briefing(
            by=self.lead, plan=plan, checked=checked, signatures=crew, at=at, **{**SAID, **said}
        )

    def ready(self) -> "Story":
        """Everything is there; only the cut is missing."""
        self.scheduled().briefed()
        return self

    def felled(self) -> RemovalOrder:
        self.ready()
        return self.fell()

    def cleared(self) -> RemovalOrder:
        """Felled, and all that comes after it done; only the closing is missing."""
        order = self.felled()
        settle_all(order, Stage.AFTER, by=self.lead)
        return order

    def fell(self, **changes) -> RemovalOrder:
        values = {"by": self.lead, "order": self.order, "on": self.today, "outcome": "As planned"}
        self.order = workflow.fell(**{**values, **changes})
        return self.order
