"""A storm's finds sent by a tablet, and the open storms that it takes along."""

import pytest
from django.test import Client

from config.field import FIELD
from hazards.field.storms import STORM_FIND
from hazards.models import FieldRecord, StormEvent, StormFind
from hazards.storm import ENERGISED, FindKind
from hazards.storms import deal_with, end_event, open_event, photos_of
from inventory.access import Role
from inventory.models import Tree
from inventory.record import COMMAND
from tests.factories import ParkFactory, TreeFactory
from tests.hazards.field.sending import at, photo, picture, record, send, statuses


@pytest.fixture
def tablet(as_role) -> Client:
    return as_role(Role.CREW_LEAD)


@pytest.fixture
def tree(db) -> Tree:
    return TreeFactory(tag="LG-1", park=ParkFactory(code="LG"), lon=8.5, lat=47.2, cell=1)


@pytest.fixture
def storm(tree) -> StormEvent:
    return open_event(by=COMMAND, name="Gale", parks=[tree.park])


def found(storm: StormEvent, **changed) -> dict:
    payload = {
        "event": storm.pk,
        "kind": "hanging limb",
        "occupancy": "constant",
        "wires": False,
        "emergency_way": False,
    }
    return record("storm_find", {**payload, "park": "LG", "place": "Mill Lane", "seen_at": at(1), **changed})


def test_a_find_takes_its_place_in_the_order(tablet, storm, tree):
    sent = [found(storm, tree=tree.pk, size_cm=30), found(storm, kind="wires down"), found(storm, size_cm=80)]
    assert statuses(send(tablet, *sent)) == ["stored"] * 3
    assert [str(find.pk) for find in storm.finds.all()] == [sent[1]["id"], sent[2]["id"], sent[0]["id"]]
    at_tree = StormFind.objects.get(pk=sent[0]["id"])
    assert (at_tree.tree, at_tree.lon, at_tree.seen_by.username) == (tree, 8.5, "crew-lead")


def test_it_is_known_by_its_number_and_read_at_its_address(tablet, storm):
    (result,) = send(tablet, found(storm))
    assert result["number"] == "Gale, Mill Lane"
    assert tablet.get(result["url"]).status_code == 200


def test_sent_again_it_is_known(tablet, storm):
    sent = found(storm)
    assert statuses(send(tablet, sent) + send(tablet, sent)) == ["stored", "known"]
    assert StormFind.objects.count() == 1


def test_its_photos_follow_with_a_tree_or_without(tablet, storm, tree):
    sent = [found(storm), found(storm, tree=tree.pk)]
    send(tablet, *sent)
    for n, each in enumerate(sent):
        assert photo(tablet, each["id"], picture(n)).json()["status"] == "stored"
    assert [photos_of(StormFind.objects.get(pk=each["id"])).get().tree for each in sent] == [None, tree]


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"event": 999}, "event", "no such storm"),
        ({"tree": 999}, "tree", "no such tree"),
        ({"kind": "a mess"}, "kind", "is not known"),
        ({"size_cm": 900}, "size_cm", "too large"),
        ({"lon": 8.5}, "position", "a longitude and a latitude"),
        ({"place": " "}, "", "Say where it is"),
        ({"park": "XX"}, "", "in which park"),
    ],
)
def test_it_is_refused_with_the_reason(tablet, storm, changed, field, words):
    (result,) = send(tablet, found(storm, **changed))
    assert (result["status"], result["errors"][0]["field"]) == ("refused", field)
    assert words in result["errors"][0]["message"]
    assert not StormFind.objects.exists()
    assert not FieldRecord.objects.exists()


def test_one_that_comes_after_the_end_is_refused(tablet, storm):
    end_event(by=COMMAND, event=storm)
    (result,) = send(tablet, found(storm))
    assert "open a new storm" in result["errors"][0]["message"]


def test_needs_the_permission(as_role, storm):
    assert statuses(send(as_role(Role.READER), found(storm))) == ["forbidden"]


def test_the_park_brings_its_open_storms_and_what_waits(tablet, storm, tree):
    sent = [found(storm, tree=tree.pk), found(storm, wires=True), found(storm, place="Pond")]
    send(tablet, *sent)
    deal_with(by=COMMAND, find=StormFind.objects.get(pk=sent[2]["id"]), how="Cleared.")
    taken = tablet.get("/field/pack/LG").json()["parts"]["storms"]
    assert [event["name"] for event in taken["events"]] == ["Gale"]
    assert [find["where"] for find in taken["finds"]] == ["Mill Lane", "LG-1"]
    assert [find["cautions"] for find in taken["finds"]] == [[ENERGISED], []]
    end_all = [deal_with(by=COMMAND, find=find, how="Cleared.") for find in storm.finds.open()]
    assert len(end_all) == 2
    end_event(by=COMMAND, event=storm)
    assert tablet.get("/field/pack/LG").json()["parts"]["storms"] == {"events": [], "finds": []}


def test_another_park_knows_nothing_of_it(tablet, storm):
    ParkFactory(code="QM")
    assert tablet.get("/field/pack/QM").json()["parts"]["storms"]["events"] == []


def test_the_words_of_the_schema_are_those_of_the_order():
    assert STORM_FIND["properties"]["kind"]["enum"] == [kind.value for kind in FindKind]
    assert "storm_find" in FIELD.by_name
