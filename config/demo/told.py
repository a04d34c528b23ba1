"""What people of Alderquay have told, in every state, and a storm over two parks with what it left."""

import datetime as dt
from collections.abc import Mapping

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from config.demo.files import Calendar
from hazards import concerns, storms
from hazards.concern_desk import desk, offered, set_desk
from hazards.concerns import Told
from hazards.matrix import Occupancy
from hazards.models import Concern, ConcernSource, ConcernState, Seen, StormEvent
from hazards.storm import FindKind
from hazards.storms import FindReport
from inventory.models import Park, Tree
from inventory.record import Actor

PUBLIC = Actor(via="public page")
STORM = "Autumn gale"


@transaction.atomic
def load_concerns(by: Mapping[str, Actor], calendar: Calendar) -> int:
    """All of them or, when there is any, none; how many there are. The page stays shut until a server lets it face the public."""
    if Concern.objects.exists():
        return 0
    set_desk(
        by=by["selma"],
        seen=desk().version,
        page_open=True,
        open311_open=False,
        emergency_number="112",
        contact_days=desk().contact_days,
    )
    first, second, third = _trees("QUY")[:3]
    galls = _told(Told(Seen.LEAVES, "Small red bumps on all the leaves.", "Second tree by the pier", *_by(first)))
    hangs = _told(Told(Seen.BROKEN, "A long branch hangs over the bench.", "By the tea kiosk", *_by(second)))
    crack = Told(Seen.HOLLOW, "A crack one can put a hand into.", tree=third)
    looked = concerns.receive(by=by["linnea"], told=crack, source=ConcernSource.STAFF)
    _told(Told(Seen.ROOTS, "The path is lifted, my pram got stuck.", "North gate", contact="a neighbour at No. 4"))
    answer = next(each for each in offered() if each.slug == "leaf-galls")
    new = ConcernState.NEW.value
    concerns.answer(by=by["wren"], concern=galls, seen=new, text=answer.text)
    concerns.match(by=by["wren"], concern=hangs, tree=second)
    concerns.make_urgent(by=by["wren"], concern=hangs, seen=new, note="Bench in daily use.")
    week = timezone.localdate() + dt.timedelta(days=7)
    concerns.send_inspector(by=by["tobin"], concern=looked, seen=new, due_on=week, level=2)
    return Concern.objects.count()


def _trees(park: str) -> QuerySet[Tree]:
    return Tree.objects.standing().filter(park__code=park, lon__isnull=False, removal_orders=None).order_by("tag")


def _by(tree: Tree) -> tuple[float | None, float | None]:
    """A step beside the tree, as a telephone would say."""
    return tree.lon, None if tree.lat is None else tree.lat + 2e-5


def _told(told: Told) -> Concern:
    return concerns.receive(by=PUBLIC, told=told, source=ConcernSource.PUBLIC)


@transaction.atomic
def load_storm(by: Mapping[str, Actor], calendar: Calendar) -> int:
    """The storm of yesterday, or none when there is one; how many finds it left."""
    if StormEvent.objects.exists():
        return 0
    parks = list(Park.objects.filter(code__in=["FER", "STA"]))
    event = storms.open_event(by=by["selma"], name=STORM, parks=parks, began_at=calendar.at("1", "02:30"), gust_ms=27.5)
    ferry, common = _trees("FER"), _trees("STA")
    seen = calendar.at("1", "06:40")
    finds = [
        FindReport(FindKind.HANGING_LIMB, Occupancy.CONSTANT, tree=ferry[3], size_cm=22, seen_at=seen),
        FindReport(
            FindKind.WIRES_DOWN, Occupancy.FREQUENT, park=parks[0], place="Lane behind the boathouse", seen_at=seen
        ),
        FindReport(FindKind.UPROOTED, Occupancy.OCCASIONAL, tree=ferry[11], size_cm=48, stump_cm=52, seen_at=seen),
        FindReport(
            FindKind.BLOCKED_WAY, Occupancy.FREQUENT, tree=common[5], emergency_way=True, size_cm=35, seen_at=seen
        ),
        FindReport(FindKind.NEW_LEAN, Occupancy.OCCASIONAL, tree=common[9], lean_deg=35, seen_at=seen),
        FindReport(FindKind.SPLIT, Occupancy.RARE, tree=common[14], size_cm=41, seen_at=seen),
    ]
    kept = [storms.record_find(by=by["rufus"], event=event, report=report) for report in finds]
    storms.close_off(by=by["rufus"], find=kept[1], area="The lane behind the boathouse", barrier="Two vans and tape")
    storms.deal_with(by=by["dagny"], find=kept[3], how="Cut and cleared; the drive is open.")
    return len(kept)
