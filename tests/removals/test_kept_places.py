"""Snags and stumps that stay: recorded with the felling, looked at again after the city's interval, ended when gone."""

import datetime as dt

import pytest
import time_machine
from dateutil.relativedelta import relativedelta
from django.urls import reverse

from inventory.access import Role
from inventory.errors import Refused
from inventory.record import Actor
from removals import kept_places, site_work, workflow
from removals.models import CityRules, KeptPlace, WorkItem, WorkKind
from removals.work_items import Stage, items_of
from tests.removals.builders import Story


@pytest.fixture
def story(cast) -> Story:
    return Story(cast)


def keep(story: Story, kind: str = "stump", height_left_m: float = 0.4, by: Actor | None = None) -> KeptPlace:
    return kept_places.keep_place(
        by=by or story.lead, order=story.order, kind=kind, height_left_m=height_left_m, reason="Holds the bank"
    )


@pytest.mark.parametrize(("kind", "height_left_m", "months"), [("stump", 0.4, 36), ("standing snag", 5.0, 12)])
def test_a_kept_place_is_looked_at_again_after_the_city_s_interval(story, kind, height_left_m, months):
    story.felled()
    place = keep(story, kind, height_left_m)
    assert place.inspect_on == story.today + relativedelta(months=months)
    stump = WorkItem.objects.get(order=story.order, kind=WorkKind.STUMP)
    assert (stump.state, stump.note) == ("done", f"Kept: {kind}, {height_left_m:g} m")


def test_the_interval_is_the_city_s_own(story):
    CityRules.objects.create(pk=1, snag_inspection_months=6)
    story.felled()
    assert keep(story, "standing snag", 5.0).inspect_on == story.today + relativedelta(months=6)


def test_an_order_with_a_kept_stump_closes_without_grinding(story):
    order = story.felled()
    keep(story)
    for item in items_of(Stage.AFTER):
        if item.kind != WorkKind.STUMP:
            site_work.settle(by=story.lead, order=order, kind=item.kind, note="Seen to")
    assert workflow.close(by=story.manager, order=order).state == "closed"


@pytest.mark.parametrize(
    ("kind", "height_left_m", "why"),
    [
        ("stump", 1.6, "what is higher is a standing snag"),
        ("standing snag", 0.9, "what is lower is a stump"),
        ("standing snag", 41.0, "1 to 40 m"),
        ("hedge", 1.0, "nothing that is kept"),
    ],
)
def test_a_snag_is_higher_than_a_stump(story, kind, height_left_m, why):
    story.felled()
    with pytest.raises(Refused, match=why):
        keep(story, kind, height_left_m)


def test_nothing_is_kept_before_the_tree_is_down_nor_twice_nor_after_grinding(story):
    with pytest.raises(Refused, match="a place is kept once the tree is down"):
        keep(story)
    story.felled()
    keep(story)
    with pytest.raises(Refused, match="nothing is left to keep"):
        keep(story)


def test_a_kept_stump_is_not_opened_again_while_it_stays(story):
    story.felled()
    place = keep(story)
    with pytest.raises(Refused, match="end that place first"):
        site_work.reopen(by=story.lead, order=story.order, kind=WorkKind.STUMP, reason="It must go")
    kept_places.end_place(by=story.inspector, place=place, note="Rotted away")
    site_work.reopen(by=story.lead, order=story.order, kind=WorkKind.STUMP, reason="It must go")


@pytest.mark.parametrize("role", Role)
def test_who_may_keep_and_who_may_look(story, cast, role):
    story.felled()
    by = Actor(cast[role])
    if role in {Role.CREW_LEAD, Role.MANAGER}:
        place = keep(story, by=by)
    else:
        with pytest.raises(Refused, match="may not"):
            keep(story, by=by)
        place = keep(story)
    if role in {Role.INSPECTOR, Role.MANAGER}:
        assert kept_places.inspect_place(by=by, place=place, note="Sound").inspected_on == story.today
    else:
        with pytest.raises(Refused, match="may not record an inspection"):
            kept_places.inspect_place(by=by, place=place, note="Sound")


def test_a_place_is_due_on_its_day_and_a_look_sets_the_next(story):
    story.felled()
    place = keep(story, "standing snag", 5.0)
    eve = place.inspect_on - dt.timedelta(days=1)
    assert list(kept_places.due_places(eve)) == []
    assert list(kept_places.due_places(place.inspect_on)) == [place]
    with time_machine.travel(dt.datetime.combine(place.inspect_on, dt.time(12), dt.UTC)):
        looked = kept_places.inspect_place(by=story.inspector, place=place, note="Sound")
    assert looked.inspect_on == place.inspect_on + relativedelta(months=12)
    assert list(kept_places.due_places(place.inspect_on)) == []


def test_a_place_that_is_gone_is_asked_for_no_more(story):
    story.felled()
    place = kept_places.end_place(by=story.inspector, place=keep(story), note="Rotted away")
    assert list(kept_places.due_places(dt.date(2099, 1, 1))) == []
    with pytest.raises(Refused, match="is gone since"):
        kept_places.inspect_place(by=story.inspector, place=place, note="Sound")


def test_the_pages_keep_list_inspect_and_end(as_role, story):
    order, lead, inspector = story.felled(), as_role(Role.CREW_LEAD), as_role(Role.INSPECTOR)
    sent = {"kind": "standing snag", "height_left_m": "5 m", "reason": "Woodpecker holes"}
    assert lead.post(reverse("removals:keep", args=[order.pk]), sent).status_code == 302
    place = KeptPlace.objects.get()
    assert "Woodpecker holes" in inspector.get(reverse("removals:kept")).content.decode()
    tree_page = inspector.get(reverse("reports:tree", args=[order.tree.tag])).content.decode()
    assert "Standing snag kept" in tree_page
    sent = {"on": story.today.isoformat(), "note": "Sound"}
    inspector.post(reverse("removals:inspect_kept", args=[place.pk]), sent)
    inspector.post(reverse("removals:end_kept", args=[place.pk]), {**sent, "note": "Fell in a storm"})
    place.refresh_from_db()
    assert (place.inspected_on, place.ended_on, place.note) == (story.today, story.today, "Fell in a storm")


def test_the_list_costs_few_queries(as_role, story, django_assert_max_num_queries):
    story.felled()
    keep(story)
    client = as_role(Role.READER)
    with django_assert_max_num_queries(6):
        client.get(reverse("removals:kept"))
