"""Pages by key meet each row once, forwards and backwards."""

import pytest

from inventory.models import Tree
from inventory.paging import page_of
from tests.factories import TreeFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def tags() -> list[str]:
    trees = [TreeFactory(dbh_cm=10.0 + (n % 3)) for n in range(11)]
    return [tree.tag for tree in sorted(trees, key=lambda tree: (-tree.dbh_cm, tree.pk))]


KEYS = ["-dbh_cm", "pk"]


def walk(direction: str, token: str) -> list[list[str]]:
    pages = []
    while True:
        page = page_of(Tree.objects.all(), KEYS, token, size=4)
        pages.append([tree.tag for tree in page.rows])
        token = getattr(page, direction)
        if not token:
            return pages


def test_next_meets_each_row_once_in_order(tags):
    assert [tag for page in walk("next", "") for tag in page] == tags


def test_previous_leads_back_to_the_first_page(tags):
    last = page_of(Tree.objects.all(), KEYS, page_of(Tree.objects.all(), KEYS, "", 4).next, 4)
    assert walk("previous", last.previous) == [tags[:4]]


def test_a_spoilt_token_starts_from_the_top(tags):
    assert [tree.tag for tree in page_of(Tree.objects.all(), KEYS, "nonsense", 4).rows] == tags[:4]


def test_a_page_costs_one_query(tags, django_assert_num_queries):
    with django_assert_num_queries(1):
        page_of(Tree.objects.all(), KEYS, "", 4)
