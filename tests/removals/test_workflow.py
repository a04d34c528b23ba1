"""An order from its proposal to the closed file, by the people who may."""

import datetime as dt

import pytest
from django.utils import timezone

from hazards.models import Standing
from inventory.access import Role
from inventory.errors import Refused
from inventory.models import RecordEntry, TreeStatus
from inventory.record import COMMAND, Actor
from removals import briefing_work, crew_work, site_work, workflow
from removals.briefing import checklist, signed_digest
from removals.felling_input import Wedges
from removals.models import BriefingSignature, JobBriefing, OrderState, RemovalOrder
from removals.order_place import no_position
from removals.states import Action
from removals.work_items import Stage
from replanting.models import ReplacementTask
from tests.factories import TreeFactory
from tests.hazards.factories import EXTREME, MORNING, TargetFactory, inspect, pick
from tests.removals.builders import CREW, SAID, Story, inputs, settle_all, workers

DAY = dt.timedelta(days=1)


@pytest.fixture
def story(cast) -> Story:
    return Story(cast)


def entries(order: RemovalOrder) -> list[str]:
    own = RecordEntry.objects.filter(subject_type="removals.removalorder", subject_id=str(order.pk))
    return list(own.order_by("pk").values_list("verb", flat=True))


# ---- Proposing -------------------------------------------------------------------------------------------------------


def test_a_proposal_takes_rating_and_due_date_from_the_standing(cast):
    tree = TreeFactory()
    inspect(tree, pick(TargetFactory(park=tree.park), **EXTREME))
    order = workflow.propose(by=Actor(cast[Role.INSPECTOR]), tree=tree, reason="Decay at the base")
    # An extreme rating asks for work within a day of the observation (hazards.policy).
    assert (order.state, order.rating, order.due_on) == (OrderState.PROPOSED, "extreme", MORNING.date() + DAY)


def test_a_tree_that_was_never_rated_may_be_proposed_without_a_due_date(story):
    assert (story.order.rating, story.order.due_on) == ("", None)


def test_a_second_order_for_the_same_tree_is_refused_by_the_number_of_the_first(story):
    with pytest.raises(Refused, match=f"has an open order already, {story.order.number} \\(proposed\\)"):
        workflow.propose(by=story.inspector, tree=story.order.tree, reason="Again")


def test_a_removed_tree_is_not_proposed(story):
    with pytest.raises(Refused, match="nothing is left to take down"):
        workflow.propose(by=story.inspector, tree=TreeFactory(removed=True), reason="Decay")


def test_a_withdrawn_order_makes_room_for_another(story):
    workflow.withdraw(by=story.manager, order=story.order, reason="It recovered")
    assert workflow.propose(by=story.inspector, tree=story.order.tree, reason="Now it did not").pk != story.order.pk


def test_a_proposal_needs_a_reason(story):
    with pytest.raises(Refused, match="Say why"):
        workflow.propose(by=story.inspector, tree=TreeFactory(), reason="  ")


# ---- The way to the day of the work ----------------------------------------------------------------------------------


def test_approval_keeps_who_and_when(story):
    order = story.approved().order
    assert (order.state, order.approved_by, order.approved_on) == ("approved", story.manager.user, story.today)


def test_a_schedule_names_a_day_and_a_crew_lead_and_may_move(story):
    story.scheduled()
    moved = workflow.schedule(
        by=story.manager, order=story.order, scheduled_for=story.today + DAY, crew_lead=story.lead.user
    )
    assert (moved.state, moved.scheduled_for) == ("scheduled", story.today + DAY)


def test_a_day_that_has_passed_is_not_scheduled(story):
    story.approved()
    with pytest.raises(Refused, match="has passed"):
        workflow.schedule(
            by=story.manager, order=story.order, scheduled_for=story.today - DAY, crew_lead=story.lead.user
        )


def test_only_somebody_who_may_brief_leads_the_crew(story, cast):
    story.approved()
    with pytest.raises(Refused, match="is no crew lead"):
        workflow.schedule(by=story.manager, order=story.order, scheduled_for=story.today, crew_lead=cast[Role.PLANNER])


def test_nothing_has_happened_tomorrow(story):
    with pytest.raises(Refused, match="lies in the future"):
        workflow.approve(by=story.manager, order=story.order, on=story.today + DAY)


def test_nothing_happens_before_what_led_to_it(story):
    with pytest.raises(Refused, match="the step that this one follows"):
        workflow.approve(by=story.manager, order=story.order, on=story.today - DAY)


def test_a_history_is_told_with_its_own_days(cast):
    tree, days = TreeFactory(), [dt.date(2025, 3, day) for day in (1, 3, 20)]
    by = Actor(cast[Role.MANAGER])
    order = workflow.propose(by=by, tree=tree, reason="Decay", on=days[0])
    order = workflow.approve(by=by, order=order, on=days[1])
    settle_all(order, Stage.BEFORE, by=by, on=days[1])
    crew_work.name_crew(by=by, order=order, crew=workers())
    order = workflow.schedule(by=by, order=order, scheduled_for=days[2], crew_lead=cast[Role.CREW_LEAD], on=days[1])
    lead, morning = Actor(cast[Role.CREW_LEAD]), timezone.make_aware(dt.datetime(2025, 3, 20, 8))
    plan = workflow.make_plan(by=lead, order=order, inputs=inputs(), at=morning - DAY)
    # The twentieth of March falls in the nesting season: the look of the third is too old by then.
    site_work.settle(
        by=lead,
        order=order,
        kind="nesting season",
        on=days[2],
        reference="Di Elm",
        note="None",
        checks=("nests", "roosts", "cavities"),
    )
    keys = [item.key for item in checklist(pull_line=True)]
    briefing_work.hold_briefing(by=lead, plan=plan, checked=keys, signatures=CREW, at=morning, **SAID)
    order = workflow.fell(by=lead, order=order, on=days[2], outcome="As planned")
    settle_all(order, Stage.AFTER, by=by, on=days[2])
    order = workflow.close(by=by, order=order, on=days[2] + DAY)
    tree.refresh_from_db()
    assert (order.number[:4], order.closed_on, tree.removed_on) == ("2025", days[2] + DAY, days[2])


# ---- Plans -----------------------------------------------------------------------------------------------------------


def test_a_plan_keeps_inputs_results_and_what_was_assumed(story):
    plan = workflow.make_plan(by=story.lead, order=story.order, inputs=inputs(), assumptions=["Height was estimated."])
    plan.refresh_from_db()
    assert plan.inputs["diameter_m"] == 0.36
    assert plan.results["verdict"] == plan.verdict == "adequate"
    assert plan.assumptions == ["Height was estimated.", no_position(story.order.tree)]
    assert plan.method_version == plan.results["method_version"]


def test_the_digest_names_the_plan_and_nothing_else(story):
    first, same, other = story.planned(), story.planned(), story.planned(inputs(height_m=16.0))
    assert first.digest == same.digest != other.digest
    assert len(first.digest) == 64


def test_a_plan_outside_the_method_is_kept_with_its_reasons(story):
    plan = story.planned(inputs(height_m=41.0))
    assert plan.verdict == "outside the method"
    assert any("41" in reason for reason in plan.results["reasons"])


# ---- The briefing ----------------------------------------------------------------------------------------------------


def test_a_briefing_covers_every_item(story):
    plan = story.scheduled().planned()
    keys = [item.key for item in checklist(pull_line=True) if item.key != "wires"]
    with pytest.raises(Refused, match="not complete: Wires"):
        briefing_work.hold_briefing(by=story.lead, plan=plan, checked=keys, signatures=CREW, **SAID)
    assert not JobBriefing.objects.exists()


def test_a_plan_without_a_line_needs_no_check_of_the_line(story):
    plan = story.scheduled().planned(inputs(pull_n=None, wedges=Wedges(rated_n=100_000.0)))
    keys = [item.key for item in checklist(pull_line=False)]
    assert briefing_work.hold_briefing(by=story.lead, plan=plan, checked=keys, **SAID).pk


def test_nobody_is_briefed_on_an_older_plan(story):
    older = story.scheduled().planned()
    story.planned(inputs(height_m=16.0))
    with pytest.raises(Refused, match="A newer plan"):
        story.briefed(older)


@pytest.mark.parametrize(
    ("changes", "verdict"), [({"height_m": 41.0}, "outside the method"), ({"pull_n": 100.0}, "not adequate")]
)
def test_nobody_is_briefed_on_a_plan_that_does_not_hold(story, changes, verdict):
    plan = story.scheduled().planned(inputs(**changes))
    assert plan.verdict == verdict
    with pytest.raises(Refused, match=verdict):
        story.briefed(plan)


def test_each_person_signs_once_whatever_the_letters(story):
    briefing = story.scheduled().briefed(crew=CREW[:2])
    with pytest.raises(Refused, match="signs once"):
        briefing_work.sign(by=story.lead, briefing=briefing, name=" ada  LARCH ", role="spotter")


@pytest.mark.parametrize(("name", "role", "why"), [(" ", "feller", "needs a name"), ("Di Elm", "owner", "no role")])
def test_a_signature_is_a_name_in_a_role(story, name, role, why):
    briefing = story.scheduled().briefed(crew=CREW[:2])
    with pytest.raises(Refused, match=why):
        briefing_work.sign(by=story.lead, briefing=briefing, name=name, role=role)


def test_a_signature_carries_the_digest_of_plan_and_crew(story):
    plan = story.scheduled().planned()
    story.briefed(plan)
    digest = signed_digest(plan.digest, [list(row) for row in CREW])
    assert set(BriefingSignature.objects.values_list("plan_digest", flat=True)) == {digest}


def test_nobody_signs_when_the_plan_has_changed(story):
    briefing = story.scheduled().briefed(crew=CREW[:2])
    story.planned(inputs(height_m=16.0))
    with pytest.raises(Refused, match="A newer plan"):
        briefing_work.sign(by=story.lead, briefing=briefing, name="Cy Rowan", role="spotter")


# ---- Felling ---------------------------------------------------------------------------------------------------------


def test_felled_removes_the_tree_from_the_ranking_and_opens_its_task(story):
    rated = story.order.tree
    inspect(rated, pick(TargetFactory(park=rated.park)))
    assert Standing.objects.ranked().get().tree == rated
    order = story.felled()
    tree = order.tree
    assert (order.state, order.felled_on, order.outcome) == ("felled", story.today, "As planned")
    assert (tree.status, tree.removed_on) == (TreeStatus.REMOVED, story.today)
    assert tree not in [standing.tree for standing in Standing.objects.ranked()]
    assert ReplacementTask.objects.get(removed_tree=tree).opened_on == story.today


def test_the_last_signature_may_come_later(story):
    briefing = story.scheduled().briefed(crew=CREW[:2])
    with pytest.raises(Refused, match="Cy Rowan"):
        story.fell()
    briefing_work.sign(by=story.lead, briefing=briefing, name="Cy Rowan", role="spotter")
    assert story.fell().state == "felled"


def test_no_felling_without_a_plan(story):
    story.scheduled()
    with pytest.raises(Refused, match="No felling plan"):
        story.fell()


def test_no_felling_without_a_briefing(story):
    story.scheduled().planned()
    with pytest.raises(Refused, match="has not been briefed"):
        story.fell()


def test_a_later_plan_voids_the_briefing(story):
    story.ready().planned(inputs(height_m=16.0))
    with pytest.raises(Refused, match="a new plan voids it"):
        story.fell()


def test_a_later_plan_that_does_not_hold_stops_the_work(story):
    story.ready().planned(inputs(height_m=41.0))
    with pytest.raises(Refused, match="outside the method"):
        story.fell()


def test_a_signature_under_another_digest_does_not_count(story):
    story.ready()
    BriefingSignature.objects.filter(name="Ada Larch").update(plan_digest="0" * 64)
    with pytest.raises(Refused, match="Ada Larch"):
        story.fell()


def test_a_briefing_with_an_open_item_does_not_count(story):
    story.ready()
    briefing = JobBriefing.objects.get()
    briefing.checked.remove("retreat")
    briefing.save()
    with pytest.raises(Refused, match="left this open: Two ways of retreat"):
        story.fell()


def test_a_briefing_holds_for_its_own_day(cast):
    by = Actor(cast[Role.MANAGER])
    story = Story(cast)
    RemovalOrder.objects.update(proposed_on=story.today - DAY)
    workflow.approve(by=by, order=story.order, on=story.today - DAY)
    settle_all(story.order, Stage.BEFORE, by=by, on=story.today - DAY)
    crew_work.name_crew(by=by, order=story.order, crew=workers())
    workflow.schedule(
        by=by, order=story.order, scheduled_for=story.today, crew_lead=story.lead.user, on=story.today - DAY
    )
    story.briefed(at=timezone.now() - DAY)
    with pytest.raises(Refused, match="a briefing holds for its own day"):
        story.fell()


def test_a_felling_says_how_it_went(story):
    story.ready()
    with pytest.raises(Refused, match="Say how"):
        story.fell(outcome=" ")
    assert not ReplacementTask.objects.exists()


def test_a_refused_felling_leaves_everything_as_it_was(story):
    story.scheduled()
    with pytest.raises(Refused):
        story.fell()
    story.order.refresh_from_db()
    assert story.order.state == "scheduled"
    assert story.order.tree.stands
    assert Action.FELL.value not in entries(story.order)


# ---- The tree that was down already ----------------------------------------------------------------------------------


@pytest.mark.parametrize("bring", ["approved", "scheduled", None])
def test_a_fallen_tree_leaves_without_plan_or_briefing_and_opens_its_task(story, bring):
    if bring:
        getattr(story, bring)()
    order = workflow.already_down(by=story.lead, order_or_tree=story.order, on=story.today, cause="Storm")
    assert (order.state, order.felled_on, order.outcome) == ("already down", story.today, "Storm")
    assert not order.tree.stands
    assert ReplacementTask.objects.filter(removed_tree=order.tree).count() == 1


def test_a_fallen_tree_without_an_order_gets_one(story):
    tree = TreeFactory()
    order = workflow.already_down(by=story.lead, order_or_tree=tree, on=story.today, cause="A lorry")
    assert (order.tree, order.state, order.reason) == (tree, "already down", "A lorry")
    assert ReplacementTask.objects.filter(removed_tree=tree).count() == 1


def test_a_fallen_tree_ends_its_waiting_order(story):
    order = workflow.already_down(by=story.lead, order_or_tree=story.order.tree, on=story.today, cause="Storm")
    assert order.pk == story.order.pk


def test_a_tree_falls_once(story):
    workflow.already_down(by=story.lead, order_or_tree=story.order, on=story.today, cause="Storm")
    for target in (story.order, story.order.tree):
        with pytest.raises(Refused):
            workflow.already_down(by=story.lead, order_or_tree=target, on=story.today, cause="Storm")
    assert ReplacementTask.objects.count() == 1


# ---- The end ---------------------------------------------------------------------------------------------------------


def test_closing_ends_a_felled_order(story):
    order = workflow.close(by=story.manager, order=story.cleared())
    assert (order.state, order.closed_on) == ("closed", story.today)


def test_an_order_is_not_closed_before_the_tree_is_down(story):
    with pytest.raises(Refused, match="only one that is felled or already down can be closed"):
        workflow.close(by=story.manager, order=story.order)


def test_withdrawing_needs_a_reason_and_leaves_the_tree(story):
    with pytest.raises(Refused, match="Say why"):
        workflow.withdraw(by=story.manager, order=story.order, reason="")
    order = workflow.withdraw(by=story.manager, order=story.order, reason="It recovered")
    assert (order.state, order.withdrawn_on, order.tree.stands) == ("withdrawn", story.today, True)


# ---- Who may ---------------------------------------------------------------------------------------------------------


def act(story: Story, action: Action, by: Actor) -> None:
    """Do ``action`` from a state in which it is possible."""
    day, order = story.today, story.order
    {
        Action.PROPOSE: lambda: workflow.propose(by=by, tree=TreeFactory(), reason="Decay"),
        Action.APPROVE: lambda: workflow.approve(by=by, order=order),
        Action.WITHDRAW: lambda: workflow.withdraw(by=by, order=order, reason="It recovered"),
        Action.SCHEDULE: lambda: workflow.schedule(
            by=by, order=story.prepared().order, scheduled_for=day, crew_lead=story.lead.user
        ),
        Action.PLAN: lambda: workflow.make_plan(by=by, order=order, inputs=inputs()),
        Action.BRIEF: lambda: briefing_work.sign(
            by=by, briefing=story.scheduled().briefed(crew=CREW[:2]), name="Cy Rowan", role="spotter"
        ),
        Action.FELL: lambda: story.ready().fell(by=by),
        Action.ALREADY_DOWN: lambda: workflow.already_down(by=by, order_or_tree=order, on=day, cause="Storm"),
        Action.CLOSE: lambda: workflow.close(by=by, order=story.cleared()),
    }[action]()


WHO = {
    Action.PROPOSE: {Role.INSPECTOR, Role.MANAGER},
    Action.APPROVE: {Role.MANAGER},
    Action.WITHDRAW: {Role.MANAGER},
    Action.SCHEDULE: {Role.MANAGER},
    Action.PLAN: {Role.CREW_LEAD, Role.MANAGER},
    Action.BRIEF: {Role.CREW_LEAD},
    Action.FELL: {Role.CREW_LEAD, Role.MANAGER},
    Action.ALREADY_DOWN: {Role.CREW_LEAD, Role.MANAGER},
    Action.CLOSE: {Role.MANAGER},
}


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("action", Action)
def test_the_workflow_itself_asks_for_the_role(story, cast, action, role):
    by = Actor(cast[role])
    if role in WHO[action]:
        act(story, action, by)
    else:
        with pytest.raises(Refused, match="may not"):
            act(story, action, by)


def test_the_program_acts_from_the_terminal_only(story):
    assert workflow.approve(by=COMMAND, order=story.order).approved_by is None
    with pytest.raises(Refused, match="sign in"):
        workflow.withdraw(by=Actor(None, via="web"), order=story.order, reason="It recovered")


# ---- The record ------------------------------------------------------------------------------------------------------


def test_each_step_leaves_one_entry(story):
    order = workflow.close(by=story.manager, order=story.cleared())
    steps = [verb for verb in entries(order) if verb not in {"work item", "crew named"}]
    assert steps == ["proposed", "approved", "scheduled", "planned", "briefed", "felled", "closed"]


def test_the_tree_remembers_its_order(story):
    story.felled()
    verbs = set(story.order.tree.record.values_list("verb", flat=True))
    assert verbs >= {"proposed", "felled", "removed", "replacement opened"}
