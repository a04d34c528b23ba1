"""Work other than removal: the way of an order, its due day, who may, and that only a new look lowers a rating."""

import datetime as dt
from dataclasses import replace
from itertools import product

import pytest
import time_machine

from hazards import mitigation, states
from hazards.city_policy import change_policy
from hazards.matrix import Rating
from hazards.models import AskedLook, MitigationKind, MitigationOrder, MitigationState, Standing
from hazards.policy import DEFAULT
from hazards.states import Action
from inventory.access import Role
from inventory.errors import Refused
from inventory.models import RecordEntry
from inventory.record import COMMAND, Actor
from tests.factories import TreeFactory
from tests.hazards.at_once import at_once
from tests.hazards.factories import EXTREME, HIGH, LOW, MODERATE, MORNING, TargetFactory, inspect, pick
from tests.removals.builders import Story

TODAY = dt.date(2026, 5, 20)
SEEN = MORNING.date()


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(dt.datetime(2026, 5, 20, 12, tzinfo=dt.UTC), tick=False):
        yield


@pytest.fixture
def tree(db):
    tree = TreeFactory(tag="MW-1")
    inspect(tree, pick(TargetFactory(park=tree.park), **HIGH))
    return tree


def proposed(tree, kind="prune", **facts) -> MitigationOrder:
    given = {"by": COMMAND, "tree": tree, "kind": kind, "reason": "Take the dead limb off", **facts}
    return mitigation.propose(**given)


def scheduled(tree, cast, **facts) -> MitigationOrder:
    given = {"by": COMMAND, "scheduled_for": TODAY, "assigned_to": cast[Role.CREW_LEAD], **facts}
    return mitigation.schedule(order=proposed(tree), **given)


def done(tree, cast, **facts) -> MitigationOrder:
    given = {"by": COMMAND, "on": TODAY, "outcome": "Limb taken off at the collar", **facts}
    return mitigation.report_done(order=scheduled(tree, cast), **given)


class TestWay:
    def test_from_the_proposal_to_the_work_done(self, tree, cast):
        order = done(tree, cast, actual_hours=3.5)
        order.refresh_from_db()
        assert (order.state, order.actual_hours, order.done_on) == ("done", 3.5, TODAY)
        verbs = RecordEntry.objects.filter(subject_id=str(order.pk), subject_type="hazards.mitigationorder")
        assert sorted(verbs.values_list("verb", flat=True)) == ["proposed", "reported done", "scheduled"]

    def test_withdrawn_with_its_reason(self, tree):
        order = mitigation.withdraw(by=COMMAND, order=proposed(tree), reason="The limb fell by itself")
        assert (order.state, order.withdrawn_on) == ("withdrawn", TODAY)

    def test_another_day_and_person_may_be_given(self, tree, cast):
        order = mitigation.schedule(
            by=COMMAND,
            order=scheduled(tree, cast),
            scheduled_for=TODAY + dt.timedelta(days=3),
            assigned_to=cast[Role.MANAGER],
        )
        assert order.assigned_to == cast[Role.MANAGER]

    @pytest.mark.parametrize(("state", "action"), list(product(MitigationState, Action)))
    def test_only_what_the_table_allows(self, tree, cast, state, action):
        order = proposed(tree)
        facts = {"scheduled_for": TODAY, "assigned_to": cast[Role.CREW_LEAD]}
        if state == MitigationState.DONE:
            facts |= {"done_on": TODAY, "outcome": "Done"}
        if state == MitigationState.WITHDRAWN:
            facts |= {"withdrawn_on": TODAY, "withdrawn_reason": "Not needed"}
        MitigationOrder.objects.filter(pk=order.pk).update(state=state, **facts)
        act = {
            Action.PROPOSE: lambda: proposed(tree),
            Action.SCHEDULE: lambda: mitigation.schedule(
                by=COMMAND, order=order, scheduled_for=TODAY, assigned_to=cast[Role.CREW_LEAD]
            ),
            Action.REPORT: lambda: mitigation.report_done(by=COMMAND, order=order, on=TODAY, outcome="Done"),
            Action.WITHDRAW: lambda: mitigation.withdraw(by=COMMAND, order=order, reason="Not needed"),
        }[action]
        open_one = state in {MitigationState.PROPOSED, MitigationState.SCHEDULED}
        step = (
            states.step(None if not open_one else state, action)
            if action is Action.PROPOSE
            else states.step(state, action)
        )
        if step:
            assert act().state == step.to
        else:
            with pytest.raises(Refused, match=r"Order M2026|open order"):
                act()


class TestProposal:
    @pytest.mark.parametrize(
        ("picks", "rating"), [(EXTREME, "extreme"), (HIGH, "high"), (MODERATE, "moderate"), (LOW, "low")]
    )
    def test_is_due_by_the_policy_from_the_day_of_the_observation(self, db, picks, rating):
        tree = TreeFactory()
        look = inspect(tree, pick(TargetFactory(park=tree.park), **picks))
        order = proposed(tree, assessment=look.assessments.get())
        days = DEFAULT.work_days[Rating(rating)]
        assert (order.rating, order.due_on) == (rating, None if days is None else SEEN + dt.timedelta(days=days))

    def test_without_a_finding_it_takes_the_standing_of_today(self, tree):
        order = proposed(tree)
        assert (order.rating, order.due_on) == ("high", Standing.objects.get(tree=tree).work_due)

    def test_one_open_order_of_a_kind_a_tree(self, tree):
        first = proposed(tree)
        with pytest.raises(Refused, match=f"open order to prune already, {first.number}"):
            proposed(tree)
        assert proposed(tree, kind="cable or brace").state == "proposed"
        mitigation.withdraw(by=COMMAND, order=first, reason="Not needed")
        assert proposed(tree).state == "proposed"

    @pytest.mark.parametrize(
        ("facts", "sentence"),
        [
            ({"kind": "monitor"}, "“monitor” is not work that can be ordered here"),
            ({"reason": " "}, "Say what is to be done, and why."),
            ({"estimated_hours": -1}, "-1 crew hours are out of bounds; give 0 to 2000."),
            ({"on": TODAY + dt.timedelta(days=1)}, "lies in the future"),
        ],
    )
    def test_refuses_what_cannot_be_right(self, tree, facts, sentence):
        with pytest.raises(Refused, match=sentence):
            proposed(tree, **facts)
        assert not MitigationOrder.objects.exists()

    def test_refuses_the_finding_of_another_tree(self, tree):
        other = TreeFactory(park=tree.park)
        look = inspect(other, pick(TargetFactory(park=tree.park)))
        with pytest.raises(Refused, match="The finding is one of another tree"):
            proposed(tree, assessment=look.assessments.get())

    def test_refuses_a_tree_that_is_gone(self, db):
        with pytest.raises(Refused, match="nothing is left to work on"):
            proposed(TreeFactory(removed=True))


class TestWho:
    @pytest.mark.parametrize("role", list(Role))
    def test_may_do_what_their_role_says(self, tree, cast, role):
        may_propose = role in {Role.INSPECTOR, Role.MANAGER}
        if may_propose:
            assert proposed(tree, by=Actor(cast[role])).proposed_by == cast[role]
        else:
            with pytest.raises(Refused, match="may not propose work other than removal"):
                proposed(tree, by=Actor(cast[role]))

    def test_a_crew_lead_reports_it_done_but_does_not_schedule_it(self, tree, cast):
        with pytest.raises(Refused, match="may not schedule"):
            scheduled(tree, cast, by=Actor(cast[Role.CREW_LEAD]))
        MitigationOrder.objects.all().delete()
        assert done(tree, cast, by=Actor(cast[Role.CREW_LEAD])).done_by == cast[Role.CREW_LEAD]

    def test_the_work_is_given_to_somebody_who_may_report_it(self, tree, cast):
        with pytest.raises(Refused, match="name a crew lead, inspector or manager"):
            scheduled(tree, cast, assigned_to=cast[Role.READER])

    def test_not_on_a_tree_that_is_gone(self, cast):
        gone = TreeFactory(removed=True)
        facts = {"kind": "prune", "reason": "Dead limb", "proposed_on": TODAY}
        order = MitigationOrder.objects.create(tree=gone, park=gone.park, **facts)
        with pytest.raises(Refused, match="withdraw the order instead"):
            mitigation.schedule(by=COMMAND, order=order, scheduled_for=TODAY, assigned_to=cast[Role.CREW_LEAD])

    def test_not_for_a_day_that_has_passed(self, tree, cast):
        with pytest.raises(Refused, match="19 May 2026 has passed; schedule the work for 20 May 2026 or later"):
            scheduled(tree, cast, scheduled_for=TODAY - dt.timedelta(days=1))


class TestWhenDone:
    def test_the_rating_stays_and_the_new_look_falls_due(self, tree, cast):
        order = done(tree, cast)
        standing = Standing.objects.get(tree=tree)
        assert standing.rating == "high"
        assert standing.inspect_due == TODAY + dt.timedelta(days=DEFAULT.rerating_days)
        asked = AskedLook.objects.get()
        assert (asked.why, asked.level) == (f"To rate it anew after order {order.number}, prune", 2)

    def test_how_soon_is_the_citys_to_say(self, tree, cast):
        change_policy(by=COMMAND, policy=replace(DEFAULT, rerating_days=7), seen=0)
        done(tree, cast)
        assert Standing.objects.get(tree=tree).inspect_due == TODAY + dt.timedelta(days=7)

    def test_only_the_new_look_lowers_the_rating(self, tree, cast):
        done(tree, cast)
        target, later = TargetFactory(park=tree.park), dt.datetime(2026, 6, 3, 10, tzinfo=dt.UTC)
        with time_machine.travel(later + dt.timedelta(hours=1), tick=False):
            inspect(tree, pick(target, **LOW), level=1, observed_at=later)
            assert Standing.objects.get(tree=tree).rating == "high"
            inspect(tree, pick(target, **LOW), observed_at=later)
        assert Standing.objects.get(tree=tree).rating == "low"
        assert not AskedLook.objects.open().exists()

    def test_a_look_of_the_same_morning_before_the_work_does_not_count(self, tree, cast):
        inspect(tree, observed_at=dt.datetime(2026, 5, 20, 8, tzinfo=dt.UTC))
        done(tree, cast)
        assert AskedLook.objects.open().exists()

    def test_after_an_advanced_assessment_its_own_inspection_counts(self, tree, cast):
        order = proposed(tree, kind=MitigationKind.ADVANCED)
        mitigation.schedule(by=COMMAND, order=order, scheduled_for=TODAY, assigned_to=cast[Role.INSPECTOR])
        seen = inspect(tree, level=3, observed_at=dt.datetime(2026, 5, 20, 9, tzinfo=dt.UTC))
        mitigation.report_done(by=COMMAND, order=order, on=TODAY, outcome="Resistance drilling, see the inspection")
        assert AskedLook.objects.get().met_by == seen

    def test_a_tree_that_is_felled_ends_its_open_orders(self, cast, tree):
        order, story = proposed(tree), Story(cast, tree)
        story.felled()
        order.refresh_from_db()
        assert (order.state, order.withdrawn_reason) == ("withdrawn", "The tree was removed.")


class TestList:
    def test_open_and_overdue(self, tree, cast):
        order = proposed(tree)
        assert list(MitigationOrder.objects.overdue(order.due_on)) == []
        assert list(MitigationOrder.objects.overdue(order.due_on + dt.timedelta(days=1))) == [order]
        mitigation.withdraw(by=COMMAND, order=order, reason="Not needed")
        assert not MitigationOrder.objects.overdue(TODAY + dt.timedelta(days=99)).exists()


@pytest.mark.django_db(transaction=True)
class TestAtOnce:
    def test_of_two_proposals_one_holds(self):
        tree = TreeFactory()
        raised = at_once(*[lambda: proposed(tree)] * 3)
        assert [type(error) for error in raised] == [Refused, Refused]
        assert MitigationOrder.objects.count() == 1

    def test_of_two_reports_the_second_is_told(self, cast):
        tree = TreeFactory()
        order = scheduled(tree, cast)
        raised = at_once(
            *[lambda: mitigation.report_done(by=COMMAND, order=order, on=order.proposed_on, outcome="Done")] * 2
        )
        assert [str(error) for error in raised] == [f"Order {order.number} is done already."]
        assert AskedLook.objects.count() == 1

    def test_done_and_withdrawn_at_once_end_in_one_of_both(self, cast):
        tree = TreeFactory()
        order = scheduled(tree, cast)
        raised = at_once(
            lambda: mitigation.report_done(by=COMMAND, order=order, on=order.proposed_on, outcome="Done"),
            lambda: mitigation.withdraw(by=COMMAND, order=order, reason="Not needed"),
        )
        assert len(raised) == 1
        order.refresh_from_db()
        assert order.state in {"done", "withdrawn"}
