"""A crew lead without signal: orders taken along, the briefing and the felling brought back under the same rules."""

import json

import pytest
from django.test import Client
from django.utils import timezone

from inventory.access import Role
from inventory.models import TreeStatus
from removals.models import FellingOutcome, JobBriefing
from replanting.models import ReplacementTask
from tests.factories import ParkFactory, TreeFactory
from tests.hazards.field.sending import at, record, send, statuses
from tests.removals.builders import CARD, CREW, Story, inputs


@pytest.fixture
def story(cast) -> Story:
    story = Story(cast, TreeFactory(tag="LG-1", park=ParkFactory(code="LG"))).scheduled()
    story.planned()
    return story


@pytest.fixture
def tablet(as_role) -> Client:
    return as_role(Role.CREW_LEAD)


def order_of(tablet: Client) -> dict:
    part = tablet.get("/field/pack/LG").json()["parts"]["orders"]
    return dict(zip(part["columns"], part["rows"][0], strict=True))


def briefing(order: dict, **changed) -> dict:
    """All that the tablet shows, covered and signed by the whole crew."""
    payload = {
        "order": order["id"],
        "plan": order["plan"],
        "digest": order["digest"],
        "checked": [item["key"] for chapter in order["checklist"] for item in chapter["items"]],
        "signals": order["signals"],
        "gust_ms": 2.0,
        "weather": "",
        "emergency": CARD,
        "signatures": [{"name": name, "role": role} for name, role in CREW],
    }
    return record("briefing", payload | changed)


def felled(order: dict, **changed) -> dict:
    payload = {
        "order": order["id"],
        "plan_digest": order["digest"],
        "on": timezone.localdate().isoformat(),
        "outcome": "As planned.",
        "as_planned": True,
        "hinge_held": True,
    }
    return record("felled", payload | changed)


def test_an_order_is_taken_along_with_all_that_a_crew_needs(tablet, story):
    order = order_of(tablet)
    assert (order["title"], order["state"], order["tree"]) == ("Remove LG-1", "scheduled", story.order.tree_id)
    assert {"Verdict", "Hinge thickness", "Stop wind, held at 2 m"} <= set(dict(order["facts"]))
    assert len(order["drawings"]) == 3
    assert all(each["svg"].startswith("<svg") for each in order["drawings"])
    assert order["procedure"][0].startswith("Clear both ways of retreat")
    assert order["crew"] == [list(member) for member in CREW]
    assert [line["key"] for line in order["card"]] == list(CARD)
    assert (order["may_brief"], order["may_fell"], order["felled_in_one"]) == (True, True, True)
    assert "held at 2 m" in order["stop_wind"]
    assert any("briefed" in gap for gap in order["gaps"])


def test_orders_are_for_crew_leads_alone(as_role, story):
    assert "orders" not in as_role(Role.INSPECTOR).get("/field/pack/LG").json()["parts"]


@pytest.mark.django_db(transaction=True)
def test_an_order_that_is_done_leaves_the_pack(tablet, story):
    pack = tablet.get("/field/pack/LG").json()
    send(tablet, briefing(order_of(tablet)), felled(order_of(tablet)))
    again = tablet.get("/field/pack/LG", {"since": pack["token"]}).json()
    assert (again["full"], again["parts"]["orders"]["rows"]) == (False, [])
    assert again["gone"]["orders"] == [story.order.pk]
    assert again["gone"]["trees"] == [story.order.tree_id]


def test_briefed_signed_and_felled_without_signal_and_sent_once(tablet, story):
    order = order_of(tablet)
    held, down = briefing(order, weather="Dry."), felled(order, near_miss="A limb fell late.")
    assert statuses(send(tablet, held, down)) == ["stored", "stored"]
    assert statuses(send(tablet, held, down)) == ["known", "known"]
    assert JobBriefing.objects.get().signatures.count() == 3
    assert FellingOutcome.objects.get().near_miss == "A limb fell late."
    story.order.tree.refresh_from_db()
    assert story.order.tree.status == TreeStatus.REMOVED
    assert ReplacementTask.objects.filter(removed_tree=story.order.tree).count() == 1


def test_the_felling_finds_its_briefing_whatever_came_first(tablet, story):
    order = order_of(tablet)
    held, down = briefing(order), felled(order)
    assert statuses(send(tablet, down, held)) == ["stored", "stored"]


def test_a_felling_without_a_briefing_is_refused_and_the_tree_stands(tablet, story):
    (result,) = send(tablet, felled(order_of(tablet)))
    assert result["status"] == "refused"
    assert "brief" in result["errors"][0]["message"]
    story.order.tree.refresh_from_db()
    assert story.order.tree.stands


def test_a_plan_made_meanwhile_refuses_the_signatures_of_the_old_one(tablet, story):
    old = order_of(tablet)
    story.planned(inputs(notch_share=0.22))
    (result,) = send(tablet, briefing(old))
    assert (result["status"], "A newer plan has been made" in result["errors"][0]["message"]) == ("refused", True)
    assert not JobBriefing.objects.exists()


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"gust_ms": 25.0}, "stop wind"),
        ({"checked": []}, "not complete"),
        ({"emergency": {**CARD, "kit": ""}}, "First-aid"),
        ({"signatures": [{"name": "Somebody Else", "role": "feller"}]}, "not in this order’s crew"),
        ({"digest": "0" * 64}, "never had"),
        ({"signals": [["voice", "Go", "go on"]]}, "No signal means stop"),
    ],
)
def test_the_rules_of_the_briefing_hold_offline_too(tablet, story, changed, words):
    (result,) = send(tablet, briefing(order_of(tablet), **changed))
    assert result["status"] == "refused"
    assert words in json.dumps(result["errors"], ensure_ascii=False)
    assert not JobBriefing.objects.exists()


def test_a_briefing_is_dated_when_it_was_held_not_when_it_arrived(tablet, story):
    held = briefing(order_of(tablet)) | {"recorded_at": at(3)}
    send(tablet, held)
    assert JobBriefing.objects.get().held_at.isoformat()[:16] == held["recorded_at"][:16]


def test_who_may_not_brief_is_told_so(as_role, tablet, story):
    (result,) = send(as_role(Role.INSPECTOR), briefing(order_of(tablet)))
    assert result["status"] == "forbidden"
