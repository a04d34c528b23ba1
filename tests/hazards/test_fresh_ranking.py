"""What is corrected or imported elsewhere shows in the ranking, whoever wrote it and by whatever way."""

import io
import json

import pytest
from django.core.management import call_command

from hazards.models import Standing
from hazards.workflow import restand_stale
from inventory.access import Role
from inventory.models import Species, Tree, TreeStatus
from inventory.record import COMMAND
from inventory.workflow import edit_tree
from tests.factories import SpeciesFactory, TreeFactory
from tests.hazards.factories import HIGH, TargetFactory, inspect, pick

pytestmark = pytest.mark.django_db


@pytest.fixture
def tree():
    tree = TreeFactory()
    inspect(tree, pick(TargetFactory(park=tree.park)))
    return tree


def standing(tree: Tree) -> Standing:
    return Standing.objects.get(pk=tree.pk)


def first_reason() -> str:
    out = io.StringIO()
    call_command("triage", "--json", stdout=out)
    return json.loads(out.getvalue())[0]["reason"]


def test_a_row_just_worked_out_is_not_stale(tree):
    assert not standing(tree).stale
    assert restand_stale() == 0


def test_a_tree_found_dead_by_an_import_says_so_in_the_next_list(tree):
    before = standing(tree).triage_key
    Tree.objects.filter(pk=tree.pk).update(status=TreeStatus.DEAD_STANDING, condition="dead")
    assert standing(tree).stale
    assert "dead" in first_reason()
    assert standing(tree).triage_key < before
    assert not standing(tree).stale


def test_a_correction_on_the_edit_page_shows_on_the_next_page(tree, as_role):
    before = standing(tree).triage_key
    edit_tree(by=COMMAND, tree=tree, changes={"species": SpeciesFactory(botanical="Populus nigra", flag="weak wood")})
    as_role(Role.READER).get("/hazards/")
    assert standing(tree).triage_key < before


def test_the_flag_of_a_species_reaches_its_trees_only(tree):
    other = TreeFactory(species=SpeciesFactory(botanical="Tilia cordata"))
    inspect(other, pick(TargetFactory(park=other.park)))
    Species.objects.filter(pk=tree.species_id).update(flag="weak wood")
    assert standing(tree).stale
    assert not standing(other).stale


def test_what_the_ranking_does_not_look_at_leaves_it_alone(tree):
    edit_tree(by=COMMAND, tree=tree, changes={"note": "leans", "dbh_cm": 41.0})
    assert not standing(tree).stale


def test_a_tree_never_inspected_has_nothing_to_work_out():
    tree = TreeFactory()
    Tree.objects.filter(pk=tree.pk).update(condition="dying")
    assert not standing(tree).stale


def test_a_page_takes_a_bounded_number_at_a_time(tree):
    other = TreeFactory(species=tree.species)
    inspect(other, pick(TargetFactory(park=other.park)))
    Species.objects.filter(pk=tree.species_id).update(flag="weak wood")
    restand_stale(at_most=1)
    assert Standing.objects.filter(stale=True).count() == 1


def test_a_row_carries_the_tag_of_its_tree_and_follows_it():
    tree = TreeFactory(tag="T2")
    assert Standing.objects.get(tree=tree).tag == "T2"
    Tree.objects.filter(pk=tree.pk).update(tag="T1")
    assert Standing.objects.get(tree=tree).tag == "T1"


def test_equal_places_follow_the_tag_sign_by_sign_in_the_database_as_in_the_program():
    for tag in ("b-1", "B-2", "a-10", "a-9", "Ä-1"):
        tree = TreeFactory(tag=tag)
        inspect(tree, pick(TargetFactory(park=tree.park), **HIGH))
    ranked = list(Standing.objects.ranked().values_list("triage_key", "tag"))
    assert ranked == sorted(ranked)
    assert len({key for key, _ in ranked}) == 1
