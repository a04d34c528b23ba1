"""Items before and after a felling: what each asks for, in which state of the order, and by whom."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from inventory.access import Role
from inventory.errors import Refused
from inventory.record import Actor
from removals import site_work, workflow
from removals.models import NEVER_WAIVED, CityRules, OrderState, RemovalOrder, WorkItem, WorkKind, WorkState
from removals.work_items import ITEM, ITEMS, Entry, Season, Stage, items_of, nesting_gaps, open_items, open_words
from tests.removals.builders import Story, settle_all

BEFORE, AFTER = items_of(Stage.BEFORE), items_of(Stage.AFTER)
MAY_SETTLE = {Role.CREW_LEAD, Role.MANAGER}
MAY_WAIVE = {Role.MANAGER}
STATES_BEFORE = {OrderState.APPROVED, OrderState.SCHEDULED}
STATES_AFTER = {OrderState.FELLED, OrderState.ALREADY_DOWN}


@pytest.fixture
def story(cast) -> Story:
    return Story(cast)


def settle(order: RemovalOrder, kind: WorkKind, by: Actor, **said) -> WorkItem:
    whole = {"reference": "L-4711", "note": "Seen to", "checks": ITEM[kind].checks}
    return site_work.settle(by=by, order=order, kind=kind, **{**whole, **said})


def row(order: RemovalOrder, kind: WorkKind) -> WorkItem:
    return WorkItem.objects.get(order=order, kind=kind)


# ---- The table -------------------------------------------------------------------------------------------------------


def test_the_table_holds_every_kind_once():
    assert [item.kind for item in ITEMS] == list(WorkKind)


def test_wires_locates_and_closures_are_waived_by_nobody():
    fixed = {item.kind for item in ITEMS if not item.may_be_waived}
    assert fixed == set(NEVER_WAIVED) == {WorkKind.WIRES, WorkKind.LOCATES, WorkKind.CLOSURES}


def test_what_nobody_has_entered_is_open():
    assert open_items((), Stage.BEFORE) == BEFORE
    settled = [Entry(item.kind, WorkState.DONE) for item in BEFORE[1:]]
    assert open_items(settled, Stage.BEFORE) == BEFORE[:1]


def test_open_items_are_named_in_one_sentence():
    entries = [Entry(item.kind, WorkState.WAIVED) for item in BEFORE if item.kind not in {"wires checked", "closures"}]
    assert open_words(entries, Stage.BEFORE) == (
        "Still open before the work: wires checked and closures; do them or waive them by name (wires checked, closures "
        "cannot be waived)."
    )


# ---- Items × states × roles ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("item", ITEMS, ids=lambda item: item.slug)
def test_who_may_settle_and_waive_an_item(story, cast, item, role):
    order, by = story.felled() if item.stage is Stage.AFTER else story.approved().order, Actor(cast[role])
    if role in MAY_SETTLE:
        assert settle(order, item.kind, by).settled_by == by.name
    else:
        with pytest.raises(Refused, match="may not make a felling plan"):
            settle(order, item.kind, by)
    if role not in MAY_WAIVE:
        with pytest.raises(Refused, match="may not approve or withdraw"):
            site_work.waive(by=by, order=order, kind=item.kind, reason="No need here")
    elif item.may_be_waived:
        assert site_work.waive(by=by, order=order, kind=item.kind, reason="No need here").state == WorkState.WAIVED
    else:
        with pytest.raises(Refused, match="cannot be waived by anybody"):
            site_work.waive(by=by, order=order, kind=item.kind, reason="No need here")


@pytest.mark.parametrize("state", OrderState)
def test_in_which_state_of_the_order_an_item_is_worked_on(state):
    order = RemovalOrder(state=state)
    workable = {item.kind for item in ITEMS if site_work.may_work_on(order, item)}
    expected = {item.kind for item in BEFORE if state in STATES_BEFORE}
    expected |= {item.kind for item in AFTER if state in STATES_AFTER}
    # Buried utilities are still located for the stump.
    expected |= {WorkKind.LOCATES} if state in STATES_AFTER else set()
    assert workable == expected


def test_an_item_of_an_order_in_another_state_is_refused(story):
    with pytest.raises(Refused, match="is proposed; “wires checked” belongs to one that is approved or scheduled"):
        settle(story.order, WorkKind.WIRES, story.lead)


# ---- Coming, settling, reopening -------------------------------------------------------------------------------------


def test_items_come_with_the_approval_and_after_the_felling(story):
    order = story.approved().order
    assert set(order.work_items.values_list("kind", "state")) == {(item.kind, "open") for item in BEFORE}
    settle_all(order, Stage.BEFORE, by=story.lead)
    workflow.already_down(by=story.lead, order_or_tree=order, on=story.today, cause="Storm")
    assert set(order.work_items.filter(state="open").values_list("kind", flat=True)) == {item.kind for item in AFTER}


def test_an_order_from_before_the_items_takes_them_on_demand(story):
    order = story.approved().order
    order.work_items.all().delete()
    assert settle(order, WorkKind.WIRES, story.lead).state == WorkState.DONE


@pytest.mark.parametrize(
    ("kind", "said", "why"),
    [
        (WorkKind.LOCATES, {"reference": " "}, "Number of the locate request"),
        (WorkKind.WIRES, {"note": ""}, "What was found, and who isolates it"),
        (WorkKind.NESTING, {"checks": ("nests",)}, "Not looked for yet: roosts and cavities"),
    ],
)
def test_what_has_to_be_recorded_is_asked_for(story, kind, said, why):
    order = story.approved().order
    with pytest.raises(Refused, match=why):
        settle(order, kind, story.lead, **said)
    assert row(order, kind).state == WorkState.OPEN


def test_settling_keeps_number_day_and_name(story):
    kept = settle(story.approved().order, WorkKind.LOCATES, story.lead, on=story.today)
    assert (kept.reference, kept.settled_on, kept.settled_by) == ("L-4711", story.today, story.lead.name)


def test_nothing_is_waived_without_a_reason(story):
    with pytest.raises(Refused, match="Say why"):
        site_work.waive(by=story.manager, order=story.approved().order, kind=WorkKind.NOTICES, reason=" ")


@pytest.mark.parametrize(
    "values",
    [
        {"kind": WorkKind.WIRES, "note": "No need"},
        {"kind": WorkKind.LOCATES, "note": "No need"},
        {"kind": WorkKind.CLOSURES, "note": "No need"},
        {"kind": WorkKind.NOTICES, "note": ""},
        {"kind": WorkKind.NOTICES, "note": "No need", "settled_by": ""},
    ],
)
def test_the_database_refuses_a_waiver_that_must_not_be(story, values):
    order = story.approved().order
    order.work_items.all().delete()
    whole = {"state": WorkState.WAIVED, "settled_on": story.today, "settled_by": "Selma Brackwater", **values}
    with pytest.raises(IntegrityError, match=r"work_(waived|settled)"), transaction.atomic():
        WorkItem.objects.create(order=order, **whole)


def test_each_change_of_an_item_is_in_the_record(story):
    order = story.approved().order
    settle(order, WorkKind.WIRES, story.lead)
    site_work.reopen(by=story.lead, order=order, kind=WorkKind.WIRES, reason="A new cable was strung")
    summaries = list(order.tree.record.filter(verb="work item").order_by("pk").values_list("summary", flat=True))
    assert summaries == [
        "Wires checked, done: L-4711 – Seen to",
        "Open again, wires checked: A new cable was strung",
    ]


def test_what_was_looked_for_is_in_the_record(story):
    settle(story.approved().order, WorkKind.NESTING, story.lead)
    assert story.order.tree.record.get(verb="work item").data["checks"] == ["nests", "roosts", "cavities"]


# ---- What they hold up -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("item", BEFORE, ids=lambda item: item.slug)
def test_each_open_item_holds_up_the_scheduling(story, item):
    order = story.prepared().order
    site_work.reopen(by=story.lead, order=order, kind=item.kind, reason="Not right")
    with pytest.raises(Refused, match=f"Still open before the work: {item.kind.value}"):
        workflow.schedule(by=story.manager, order=order, scheduled_for=story.today, crew_lead=story.lead.user)


def test_an_item_opened_again_holds_up_the_felling(story):
    order = story.ready().order
    site_work.reopen(by=story.lead, order=order, kind=WorkKind.WIRES, reason="A new cable was strung")
    with pytest.raises(Refused, match="Still open before the work: wires checked"):
        story.fell()


@pytest.mark.parametrize("item", AFTER, ids=lambda item: item.slug)
def test_each_open_item_holds_up_the_closing(story, item):
    order = story.cleared()
    site_work.reopen(by=story.lead, order=order, kind=item.kind, reason="Not right")
    with pytest.raises(Refused, match=f"Still open after the felling: {item.kind.value}"):
        workflow.close(by=story.manager, order=order)
    site_work.waive(by=story.manager, order=order, kind=item.kind, reason="Left to the roadworks")
    assert workflow.close(by=story.manager, order=order).state == OrderState.CLOSED


def test_a_stump_is_not_ground_before_buried_utilities_are_located(story):
    order = workflow.already_down(by=story.lead, order_or_tree=story.order, on=story.today, cause="Storm")
    with pytest.raises(Refused, match="not ground or dug out before the buried utilities are located"):
        settle(order, WorkKind.STUMP, story.lead)
    settle(order, WorkKind.LOCATES, story.lead)
    assert settle(order, WorkKind.STUMP, story.lead).state == WorkState.DONE


# ---- The nesting season ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("begins", "ends", "inside", "outside"),
    [
        ("03-01", "08-31", ["03-01", "06-15", "08-31"], ["02-28", "09-01"]),
        ("09-15", "02-10", ["09-15", "01-01", "02-10"], ["02-11", "09-14"]),
    ],
)
def test_a_season_holds_both_its_ends_and_may_run_over_the_new_year(begins, ends, inside, outside):
    season = Season(begins, ends)
    assert [season.covers(dt.date.fromisoformat(f"2026-{day}")) for day in inside] == [True] * len(inside)
    assert [season.covers(dt.date.fromisoformat(f"2026-{day}")) for day in outside] == [False] * len(outside)


SPRING = dt.date(2026, 5, 20)


@pytest.mark.parametrize(
    ("days_before", "who", "at_work", "lacks"),
    [
        (0, "Di Elm", True, 0),
        (7, "Di Elm", True, 0),
        (8, "Di Elm", True, 1),
        (8, "Di Elm", False, 0),
        (0, "", False, 1),
        (8, "", True, 2),
    ],
)
def test_in_the_season_a_look_needs_a_name_and_at_work_it_must_be_fresh(days_before, who, at_work, lacks):
    look = Entry(WorkKind.NESTING, WorkState.DONE, who, SPRING - dt.timedelta(days=days_before))
    season = Season("03-01", "08-31")
    assert len(list(nesting_gaps([look], SPRING, season, at_work=at_work))) == lacks
    assert not list(nesting_gaps([look], dt.date(2026, 11, 20), season, at_work=at_work))


def test_the_season_is_the_city_s(story):
    order = story.prepared().order
    settle(order, WorkKind.NESTING, story.lead, reference="")
    mark = f"{story.today:%m-%d}"
    CityRules.objects.update_or_create(pk=1, defaults={"nesting_from": mark, "nesting_to": mark})
    with pytest.raises(Refused, match="falls in the nesting season"):
        workflow.schedule(by=story.manager, order=order, scheduled_for=story.today, crew_lead=story.lead.user)
    settle(order, WorkKind.NESTING, story.lead, reference="Di Elm, ornithologist")
    workflow.schedule(by=story.manager, order=order, scheduled_for=story.today, crew_lead=story.lead.user)
    assert RemovalOrder.objects.get().state == OrderState.SCHEDULED


# ---- The pages -------------------------------------------------------------------------------------------------------


def test_an_item_is_settled_waived_and_opened_again_on_its_pages(as_role, story):
    order, manager = story.approved().order, as_role(Role.MANAGER)
    page = reverse("removals:work_item", args=[order.pk, "notices"])
    manager.post(page, {"on": story.today.isoformat(), "note": "At both gates"})
    assert row(order, WorkKind.NOTICES).note == "At both gates"
    manager.post(reverse("removals:reopen_item", args=[order.pk, "notices"]), {"reason": "Torn down"})
    assert row(order, WorkKind.NOTICES).state == WorkState.OPEN
    manager.post(reverse("removals:waive_item", args=[order.pk, "notices"]), {"reason": "Nobody passes here"})
    assert row(order, WorkKind.NOTICES).state == WorkState.WAIVED


def test_the_page_of_the_order_says_what_the_schedule_waits_for(as_role, story):
    order = story.approved().order
    shown = as_role(Role.READER).get(reverse("removals:order", args=[order.pk])).content.decode()
    assert "Still open before the work: utility locates, wires checked" in shown


def test_an_unknown_item_is_not_found(as_role, story):
    assert as_role(Role.READER).get(reverse("removals:work_item", args=[story.order.pk, "magic"])).status_code == 404
