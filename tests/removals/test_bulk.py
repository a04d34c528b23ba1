"""Orders for many trees at once: a transaction and a line a tree."""

import re
from html import unescape

import pytest
from django.urls import reverse

from hazards.models import MitigationOrder, Standing
from hazards.options import OptionPick
from inventory.access import Role
from inventory.errors import Refused
from inventory.models import RecordEntry
from inventory.record import Actor
from removals import workflow
from removals.bulk import REMOVAL, TREES_MOST, propose_for_all
from removals.models import RemovalOrder
from tests.factories import TreeFactory
from tests.hazards.factories import HIGH, MODERATE, TargetFactory, inspect, pick

pytestmark = pytest.mark.django_db
URL = "/removals/proposals/"


def rated(tag, severity=HIGH, **facts):
    tree = TreeFactory(tag=tag)
    inspect(tree, pick(TargetFactory(park=tree.park), **severity, **facts))
    return tree


def standings():
    return Standing.objects.ranked().select_related("tree", "assessment")


def words(response) -> str:
    assert response.status_code == 200
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


def test_each_order_says_what_the_ranking_says_of_its_tree(by_manager):
    rated("T1")
    rated("T2", MODERATE)
    outcomes = propose_for_all(by=by_manager, standings=standings(), kind=REMOVAL)
    assert [outcome.standing.tree.tag for outcome in outcomes] == ["T1", "T2"]
    for order in RemovalOrder.objects.select_related("tree__standing"):
        assert order.reason == order.tree.standing.reason
        assert order.due_on == order.tree.standing.work_due


def test_one_that_is_refused_stops_no_other_and_stores_nothing(by_manager):
    first, second, third = (rated(tag) for tag in ("T1", "T2", "T3"))
    workflow.propose(by=by_manager, tree=second, reason="leans on the hall")
    before = RecordEntry.objects.count()
    outcomes = propose_for_all(by=by_manager, standings=standings(), kind=REMOVAL, reason="they all lean")
    assert [bool(outcome.number) for outcome in outcomes] == [True, False, True]
    assert "T2 has an open order already" in outcomes[1].why_not
    assert RemovalOrder.objects.get(tree=second).reason == "leans on the hall"
    assert {order.tree for order in RemovalOrder.objects.filter(reason="they all lean")} == {first, third}
    assert RecordEntry.objects.count() == before + 2


def test_other_work_rests_on_the_finding_that_names_it(by_manager):
    advised = rated("T1", options=(OptionPick("prune", "low", chosen=True),))
    plain = rated("T2")
    propose_for_all(by=by_manager, standings=standings(), kind="prune", reason="dead wood over the way")
    assert MitigationOrder.objects.get(tree=advised).assessment == advised.standing.assessment
    assert MitigationOrder.objects.get(tree=plain).assessment is None


def test_a_tree_that_went_down_meanwhile_is_told(by_manager):
    tree = rated("T1")
    listed = list(standings())
    workflow.already_down(by=by_manager, order_or_tree=tree, on=tree.standing.inspected_on, cause="storm")
    (outcome,) = propose_for_all(by=by_manager, standings=listed, kind=REMOVAL)
    assert "nothing is left to take down" in outcome.why_not


def test_who_may_not_propose_is_told_for_each_and_nothing_is_stored(cast):
    rated("T1")
    (outcome,) = propose_for_all(by=Actor(cast[Role.READER]), standings=standings(), kind=REMOVAL)
    assert "may not propose a removal" in outcome.why_not
    with pytest.raises(Refused):
        workflow.propose(by=Actor(cast[Role.READER]), tree=standings()[0].tree, reason="leans")
    assert not RemovalOrder.objects.exists()


def test_ticked_on_the_ranking_chosen_and_proposed(as_role):
    trees = [rated(tag) for tag in ("T1", "T2")]
    client = as_role(Role.INSPECTOR)
    ranking = client.get(reverse("hazards:ranking"), {"tick": "all"}).content.decode()
    ticked = re.findall(r'name="tree" value="(\d+)" form="propose-many" checked', ranking)
    assert sorted(map(int, ticked)) == sorted(tree.pk for tree in trees)
    page = words(client.get(URL, {"tree": ticked}))
    assert "Propose orders for 2 trees" in page
    sent = words(client.post(URL, {"tree": ticked, "kind": "removal", "reason": ""}))
    assert "2 of 2 proposed" in sent
    assert RemovalOrder.objects.count() == 2


def test_nothing_is_ticked_at_first(as_role):
    rated("T1")
    html = as_role(Role.MANAGER).get(reverse("hazards:ranking")).content.decode()
    assert 'name="tree"' in html
    assert 'form="propose-many" checked' not in html


def test_who_may_not_propose_sees_no_boxes(as_role):
    rated("T1")
    assert "propose-many" not in as_role(Role.READER).get(reverse("hazards:ranking")).content.decode()


def test_a_kind_must_be_chosen(as_role):
    tree = rated("T1")
    response = as_role(Role.MANAGER).post(URL, {"tree": [tree.pk], "reason": "leans"})
    assert response.context["form"].errors["kind"]
    assert not RemovalOrder.objects.exists()


@pytest.mark.parametrize("trees", [[], ["abc", "-1", "9" * 30], ["999999"]])
def test_what_names_no_standing_tree_proposes_nothing(as_role, trees):
    response = as_role(Role.MANAGER).post(URL, {"tree": trees, "kind": "removal"})
    assert "No tree is ticked." in words(response)


def test_a_tree_that_no_longer_stands_is_told(as_role):
    gone, stays = TreeFactory(removed=True), rated("T1")
    page = words(as_role(Role.MANAGER).get(URL, {"tree": [gone.pk, stays.pk]}))
    assert "1 of the ticked trees no longer stands." in page


def test_beyond_the_most_is_told(as_role):
    stays = rated("T1")
    page = words(as_role(Role.MANAGER).get(URL, {"tree": [stays.pk, *range(10**6, 10**6 + TREES_MOST)]}))
    assert "1 more was left out" in page


def test_the_page_asks_the_same_questions_however_many_trees(as_role, django_assert_max_num_queries):
    trees = [rated(f"T{number}") for number in range(12)]
    client = as_role(Role.MANAGER)
    with django_assert_max_num_queries(10):
        client.get(URL, {"tree": [tree.pk for tree in trees]})
