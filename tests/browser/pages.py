"""Every page that people see, as a role that sees it: axe and the width check walk this list.

A path names what it needs of the small world below in braces: ``/trees/{tree.tag}/``.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.contrib.auth.models import User
from django.utils import timezone

from hazards import mitigation
from hazards.closures import close_area
from hazards.concern_desk import set_desk
from hazards.concerns import Told, receive
from hazards.matrix import Occupancy
from hazards.models import (
    Closure,
    Concern,
    ConcernSource,
    Inspection,
    MitigationOrder,
    PestWatch,
    PruningLimit,
    Seen,
    StormEvent,
    StormFind,
    Target,
)
from hazards.pest_workflow import add_limit, watch_pest
from hazards.storm import FindKind
from hazards.storms import FindReport, open_event, record_find
from inventory.access import Role
from inventory.cells import cell
from inventory.models import Park, Species, Tree, TreeStatus
from inventory.record import COMMAND, Actor
from removals.kept_places import keep_place
from removals.lodged_work import report_lodged
from removals.models import FellingPlan, JobBriefing, KeptPlace, RemovalOrder, Worker
from removals.outcome import Went
from replanting.models import OrderLine, Planting, PlantingDay, RejectReason, ReplacementTask
from replanting.plan_work import plan_planting
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory
from tests.hazards.factories import EXTREME, TargetFactory, inspect, pick
from tests.removals.builders import CREW, Story, inputs
from tests.replanting.test_stock import came, line_of
from tests.replanting.walk import opened, planted


@dataclass(frozen=True)
class World:
    """One park with a tree, an order and a replacement at each turn of the walk."""

    reader: User
    park: Park
    target: Target
    tree: Tree
    inspection: Inspection
    pest: PestWatch
    work: MitigationOrder
    closure: Closure
    dead: Tree
    proposed: RemovalOrder
    scheduled: RemovalOrder
    plan: FellingPlan
    briefing: JobBriefing
    felled: RemovalOrder
    kept: KeptPlace
    worker: Worker
    lodged: RemovalOrder
    task: ReplacementTask
    planting: Planting
    species: Species
    concern: Concern
    storm: StormEvent
    find: StormFind
    line: OrderLine
    crew_day: PlantingDay


def placed(park: Park, n: int) -> Tree:
    lon, lat = 8.5, 47.2 + n / 1e4
    return TreeFactory(park=park, tag=f"LG-{n}", lon=lon, lat=lat, cell=cell(lon, lat))


def watched(park: Park) -> PestWatch:
    """Oak wilt among the oaks of the park, with a limit in force the whole year."""
    watch = watch_pest(by=Actor(), pest="OW", since=dt.date(2026, 4, 1), note="found in the next county")
    limit = {"genus": "Quercus", "region": park.name, "first": "01-01", "last": "12-31"}
    add_limit(by=Actor(), limit=PruningLimit(watch=watch, rule="no pruning", authority="the city's forester", **limit))
    return watch


def _work(cast: dict[Role, User], tree: Tree, inspection: Inspection) -> MitigationOrder:
    """A limb to be pruned tomorrow, on the finding that asks for it."""
    finding = inspection.assessments.get(part="limb")
    order = mitigation.propose(
        by=Actor(cast[Role.INSPECTOR]), tree=tree, kind="prune", reason="Take off the torn limb", assessment=finding
    )
    return mitigation.schedule(
        by=Actor(cast[Role.MANAGER]),
        order=order,
        scheduled_for=timezone.localdate() + dt.timedelta(days=1),
        assigned_to=cast[Role.CREW_LEAD],
    )


def _closed(cast: dict[Role, User], tree: Tree) -> Closure:
    words = {"area": "The path below it", "barrier": "Fence and two signs", "reason": "A limb hangs over the path"}
    return close_area(by=Actor(cast[Role.INSPECTOR]), park=tree.park, tree=tree, **words)


def _told(story: Story) -> RemovalOrder:
    """Felled under a plan that a newer one had replaced, with everything measured and a near miss told."""
    older = story.scheduled().planned()
    story.briefed(older)
    story.planned(inputs(height_m=16.0))
    went = Went(
        as_planned=False, actual_lay_deg=104.0, near_miss="A limb fell by the spotter", diameter_cm=38, height_m=16
    )
    return story.fell(plan_digest=older.digest, went=went)


def _reported(tree: Tree) -> Concern:
    """By somebody without a login, at a tree's place; the doors are open."""
    set_desk(by=COMMAND, seen=0, page_open=True, open311_open=True, emergency_number="999", contact_days=30)
    told = Told(seen=Seen.BROKEN, description="Hangs over the bench", place="East gate", lon=tree.lon, lat=tree.lat)
    return receive(by=Actor(via="public page"), told=told, source=ConcernSource.PUBLIC)


def _after_a_storm(tree: Tree) -> StormFind:
    event = open_event(by=COMMAND, name="Gale of 1 June", parks=[tree.park], gust_ms=27)
    return record_find(
        by=COMMAND,
        event=event,
        report=FindReport(FindKind.HANGING_LIMB, Occupancy.CONSTANT, tree=tree, wires=True, size_cm=22),
    )


def _hanging(story: Story) -> RemovalOrder:
    report_lodged(by=story.lead, order=story.ready().order, marked="Tape all around, Bo Hazel on guard")
    return story.order


def _kept(story: Story) -> KeptPlace:
    return keep_place(
        by=story.lead, order=story.felled(), kind="standing snag", height_left_m=4.0, reason="Woodpecker holes"
    )


def _on_order() -> OrderLine:
    """One of two trees has come from the nursery; the other was turned away."""
    line = line_of(1, extra=1)
    came(line, received=1, rejected=1, reason=RejectReason.values[0])
    return line


def _crew_day(line: OrderLine) -> PlantingDay:
    tomorrow = timezone.localdate() + dt.timedelta(days=1)
    return plan_planting(by=COMMAND, task=line.tasks.get(), day=tomorrow, crew="Crew of Lantern Green").planting_day


def make_world(cast: dict[Role, User]) -> World:
    park = ParkFactory(code="LG", name="Lantern Green")
    tree, dead, other, third = (placed(park, n) for n in range(1, 5))
    Tree.objects.filter(pk=dead.pk).update(status=TreeStatus.DEAD_STANDING)
    target = TargetFactory(park=park, name="play area")
    inspection = inspect(
        tree,
        pick(target),
        pick(target, part="limb", failure_mode="breaking at the old wound", **EXTREME),
        note="Cavity at the base",
    )
    find = _after_a_storm(tree)
    line = _on_order()
    scheduled = Story(cast, other).scheduled()
    plan = scheduled.planned()
    briefing = scheduled.briefed(plan)
    return World(
        reader=cast[Role.READER],
        park=park,
        target=target,
        tree=tree,
        inspection=inspection,
        pest=watched(park),
        work=_work(cast, tree, inspection),
        closure=_closed(cast, other),
        dead=dead,
        proposed=Story(cast, tree).order,
        scheduled=scheduled.order,
        plan=plan,
        briefing=briefing,
        felled=_told(Story(cast, third)),
        lodged=_hanging(Story(cast, placed(park, 5))),
        kept=_kept(Story(cast, placed(park, 6))),
        worker=Worker.objects.get(name=CREW[0][0]),
        task=opened(TreeFactory(park=park)),
        planting=planted(TreeFactory(park=park)),
        species=SpeciesFactory(botanical="Tilia cordata", family="Malvaceae", palette=True),
        concern=_reported(tree),
        storm=find.event,
        find=find,
        line=line,
        crew_day=_crew_day(line),
    )


SIGNED_OUT = (
    "/login/",
    "/field/",
    "/report-a-tree/",
    "/report-a-tree/status/?reference=nothing",
    "/report-a-tree/{concern.reference}/",
    "/report-a-tree/{concern.reference}/thanks/",
)
SIGNED_IN: tuple[tuple[Role, str], ...] = (
    (Role.READER, "/"),
    (Role.READER, "/styleguide/"),
    (Role.READER, "/account/password/"),
    (Role.ADMINISTRATOR, "/people/"),
    (Role.ADMINISTRATOR, "/people/add/"),
    (Role.ADMINISTRATOR, "/people/{reader.pk}/"),
    (Role.MANAGER, "/imports/"),
    (Role.MANAGER, "/trees/"),
    (Role.MANAGER, "/trees/?status=removed&q=nothing"),
    (Role.MANAGER, "/trees/{tree.tag}/"),
    (Role.MANAGER, "/trees/{felled.tree.tag}/"),
    (Role.MANAGER, "/trees/{tree.tag}/edit/"),
    (Role.MANAGER, "/trees/{tree.tag}/photos/"),
    (Role.MANAGER, "/imports/"),
    (Role.READER, "/labels/"),
    (Role.READER, "/reports/"),
    (Role.READER, "/reports/parks/{park.code}/"),
    (Role.MANAGER, "/reports/programme/"),
    (Role.READER, "/reports/programme/?budget=4000&suppose=on&only=late"),
    (Role.INSPECTOR, "/hazards/"),
    (Role.INSPECTOR, "/hazards/?rating=extreme"),
    (Role.INSPECTOR, "/hazards/print/"),
    (Role.INSPECTOR, "/hazards/due/"),
    (Role.INSPECTOR, "/hazards/rounds/"),
    (Role.INSPECTOR, "/hazards/rounds/{park.code}/"),
    (Role.INSPECTOR, "/hazards/watch/"),
    (Role.MANAGER, "/hazards/policy/"),
    (Role.INSPECTOR, "/hazards/pests/"),
    (Role.INSPECTOR, "/hazards/pests/{pest.pk}/"),
    (Role.MANAGER, "/hazards/work/"),
    (Role.MANAGER, "/hazards/work/{work.pk}/"),
    (Role.MANAGER, "/hazards/work/{work.pk}/schedule/"),
    (Role.CREW_LEAD, "/hazards/work/{work.pk}/done/"),
    (Role.MANAGER, "/hazards/work/{work.pk}/withdraw/"),
    (Role.INSPECTOR, "/hazards/propose/{tree.tag}/"),
    (Role.INSPECTOR, "/hazards/look/{tree.tag}/"),
    (Role.INSPECTOR, "/hazards/closures/?lifted=on"),
    (Role.INSPECTOR, "/hazards/closures/add/"),
    (Role.CREW_LEAD, "/hazards/close/{tree.tag}/"),
    (Role.INSPECTOR, "/hazards/closures/{closure.pk}/lift/"),
    (Role.INSPECTOR, "/hazards/concerns/"),
    (Role.INSPECTOR, "/hazards/concerns/add/"),
    (Role.MANAGER, "/hazards/concerns/settings/"),
    (Role.MANAGER, "/hazards/concerns/answers/"),
    (Role.MANAGER, "/hazards/concerns/answers/add/"),
    (Role.MANAGER, "/hazards/concerns/answers/leaf-galls/"),
    (Role.INSPECTOR, "/hazards/concerns/{concern.pk}/?plain=lichen"),
    (Role.INSPECTOR, "/hazards/storms/"),
    (Role.INSPECTOR, "/hazards/storms/{storm.pk}/"),
    (Role.INSPECTOR, "/hazards/storms/{storm.pk}/print/"),
    (Role.INSPECTOR, "/hazards/storms/{storm.pk}/sheet/"),
    (Role.INSPECTOR, "/hazards/storms/{storm.pk}/end/"),
    (Role.INSPECTOR, "/hazards/storms/finds/{find.pk}/"),
    (Role.INSPECTOR, "/hazards/storms/finds/{find.pk}/dealt-with/"),
    (Role.INSPECTOR, "/hazards/storms/finds/{find.pk}/close/"),
    (Role.INSPECTOR, "/hazards/targets/"),
    (Role.INSPECTOR, "/hazards/parks/{park.code}/targets/"),
    (Role.INSPECTOR, "/hazards/targets/{target.pk}/"),
    (Role.INSPECTOR, "/hazards/inspect/{tree.tag}/"),
    (Role.INSPECTOR, "/hazards/inspections/{inspection.pk}/"),
    (Role.INSPECTOR, "/hazards/inspections/{inspection.pk}/correct/"),
    (Role.MANAGER, "/removals/"),
    (Role.MANAGER, "/removals/{proposed.pk}/"),
    (Role.MANAGER, "/removals/{proposed.pk}/approve/"),
    (Role.MANAGER, "/removals/{proposed.pk}/withdraw/"),
    (Role.MANAGER, "/removals/{scheduled.pk}/schedule/"),
    (Role.MANAGER, "/removals/{felled.pk}/"),
    (Role.MANAGER, "/removals/{felled.pk}/close/"),
    (Role.MANAGER, "/removals/{felled.pk}/work/stump/"),
    (Role.CREW_LEAD, "/removals/{felled.pk}/keep/"),
    (Role.CREW_LEAD, "/removals/{scheduled.pk}/crew/"),
    (Role.CREW_LEAD, "/removals/{scheduled.pk}/work/nesting/"),
    (Role.MANAGER, "/removals/{scheduled.pk}/work/notices/waive/"),
    (Role.CREW_LEAD, "/removals/{scheduled.pk}/work/wires/reopen/"),
    (Role.INSPECTOR, "/removals/kept/"),
    (Role.INSPECTOR, "/removals/kept/{kept.pk}/inspect/"),
    (Role.INSPECTOR, "/removals/kept/{kept.pk}/end/"),
    (Role.MANAGER, "/removals/workers/"),
    (Role.MANAGER, "/removals/workers/add/"),
    (Role.MANAGER, "/removals/workers/{worker.pk}/"),
    (Role.MANAGER, "/removals/propose/{dead.tag}/"),
    (Role.MANAGER, "/removals/proposals/?tree={tree.pk}&tree={dead.pk}"),
    (Role.MANAGER, "/hazards/?tick=all"),
    (Role.MANAGER, "/removals/fallen/{dead.tag}/"),
    (Role.CREW_LEAD, "/removals/{scheduled.pk}/"),
    (Role.CREW_LEAD, "/removals/{scheduled.pk}/plan/"),
    (Role.CREW_LEAD, "/removals/{scheduled.pk}/place/"),
    (Role.MANAGER, "/removals/{scheduled.pk}/place/accept/?name=LG-1"),
    (Role.CREW_LEAD, "/removals/{scheduled.pk}/methods/"),
    (Role.MANAGER, "/removals/rules/"),
    (Role.CREW_LEAD, "/removals/{scheduled.pk}/sheet/"),
    (Role.CREW_LEAD, "/removals/{scheduled.pk}/fell/"),
    (Role.CREW_LEAD, "/removals/{scheduled.pk}/lodged/"),
    (Role.CREW_LEAD, "/removals/{lodged.pk}/"),
    (Role.CREW_LEAD, "/removals/{lodged.pk}/lodged/cleared/"),
    (Role.CREW_LEAD, "/removals/lodged/"),
    (Role.MANAGER, "/removals/alarms/"),
    (Role.MANAGER, "/removals/near-misses/"),
    (Role.MANAGER, "/removals/learning/"),
    (Role.CREW_LEAD, "/removals/plans/{plan.pk}/"),
    (Role.CREW_LEAD, "/removals/plans/{plan.pk}/briefing/"),
    (Role.CREW_LEAD, "/removals/briefings/{briefing.pk}/"),
    (Role.PLANNER, "/replanting/nursery/{line.order.pk}/"),
    (Role.PLANNER, "/replanting/nursery/lines/{line.pk}/delivery/"),
    (Role.PLANNER, "/replanting/plan/{crew_day.pk}/"),
    (Role.PLANNER, "/replanting/tasks/{task.pk}/split/"),
    (Role.PLANNER, "/replanting/"),
    (Role.PLANNER, "/replanting/care/"),
    (Role.PLANNER, "/replanting/care/losses/"),
    (Role.PLANNER, "/replanting/nursery/"),
    (Role.PLANNER, "/replanting/nursery/new/"),
    (Role.PLANNER, "/replanting/plan/"),
    (Role.PLANNER, "/replanting/rain/"),
    (Role.PLANNER, "/replanting/ledger/"),
    (Role.PLANNER, "/replanting/tasks/{task.pk}/"),
    (Role.PLANNER, "/replanting/tasks/{planting.task_id}/"),
    (Role.PLANNER, "/replanting/tasks/{planting.task_id}/visit/"),
    (Role.PLANNER, "/replanting/tasks/{task.pk}/species/"),
    (Role.PLANNER, "/replanting/tasks/{task.pk}/species/{species.pk}/"),
    (Role.PLANNER, "/replanting/tasks/{task.pk}/waive/"),
    (Role.PLANNER, "/replanting/tasks/{task.pk}/move/"),
    (Role.PLANNER, "/replanting/tasks/{task.pk}/obstacle/"),
    (Role.MANAGER, "/replanting/policy/?begin=trees+by+diameter+class"),
)


REFUSED: tuple[tuple[Role, str, int], ...] = (
    (Role.READER, "/people/", 403),
    (Role.READER, "/nowhere/", 404),
)


def path_in(world: World, path: str) -> str:
    return path.format(**vars(world))
