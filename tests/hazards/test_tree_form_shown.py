"""The form of a tree on the page of an inspection."""

import re
from html import unescape

import pytest
from django.urls import reverse

from hazards.observation import DefectFound
from inventory.access import Role
from tests.factories import SpeciesFactory, TreeFactory
from tests.hazards.factories import LOW, TargetFactory, inspect, pick

pytestmark = pytest.mark.django_db


def shown(as_role, tree, *defects, **facts):
    look = inspect(tree, pick(TargetFactory(park=tree.park), **LOW), defects=defects, **facts)
    return as_role(Role.READER).get(reverse("hazards:inspection", args=[look.pk]))


def figures(response):
    return {each.label: each.figure for each in response.context["form"].figures}


def test_a_conifer_shows_its_slenderness_and_its_flag(as_role):
    spruce = SpeciesFactory(botanical="Picea abies", porosity="conifer")
    response = shown(as_role, TreeFactory(species=spruce), dbh_cm=20.0, height_m=18.0)
    assert figures(response) == {"Slenderness": "90"}
    html = re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))
    assert "Flag: Slenderness of 90: over 80 for a conifer." in html


def test_what_was_measured_on_roots_trunk_and_crown_is_shown(as_role):
    found = [
        DefectFound(part="roots", kind="cut or torn roots", value=45.0, unit="%"),
        DefectFound(part="trunk", kind="lean", value=12.0, unit="°"),
        DefectFound(part="trunk", kind="new lean with lifted soil"),
        DefectFound(part="crown", kind="short live crown", value=20.0, unit="%"),
    ]
    response = shown(as_role, TreeFactory(), *found, dbh_cm=50.0, condition="poor")
    assert figures(response) == {"Slenderness": "30", "Lean": "12°", "Live crown": "20 %", "Roots lost": "45 %"}
    flags = response.context["form"].flags
    assert len(flags) == 3
    assert flags[0].startswith("A lean with lifted soil")
    assert "Critical radius 18 × 50" in response.content.decode()


def test_a_tree_that_was_not_measured_shows_none(as_role):
    response = shown(as_role, TreeFactory(dbh_cm=None, height_m=None))
    assert figures(response) == {}
    assert "Form of the tree" not in response.content.decode()
