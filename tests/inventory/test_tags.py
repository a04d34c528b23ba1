"""A tag stands on a label and in an address."""

import pytest

from inventory import access, tags
from inventory.importing.mapping import Role
from inventory.models import Tree
from tests.factories import TreeFactory
from tests.inventory.test_edit_tree import complaint, correct
from tests.inventory.test_import_rows import refusal, tree


@pytest.mark.parametrize("tag", ["A1", "ALB/12", "12-b.3", "Nº 7", "edit", "木-7", "=1+1", '7"', "a/edit/b"])
def test_most_anything_that_can_be_printed_is_a_tag(tag):
    assert tags.fault(tag) == ""
    assert tree({Role.TAG: tag}).tag == tag


@pytest.mark.parametrize(
    ("tag", "words"),
    [
        ("x" * 41, "41 signs"),
        ("A\u202e1", "cannot be printed"),
        ("..", "address"),
        ("a/../b", "address"),
        ("a//b", "address"),
        ("/a", "address"),
        ("A1/edit", "address"),
        ("A1/photos", "address"),
    ],
)
def test_what_would_not_lead_to_its_tree_is_refused(tag, words):
    assert words in tags.fault(tag)
    assert words in refusal({Role.TAG: tag}).reason


@pytest.mark.django_db
def test_the_edit_page_refuses_it_too(as_role):
    found = TreeFactory(tag="A1")
    assert "address" in complaint(correct(as_role(access.Role.INSPECTOR), found, tag="A1/edit"))
    assert Tree.objects.get(pk=found.pk).tag == "A1"
