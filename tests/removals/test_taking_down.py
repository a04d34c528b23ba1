"""A tree that is not felled in one piece: its way by the chosen method, what stops it, and what its pages say.

What an aerial rescue, a second line and a clear drop zone ask for is in ANSI Z133, cited from memory; the approach
distance to wires is in 29 CFR 1910.333(c)(3). One signaller, mats and the load chart are common practice.
"""

import datetime as dt
import re
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.access import Role
from inventory.errors import Refused
from inventory.models import RecordEntry, TreeStatus
from removals import briefing_work
from removals.briefing import ITEMS, checklist, not_covered, signed_digest, wind_gap
from removals.felling_input import Site
from removals.method_work import choose_method
from removals.methods import NOT_FELLED, Access, Method
from removals.models import BriefingSignature, FellingOutcome, JobBriefing, Ticket
from removals.outcome import Went
from removals.readiness import briefing_gaps, felling_gaps, named_crew, plan_gaps
from removals.taking_down import taking_down
from replanting.models import ReplacementTask
from tests.factories import TreeFactory
from tests.removals.builders import CREW, SAID, Story, inputs

LOOKED = Access(lift=True, crane=True, machine=True)
# A wire that the whole tree would reach, and no piece of it comes near: 5 m are more than 3.05 m at 10 kV.
OUTSIDE = {"site": Site(lay_deg=90.0, wire_distance_m=18.0, wire_gap_m=5.0, wire_kv=10.0)}
OF_A_FELLING = {"procedure", "retreat", "approach", "line", "weather", "drop_zone", "lodged"}
BY_METHOD = {
    Method.CLIMBED: {"rigging", "second_line", "rescue", "piece_zone"},
    Method.LIFT: {"rigging", "ground_bearing", "load_chart", "tag_line", "signaller", "operator", "lowering"},
    Method.CRANE: {"ground_bearing", "load_chart", "tag_line", "signaller", "operator", "piece_zone"},
    Method.MACHINE: {"operator", "exclusion_zone"},
}
not_felled = pytest.mark.parametrize("method", sorted(NOT_FELLED))


@pytest.fixture
def story(cast) -> Story:
    return Story(cast, TreeFactory(dbh_cm=36.0, height_m=15.0, crown_spread_m=6.0)).scheduled()


def choose(story: Story, method: Method, reason: str = "A wire hangs within its reach", at: dt.datetime | None = None):
    return choose_method(by=story.lead, order=story.order, method=method.value, reason=reason, access=LOOKED, at=at)


def page(client, name: str, pk: object) -> str:
    content = client.get(reverse(f"removals:{name}", args=[pk])).content.decode()
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", content)))


# ---- The checklist ---------------------------------------------------------------------------------------------------


@not_felled
def test_each_method_has_its_own_items_and_none_of_a_felling(method):
    keys = {item.key for item in checklist(pull_line=False, method=method)}
    assert keys >= BY_METHOD[method] | {"method", "approach_distance", "wind", "hazards", "ppe", "emergency_card"}
    assert not keys & OF_A_FELLING


@pytest.mark.parametrize("method", ["", Method.FELLED, Method.PULLED])
def test_a_felling_has_no_item_of_another_method(method):
    keys = {item.key for item in checklist(pull_line=True, method=method)}
    assert keys >= OF_A_FELLING
    assert not keys & {"method", "approach_distance", "wind", *set().union(*BY_METHOD.values())}


@not_felled
def test_an_item_of_the_method_left_out_is_missed(method):
    items = checklist(pull_line=False, method=method)
    for left_out in items:
        checked = [item.key for item in items if item is not left_out]
        assert not_covered(checked, pull_line=False, method=method) == (left_out,)


def test_every_item_is_on_some_list():
    listed = {item for method in ("", *Method) for item in checklist(pull_line=True, method=method)}
    assert listed == set(ITEMS)


def test_another_method_makes_another_digest():
    rows = [list(row) for row in CREW]
    digests = {signed_digest("d", rows, method) for method in ("", *Method)}
    assert len(digests) == 1 + len(Method)
    assert signed_digest("d", [], Method.CRANE) != "d"


def test_the_cap_stops_the_work_in_words_without_a_plan():
    assert wind_gap(9.0, 9.0, felled=False) == ""
    assert wind_gap(9.1, 9.0, felled=False).startswith(
        "A gust of 9.1 m/s was measured, over 9.0 m/s, the most in which"
    )


# ---- The way ---------------------------------------------------------------------------------------------------------


@not_felled
@pytest.mark.parametrize(
    ("changes", "verdict"), [(OUTSIDE, "outside the method"), ({"pull_n": 100.0}, "not adequate"), ({}, "adequate")]
)
def test_a_tree_is_taken_down_by_the_chosen_method_whatever_the_verdict(story, method, changes, verdict):
    plan = story.planned(inputs(**changes))
    assert plan.verdict == verdict
    choose(story, method)
    story.briefed(plan)
    order = story.fell(outcome="In nine pieces")
    assert (order.state, order.tree.status) == ("felled", TreeStatus.REMOVED)
    assert order.outcome == f"{method.capitalize()}: In nine pieces"
    assert ReplacementTask.objects.filter(removed_tree=order.tree).exists()
    entry = RecordEntry.objects.get(subject_id=str(order.pk), subject_type=order._meta.label_lower, verb="felled")
    assert entry.summary == f"{method.capitalize()} on {story.today:%-d %b %Y}: In nine pieces"
    assert RecordEntry.objects.get(verb="removed").summary == f"Removed: {method}."


@pytest.mark.parametrize("method", [None, Method.PULLED])
def test_without_such_a_method_a_plan_outside_stays_stuck_and_names_the_way_out(story, method):
    if method:
        story.planned()
        choose(story, method)
    plan = story.planned(inputs(**OUTSIDE))
    said = "change it, or compare the methods and choose one that does not fell the tree in one piece"
    assert said in felling_gaps(story.order)[0]
    with pytest.raises(Refused, match=said):
        story.briefed(plan)
    with pytest.raises(Refused, match=said):
        story.fell()


def test_a_method_alone_is_not_enough_a_plan_is_kept_first(story):
    choose(story, Method.CLIMBED)
    with pytest.raises(Refused, match="No felling plan has been made yet"):
        story.fell()


def test_a_plan_made_after_the_choice_asks_for_another_look(as_role, story):
    choose(story, Method.CLIMBED)
    plan = story.planned(inputs(**OUTSIDE))
    with pytest.raises(Refused, match="The plan was made after “dismantled by a climber” was chosen"):
        story.briefed(plan)
    assert "Not ready" in page(as_role(Role.CREW_LEAD), "sheet", story.order.pk)
    choose(story, Method.CLIMBED)
    assert plan_gaps(plan) == ()
    assert "Not ready" not in page(as_role(Role.CREW_LEAD), "sheet", story.order.pk)


def test_the_line_of_a_plan_that_is_not_carried_out_asks_for_nobody(story):
    plan = story.planned()
    assert taking_down(story.order, plan).pull_line
    choose(story, Method.LIFT)
    down = taking_down(story.order, plan)
    assert (down.pull_line, down.winch, down.stop_wind_ms) == (False, False, 9.0)
    assert down.conditions


@pytest.mark.parametrize(
    ("method", "kind"),
    [(Method.CLIMBED, "climber"), *((each, "operator") for each in sorted(NOT_FELLED - {Method.CLIMBED}))],
)
def test_the_crew_holds_the_ticket_of_the_method(story, method, kind):
    plan = story.planned(inputs(**OUTSIDE))
    choose(story, method)
    story.briefed(plan)
    Ticket.objects.filter(kind=kind).delete()
    with pytest.raises(Refused, match=f"holds an? {kind} ticket"):
        story.fell()


def test_a_gust_over_the_cap_keeps_no_briefing(story):
    plan = story.planned(inputs(**OUTSIDE))
    choose(story, Method.CRANE)
    with pytest.raises(Refused, match=r"A gust of 9\.5 m/s was measured, over 9\.0 m/s"):
        story.briefed(plan, gust_ms=9.5)
    assert story.briefed(plan, gust_ms=9.0).pk


def test_a_briefing_with_the_items_of_a_felling_does_not_do(story):
    plan = story.planned()
    choose(story, Method.CLIMBED)
    keys = [item.key for item in checklist(pull_line=True)]
    with pytest.raises(Refused, match="not complete"):
        briefing_work.hold_briefing(by=story.lead, plan=plan, checked=keys, **SAID)


def test_a_tree_in_pieces_has_no_hinge_and_no_lay(story):
    plan = story.planned(inputs(**OUTSIDE))
    choose(story, Method.CLIMBED)
    story.briefed(plan)
    for went in (Went(hinge_held=True), Went(actual_lay_deg=90.0)):
        with pytest.raises(Refused, match="has no hinge"):
            story.fell(went=went)
    story.fell(went=Went(diameter_cm=36.0))
    assert FellingOutcome.objects.get().diameter_cm == 36.0


# ---- Another method voids the briefing ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("first", "then"), [(Method.CLIMBED, Method.LIFT), (Method.CRANE, Method.PULLED), (None, Method.CLIMBED)]
)
def test_another_method_voids_the_briefing(story, first, then):
    plan = story.planned()
    if first:
        choose(story, first)
    held = story.briefed(plan, crew=CREW[:2])
    choose(story, then)
    with pytest.raises(Refused, match="The method was changed after the briefing"):
        briefing_work.sign(by=story.lead, briefing=held, name="Cy Rowan", role="spotter")
    with pytest.raises(Refused, match="The method was changed after the briefing"):
        story.fell()
    story.briefed(plan)
    assert felling_gaps(story.order, story.today) == ()


def test_the_same_method_chosen_again_voids_nothing(story):
    plan = story.planned()
    choose(story, Method.CLIMBED)
    held = story.briefed(plan)
    choose(story, Method.CLIMBED, reason="Looked at again")
    assert briefing_gaps(held, plan, named_crew(story.order)) == ()


def test_a_choice_dated_back_before_the_briefing_voids_the_signatures(story):
    plan = story.planned()
    choose(story, Method.CLIMBED)
    between = timezone.now()
    held = story.briefed(plan)
    choose(story, Method.LIFT, at=between)
    held = JobBriefing.objects.get(pk=held.pk)
    assert "Ada Larch (feller) has not signed." in briefing_gaps(held, plan, named_crew(story.order))


def test_the_signatures_name_plan_crew_and_method(story):
    plan = story.planned()
    choose(story, Method.CLIMBED)
    story.briefed(plan)
    digest = signed_digest(plan.digest, [list(row) for row in CREW], Method.CLIMBED)
    assert set(BriefingSignature.objects.values_list("plan_digest", flat=True)) == {digest}


# ---- The pages -------------------------------------------------------------------------------------------------------


def test_the_order_shows_the_way_out_and_then_the_way(as_role, story):
    plan, lead = story.planned(inputs(**OUTSIDE)), as_role(Role.CREW_LEAD)
    stuck = page(lead, "order", story.order.pk)
    assert "Compare the methods" in stuck
    assert "Brief the crew" not in stuck
    choose(story, Method.CLIMBED)
    shown = page(lead, "order", story.order.pk)
    assert "Brief the crew" in shown
    assert "Compare the methods" not in shown
    assert "The tree is dismantled by a climber, not felled by this plan." in shown
    assert "Outside the method" in shown
    story.briefed(plan)
    ready = page(lead, "order", story.order.pk)
    assert "Report it taken down" in ready
    assert "the tree may be taken down, and is then reported" in ready


@not_felled
def test_plan_briefing_and_sheet_say_that_it_is_not_felled(as_role, story, method):
    plan, lead = story.planned(), as_role(Role.CREW_LEAD)
    choose(story, method)
    for shown in (
        page(lead, "felling_plan", plan.pk),
        page(lead, "briefing", plan.pk),
        page(lead, "sheet", story.order.pk),
    ):
        assert f"{method.capitalize()}, not felled by this plan" in shown
        assert "The plan is kept as computed, with its verdict, “adequate”" in shown
    briefing, sheet = page(lead, "briefing", plan.pk), page(lead, "sheet", story.order.pk)
    for item in checklist(pull_line=False, method=method):
        assert item.words in briefing
        assert item.words in sheet
    for words in ("Procedure, to be read out", "Leave a hinge", "Line, anchor, blocks and winch", "Retreat"):
        assert words not in briefing
    assert "9.0 m/s" in briefing


def test_a_void_briefing_says_so_and_a_held_one_names_its_method(as_role, story):
    plan, lead = story.planned(), as_role(Role.CREW_LEAD)
    choose(story, Method.CLIMBED)
    held = story.briefed(plan)
    assert "The tree is dismantled by a climber, not felled by the plan." in page(lead, "held_briefing", held.pk)
    choose(story, Method.CRANE)
    shown = page(lead, "held_briefing", held.pk)
    assert "The method was changed after the briefing, which voids it" in shown
    assert "The tree is dismantled by a climber" in shown


def test_the_report_asks_for_no_hinge_and_shows_the_method(as_role, story):
    plan, lead = story.planned(inputs(**OUTSIDE)), as_role(Role.CREW_LEAD)
    choose(story, Method.CRANE)
    story.briefed(plan)
    form = page(lead, "fell", story.order.pk)
    assert "The tree is taken down with a crane, not felled by its plan;" in form
    assert "The hinge" not in form
    assert "Bearing it fell on" not in form
    sent = {"on": story.today.isoformat(), "how": "as planned", "outcome": "In four picks", "plan_digest": plan.digest}
    answer = lead.post(reverse("removals:fell", args=[story.order.pk]), sent)
    assert answer.status_code == 302
    shown = page(lead, "order", story.order.pk)
    assert "Taken down with a crane: In four picks" in shown
    assert "Method Taken down with a crane" in shown
    assert "Hinge not seen" not in shown
