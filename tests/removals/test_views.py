"""The pages of removal orders as their readers see them."""

import re
from urllib.parse import unquote

import pytest
import segno
from django.urls import reverse

from hazards.models import Standing
from inventory.access import Role
from inventory.models import Tree
from removals import crew_work, workflow
from removals.models import JobBriefing, OrderState, RemovalOrder
from removals.states import TABLE
from removals.work_items import Stage
from replanting.models import ReplacementTask
from tests.factories import ParkFactory, TreeFactory
from tests.removals.builders import Story, inputs, settle_all, workers


@pytest.fixture
def story(cast) -> Story:
    return Story(cast)


def text(response) -> str:
    """What the page says, without its tags."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def labels(response) -> set[str]:
    """The labels of the buttons in the page's own part."""
    main = response.content.decode().partition("<main")[2]
    return {label.strip() for label in re.findall(r'class="button[^"]*"[^>]*>([^<]+)<', main)}


def page(client, name: str, *args):
    return client.get(reverse(f"removals:{name}", args=args))


# ---- The list --------------------------------------------------------------------------------------------------------


def test_the_list_shows_open_orders_and_leaves_ended_ones_out(as_role, story):
    gone = Story.of(story, TreeFactory(tag="GONE"))
    workflow.withdraw(by=story.manager, order=gone.order, reason="It recovered")
    shown = text(page(as_role(Role.READER), "orders"))
    assert story.order.tree.tag in shown
    assert "GONE" not in shown


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("state=proposed", {"TREE-A"}),
        ("state=withdrawn", {"TREE-B"}),
        ("state=all", {"TREE-A", "TREE-B", "TREE-C"}),
        ("park=NORTH", {"TREE-C"}),
        ("text=tree-c", {"TREE-C"}),
        ("overdue=on", {"TREE-C"}),
        ("state=scheduled&overdue=on", {"TREE-C"}),
    ],
)
def test_the_filters_of_the_list(as_role, story, query, found):
    RemovalOrder.objects.all().delete()
    by = story.manager
    for tag, park in (("TREE-A", "SOUTH"), ("TREE-B", "SOUTH"), ("TREE-C", "NORTH")):
        workflow.propose(by=by, tree=TreeFactory(tag=tag, park=ParkFactory(code=park)), reason="Decay")
    _, b, c = RemovalOrder.objects.order_by("pk")
    workflow.withdraw(by=by, order=b, reason="It recovered")
    workflow.approve(by=by, order=c)
    settle_all(c, Stage.BEFORE, by=by)
    workflow.schedule(by=by, order=c, scheduled_for=story.today, crew_lead=story.lead.user)
    RemovalOrder.objects.filter(pk=c.pk).update(due_on=story.today.replace(year=2020))
    response = as_role(Role.READER).get(reverse("removals:orders"), dict(p.split("=") for p in query.split("&")))
    assert {order.tree.tag for order in response.context["page"].rows} == found


def test_the_list_filters_by_crew_lead(as_role, story):
    story.scheduled()
    Story.of(story, TreeFactory()).approved()
    response = as_role(Role.READER).get(reverse("removals:orders"), {"crew_lead": story.lead.user.pk})
    assert [order.pk for order in response.context["page"].rows] == [story.order.pk]


def test_the_list_goes_on_by_key(as_role, story, django_assert_max_num_queries):
    for _ in range(60):
        workflow.propose(by=story.inspector, tree=TreeFactory(), reason="Decay")
    client = as_role(Role.READER)
    with django_assert_max_num_queries(9):
        first = page(client, "orders").context["page"]
    second = client.get(reverse("removals:orders"), {"page": first.next}).context["page"]
    assert (len(first.rows), len(second.rows)) == (50, 11)
    assert {order.pk for order in first.rows}.isdisjoint(order.pk for order in second.rows)


def test_an_empty_list_says_where_an_order_begins(as_role, cast):
    assert "begins on the page of a tree" in text(page(as_role(Role.READER), "orders"))


# ---- One order -------------------------------------------------------------------------------------------------------

KEEP, HANGS = "Keep a snag or the stump", "It hangs in another tree"
AS_PLANNED = {"how": "as planned", "hinge": "held", "outcome": "As planned"}
STEPS = {
    OrderState.PROPOSED: {
        Role.MANAGER: {"Approve", "Withdraw", "Make a felling plan", "Report it already down", "Name the crew"},
        Role.CREW_LEAD: {"Make a felling plan", "Report it already down", "Name the crew"},
    },
    OrderState.APPROVED: {
        Role.MANAGER: {"Schedule", "Withdraw", "Make a felling plan", "Report it already down", "Name the crew"},
        Role.CREW_LEAD: {"Make a felling plan", "Report it already down", "Name the crew"},
    },
    OrderState.SCHEDULED: {
        Role.MANAGER: {
            "Change day or lead",
            "Withdraw",
            "Make a felling plan",
            "Report it already down",
            "Change the crew",
            HANGS,
        },
        Role.CREW_LEAD: {"Make a felling plan", "Report it already down", "Change the crew", HANGS},
    },
    OrderState.FELLED: {Role.MANAGER: {"Close", KEEP}, Role.CREW_LEAD: {KEEP}},
    OrderState.ALREADY_DOWN: {Role.MANAGER: {"Close", KEEP}, Role.CREW_LEAD: {KEEP}},
}


def bring_to(story: Story, state: OrderState) -> RemovalOrder:
    if state == OrderState.APPROVED:
        story.approved()
    elif state == OrderState.SCHEDULED:
        story.scheduled()
    elif state == OrderState.FELLED:
        story.felled()
    elif state == OrderState.CLOSED:
        story.order = workflow.close(by=story.manager, order=story.cleared())
    elif state == OrderState.ALREADY_DOWN:
        story.order = workflow.already_down(by=story.lead, order_or_tree=story.order, on=story.today, cause="Storm")
    elif state == OrderState.WITHDRAWN:
        story.order = workflow.withdraw(by=story.manager, order=story.order, reason="It recovered")
    return story.order


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("state", [state for state in TABLE if state])
def test_an_order_offers_each_reader_what_they_may_do_next(as_role, story, state, role):
    order = bring_to(story, state)
    offered = labels(page(as_role(role), "order", order.pk)) - {"Order sheet"}
    assert offered == STEPS.get(state, {}).get(role, set())


def test_when_the_plan_holds_the_lead_briefs_and_nobody_fells_yet(as_role, story):
    story.scheduled().planned()
    offered = labels(page(as_role(Role.CREW_LEAD), "order", story.order.pk))
    assert "Brief the crew" in offered
    assert "Report it felled" not in offered


def test_when_all_is_there_the_lead_may_report_it_felled(as_role, story):
    assert "Report it felled" in labels(page(as_role(Role.CREW_LEAD), "order", story.ready().order.pk))


@pytest.mark.parametrize(
    ("bring", "sentence"),
    [
        ("approved", "It waits to be given a day and a crew lead, by a manager."),
        ("scheduled", "No felling plan has been made yet."),
    ],
)
def test_an_order_says_what_it_waits_for(as_role, story, bring, sentence):
    getattr(story, bring)()
    assert sentence in text(page(as_role(Role.READER), "order", story.order.pk))


def test_an_order_whose_plan_changed_says_that_the_briefing_is_void(as_role, story):
    story.ready().planned(inputs(height_m=16.0))
    assert "a new plan voids it" in text(page(as_role(Role.READER), "order", story.order.pk))


def test_a_felled_order_leads_to_its_replacement(as_role, story):
    order = story.felled()
    task = ReplacementTask.objects.get()
    assert reverse("replanting:task", args=[task.pk]) in page(as_role(Role.READER), "order", order.pk).content.decode()


@pytest.mark.parametrize("state", [state for state in TABLE if state])
def test_an_order_costs_few_queries(as_role, story, state, django_assert_max_num_queries):
    order = bring_to(story, state)
    client = as_role(Role.MANAGER)
    with django_assert_max_num_queries(25):
        page(client, "order", order.pk)


# ---- The steps -------------------------------------------------------------------------------------------------------


def post(client, name: str, pk, **data):
    return client.post(reverse(f"removals:{name}", args=[pk]), data)


def test_the_whole_walk_in_forms(as_role, story):
    manager, lead, pk = as_role(Role.MANAGER), as_role(Role.CREW_LEAD), story.order.pk
    today = story.today.isoformat()
    post(manager, "approve", pk)
    settle_all(story.order, Stage.BEFORE, by=story.lead)
    crew_work.name_crew(by=story.lead, order=story.order, crew=workers())
    post(manager, "schedule", pk, scheduled_for=today, crew_lead=story.lead.user.pk)
    plan = story.planned()
    story.briefed(plan)
    post(lead, "fell", pk, **AS_PLANNED, on=today)
    settle_all(story.order, Stage.AFTER, by=story.lead)
    response = post(manager, "close", pk, on=today)
    assert response.url == reverse("removals:order", args=[pk])
    assert RemovalOrder.objects.get().state == "closed"
    assert not Tree.objects.get().stands


def test_a_refusal_stands_on_the_form(as_role, story):
    story.scheduled()
    response = post(as_role(Role.CREW_LEAD), "fell", story.order.pk, **AS_PLANNED, on=story.today.isoformat())
    assert response.status_code == 200
    assert "No felling plan has been made yet." in text(response)


def test_withdrawing_and_found_down(as_role, story):
    post(as_role(Role.MANAGER), "withdraw", story.order.pk, reason="It recovered")
    assert RemovalOrder.objects.get().state == "withdrawn"
    tree = TreeFactory(tag="A/1")
    response = post(as_role(Role.CREW_LEAD), "tree_down", tree.tag, on=story.today.isoformat(), cause="Storm")
    assert RemovalOrder.objects.get(tree=tree).state == "already down"
    assert response.status_code == 302


def test_an_order_that_was_found_down(as_role, story):
    post(as_role(Role.CREW_LEAD), "down", story.order.pk, on=story.today.isoformat(), cause="Storm")
    assert "Already down" in text(page(as_role(Role.READER), "order", story.order.pk))


def test_only_crew_leads_are_offered_as_such(as_role, story):
    story.approved()
    form = page(as_role(Role.MANAGER), "schedule", story.order.pk).context["form"]
    assert list(form.fields["crew_lead"].queryset) == [story.lead.user]


def test_a_proposal_starts_from_the_reason_of_the_ranking(as_role, cast):
    tree = TreeFactory()
    Standing.objects.filter(tree=tree).update(reason="High: probable failure of the trunk onto the path.")
    client = as_role(Role.INSPECTOR)
    assert "probable failure of the trunk" in text(page(client, "propose", tree.tag))
    response = post(client, "propose", tree.tag, reason="Decay at the base")
    assert response.url == reverse("removals:order", args=[RemovalOrder.objects.get().pk])


def test_a_tree_with_an_open_order_leads_to_it(as_role, story):
    response = page(as_role(Role.INSPECTOR), "propose", story.order.tree.tag)
    assert reverse("removals:order", args=[story.order.pk]) in response.content.decode()


# ---- Who may ---------------------------------------------------------------------------------------------------------

MAY_OPEN = {
    "approve": {Role.MANAGER},
    "schedule": {Role.MANAGER},
    "withdraw": {Role.MANAGER},
    "close": {Role.MANAGER},
    "fell": {Role.MANAGER, Role.CREW_LEAD},
    "down": {Role.MANAGER, Role.CREW_LEAD},
    "plan": {Role.MANAGER, Role.CREW_LEAD},
    "order": set(Role),
    "sheet": set(Role),
}


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("name", MAY_OPEN)
def test_who_may_open_which_page(as_role, story, name, role):
    expected = 200 if role in MAY_OPEN[name] else 403
    assert page(as_role(role), name, story.order.pk).status_code == expected


@pytest.mark.parametrize("role", [role for role in Role if role is not Role.CREW_LEAD])
def test_only_a_crew_lead_holds_a_briefing(as_role, story, role):
    plan = story.scheduled().planned()
    assert post(as_role(role), "briefing", plan.pk).status_code == 403
    assert not JobBriefing.objects.exists()


# ---- The order sheet -------------------------------------------------------------------------------------------------


def test_the_sheet_leads_back_to_the_order_and_names_the_plan(as_role, story):
    plan = story.scheduled().planned()
    response = page(as_role(Role.CREW_LEAD), "sheet", story.order.pk)
    html = response.content.decode()
    assert f"http://testserver/removals/{story.order.pk}/" in html
    assert "data:image/svg+xml" in html
    assert plan.digest[:12] in html
    assert html.count("<svg xmlns") == 3


def test_the_code_on_the_sheet_reads_as_the_address_of_the_order(as_role, story):
    response = page(as_role(Role.CREW_LEAD), "sheet", story.order.pk)
    expected = segno.make(f"http://testserver/removals/{story.order.pk}/", error="m")
    drawn = re.search(r' d="([^"]+)"', expected.svg_inline(scale=4, border=2)).group(1)
    assert drawn in unquote(response.context["code"])


def test_a_sheet_without_a_plan_says_so(as_role, story):
    assert "No felling plan has been made yet." in text(page(as_role(Role.READER), "sheet", story.order.pk))


def test_the_emergency_card_gives_the_place_and_says_what_is_missing(as_role, story):
    park = story.order.park
    park.hospital = "Alderquay General"
    park.save()
    shown = text(page(as_role(Role.READER), "order", story.order.pk))
    assert "Alderquay General" in shown
    assert f"No address is kept for {park.name}" in shown


def test_actor_of_a_step_is_the_person_signed_in(as_role, story):
    post(as_role(Role.MANAGER), "approve", story.order.pk)
    entry = story.order.tree.record.filter(verb="approved").get()
    assert (entry.actor, entry.via) == (story.manager.user, "web")
