"""Two people at once: exactly one wins, the other gets a sentence, and nothing is double."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from inventory.access import Role
from inventory.errors import Refused
from removals import workflow
from removals.models import RemovalOrder
from replanting.models import ReplacementTask
from tests.factories import TreeFactory, user_with
from tests.removals.builders import Story


def at_once(*calls) -> list[object]:
    """Run the calls in threads that start together; what each returned or the sentence it was refused with."""
    start = Barrier(len(calls))

    def run(call):
        try:
            start.wait(timeout=10)
            return call()
        except Refused as refused:
            return str(refused)
        finally:
            connection.close()

    with ThreadPoolExecutor(len(calls)) as pool:
        return list(pool.map(run, calls))


@pytest.fixture
def story(transactional_db) -> Story:
    return Story({role: user_with(role) for role in Role})


def sentences(results: list[object]) -> list[str]:
    return [result for result in results if isinstance(result, str)]


def test_of_two_crews_that_fell_the_same_tree_one_wins(story):
    order = story.ready().order
    results = at_once(*[lambda: story.fell(order=order)] * 2)
    assert sentences(results) == [f"Order {order.number} is felled already."]
    assert ReplacementTask.objects.filter(removed_tree=order.tree).count() == 1


def test_felled_and_found_down_at_once_is_one_of_the_two(story):
    order = story.ready().order

    def found_down():
        return workflow.already_down(by=story.manager, order_or_tree=order.tree, on=story.today, cause="Storm")

    results = at_once(lambda: story.fell(order=order), found_down)
    assert len(sentences(results)) == 1
    assert RemovalOrder.objects.get().state in {"felled", "already down"}
    assert ReplacementTask.objects.count() == 1


def test_two_reports_of_one_fallen_tree_make_one_order(story):
    tree = TreeFactory()

    def found_down():
        return workflow.already_down(by=story.lead, order_or_tree=tree, on=story.today, cause="Storm")

    assert len(sentences(at_once(found_down, found_down))) == 1
    assert RemovalOrder.objects.filter(tree=tree).count() == 1
    assert ReplacementTask.objects.filter(removed_tree=tree).count() == 1


def test_of_two_proposals_for_one_tree_one_wins(story):
    tree = TreeFactory()

    def propose():
        return workflow.propose(by=story.inspector, tree=tree, reason="Decay")

    (sentence,) = sentences(at_once(propose, propose))
    assert "has an open order already" in sentence
