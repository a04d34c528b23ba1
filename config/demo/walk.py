"""The main job once, on one tree, by the people whose job it is; each step is said in a line.

Inspected, rated, ranked, ordered, planned, briefed, felled, its replacement opened, chosen, ordered, planted, reported.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from config.demo import crews, plans
from hazards.impact import Direction
from hazards.matrix import Consequences, Exposure, Failure, Impact, Occupancy, Rating, suggest_impact
from hazards.models import Inspection, InspectionLevel, Part, Standing, Target
from hazards.observation import AssessmentPick, DefectFound, InspectionReport
from hazards.options import OptionPick
from hazards.workflow import record_inspection
from inventory.models import Condition, Park, Species, Tree, TreeStatus
from inventory.record import Actor
from removals import workflow as removals
from removals.crew_work import crew_of
from removals.felling_result import Verdict
from removals.models import OPEN_STATES, RemovalOrder, WorkState
from removals.tree_plan import default_anchor_height_m
from replanting import workflow as replanting
from replanting.fit import suits
from replanting.models import Planting, ReplacementTask, Stock
from replanting.site import site_of, traits_of
from replanting.stand import living_and_promised
from reports.park import park_report

REASON = "Rated high: the base is decayed and the way beneath is always used."
Say = Callable[[str], None]


@dataclass(frozen=True)
class Chosen:
    """The walk's tree and what it could hit."""

    tree: Tree
    target: Target


@transaction.atomic
def walk(by: Mapping[str, Actor], say: Say) -> Tree | None:
    """Walk with the first tree that suits; the felled tree, or None when the walk was done before or none suits."""
    done = RemovalOrder.objects.filter(reason=REASON).select_related("tree").first()
    if done:
        say(f"The walk was done before: {done.tree} was felled on {done.felled_on}. Nothing is changed.")
        return None
    chosen = next(_candidates(), None)
    if chosen is None:
        say("No tree suits the walk any more. Nothing is changed.")
        return None
    _inspect(by["wren"], chosen, say)
    order = _order(by, chosen, say)
    _fell(by["rufus"], order, say)
    planting = _replant(by["linnea"], order.tree, say)
    say(f"Planted      {planting.tree}, {planting.tree.name}; it stands where {order.tree} stood.")
    say(f"Reported     {_report(chosen.tree.park)}")
    return order.tree


def _candidates() -> Iterator[Chosen]:
    """Living trees of one stem over a place that is always used, with an open lay and a felling plan that holds."""
    rows = Standing.objects.select_related("tree__species", "tree__park", "assessment__target").filter(
        rating__in=[Rating.LOW.value, Rating.MODERATE.value],
        assessment__target__occupancy=Occupancy.CONSTANT.value,
        tree__status=TreeStatus.STANDING,
        tree__condition__in=[Condition.FAIR, Condition.POOR],
        tree__species__palette=True,
        tree__stems_cm=[],
        tree__lon__isnull=False,
        tree__dbh_cm__range=(25, 45),
        tree__height_m__range=(8, 16),
    )
    for row in rows.exclude(tree__removal_orders__state__in=OPEN_STATES).order_by("tree__tag"):
        if not row.assessment or plans.open_lay(row.tree) is None:
            continue
        if plans.draft(row.tree, _setting(row.tree)).computed.result.verdict is Verdict.ADEQUATE:
            yield Chosen(row.tree, row.assessment.target)


def _setting(tree: Tree) -> plans.Setting:
    height_m = tree.height_m or 0.0
    setting = plans.Setting(
        lay_deg=110,
        plumb_offset_m=0.2,
        lean_toward_deg=80,
        plumb_height_m=height_m / 2,
        anchor_height_m=default_anchor_height_m(height_m),
        line_distance_m=1.7 * height_m,
        winch_n=9_000,
        working_load_limit_n=25_000,
        gust_ms=3,
    )
    return plans.turned(setting, plans.open_lay(tree) or setting.lay_deg)


def _inspect(by: Actor, chosen: Chosen, say: Say) -> Inspection:
    pick = AssessmentPick(
        part=Part.ROOT_COLLAR,
        failure_mode="breaking at the base",
        target=chosen.target,
        exposure=Exposure.FULLY_EXPOSED,
        failure=Failure.PROBABLE,
        impact=suggest_impact(Occupancy(chosen.target.occupancy), Exposure.FULLY_EXPOSED),
        consequences=Consequences.SEVERE,
        distance_m=4.0,
        direction=Direction.TOWARDS,
        options=(
            OptionPick("remove", Rating.LOW.value, note="Decay all around the base; it will not close.", chosen=True),
            OptionPick("prune", failure=Failure.POSSIBLE, note="A third of the crown; it only buys a few years."),
            OptionPick("move or close the target", impact=Impact.LOW, note="The way would have to stay shut."),
        ),
    )
    report = InspectionReport(
        tree=chosen.tree,
        level=InspectionLevel.ADVANCED,
        observed_at=timezone.now(),
        condition=Condition.POOR,
        dieback_pct=30,
        note="Sounds hollow all around; fruiting bodies on the side of the way.",
        assessments=(pick,),
        defects=(DefectFound(part=Part.ROOT_COLLAR, kind="fruiting bodies"),),
    )
    tree = chosen.tree
    found = record_inspection(by=by, report=report)
    say(f"Inspected    {tree}, {tree.name}, in {tree.park}: {report.note}")
    say(
        f"Rated        {pick.failure.value} to fail, impact {pick.impact.value} = {pick.rated.failure_and_impact.value}; "
        f"consequences {pick.consequences.value} = {pick.rated.rating.value}."
    )
    say(f"Ranked       {_rank(tree)}")
    return found


def _rank(tree: Tree) -> str:
    standing = Standing.objects.get(pk=tree.pk)
    ranked = Standing.objects.ranked()
    place = ranked.filter(triage_key__lt=standing.triage_key).count() + 1
    return f"place {place} of {ranked.count()}, work due {standing.work_due}: {standing.reason}"


def _order(by: Mapping[str, Actor], chosen: Chosen, say: Say) -> RemovalOrder:
    order = removals.propose(by=by["wren"], tree=chosen.tree, reason=REASON)
    order = removals.approve(by=by["selma"], order=order)
    today, lead = timezone.localdate(), by["rufus"]
    crews.prepare(lead, order, today)
    order = removals.schedule(by=by["selma"], order=order, scheduled_for=today, crew_lead=lead.user)
    say(
        f"Ordered      removal {order.number}: proposed by {by['wren'].name}, approved by {by['selma'].name}, "
        f"today, crew lead {lead.name}."
    )
    say(f"Prepared     {_prepared(order)}")
    return order


def _prepared(order: RemovalOrder) -> str:
    crew = ", ".join(f"{member.name} ({member.role})" for member in crew_of(order))
    return f"{order.work_items.exclude(state=WorkState.OPEN).count()} items before the work are settled; crew {crew}."


def _fell(by: Actor, order: RemovalOrder, say: Say) -> None:
    draft = plans.draft(order.tree, _setting(order.tree))
    plan = plans.keep(by, order, draft)
    say(f"Planned      {_figures(draft)}")
    briefing = plans.brief(by, plan)
    names = ", ".join(briefing.signatures.values_list("name", flat=True))
    say(f"Briefed      {len(briefing.checked)} points covered; signed by {names}.")
    removals.fell(by=by, order=order, on=timezone.localdate(), outcome="Fell on its lay; the hinge held to the end.")
    task = ReplacementTask.objects.get(removed_tree=order.tree_id)
    say(f"Felled       {order.tree} is removed and out of the ranking; its replacement opened, due {task.due_on}.")


def _figures(draft: plans.Draft) -> str:
    result = draft.computed.result
    if result.cut is None or result.forces is None:
        raise ValueError("the walk takes only trees whose plan holds")
    cut, forces = result.cut, result.forces
    return (
        f"{result.verdict}: notch {100 * cut.notch_depth_m:.0f} cm deep, hinge {100 * cut.hinge_thickness_m:.1f} cm, "
        f"pull {forces.needed_n.nominal / 1000:.1f} of {result.available_n.nominal / 1000:.1f} kN, "
        f"people {result.place.drop_zone_m:.0f} m away."
    )


def _replant(by: Actor, removed: Tree, say: Say) -> Planting:
    today = timezone.localdate()
    task = ReplacementTask.objects.select_related("removed_tree__park").get(removed_tree=removed)
    species, reason = _species(task.removed_tree)
    task = replanting.choose_species(by=by, task=task, species=species, reason=reason)
    say(f"Chosen       {species}, {species.common}: {reason}")
    task = replanting.order_stock(by=by, task=task, stock=Stock.CONTAINER, nursery="Saltmarsh Nursery", on=today)
    say(f"Bought       {task.stock}, from {task.nursery}.")
    return replanting.plant(by=by, task=task, on=today, caliper_cm=5.0)


def _species(removed: Tree) -> tuple[Species, str]:
    """Of the palette's large broadleaves without a flag or a listed pest that nothing here speaks against, the rarest genus."""
    site, stand = site_of(removed), living_and_promised()
    genera: dict[str, int] = {}
    for taxon, count in stand.items():
        genera[taxon.genus] = genera.get(taxon.genus, 0) + count
    fitting = [
        species
        for species in Species.objects.filter(palette=True, size_class="large", leaf="deciduous", flag="", pests=[])
        if suits(site, traits_of(species))
    ]
    best = min(fitting, key=lambda species: (genera.get(species.genus, 0), species.botanical))
    here = genera.get(best.genus, 0)
    others = f"only {here} of its genus stand" if here else "none of its genus stands"
    return best, f"hardy in zones {best.zone_min} to {best.zone_max}, no listed pest, and {others} in the city."


def _report(park: Park) -> str:
    report = park_report(park, timezone.localdate())
    ratings = ", ".join(f"{count} {word}" for word, count in report.sections["rating"].items() if count)
    owed = report.sections["replacements"]
    return (
        f"{park}: {report.standing} trees stand, rated {ratings}; "
        f"{owed['owed']} replacements owed, {owed['planted'] + owed['established']} of them in the ground."
    )
