"""Correcting a tree's facts: what may be typed, what is kept, and what is refused."""

import datetime as dt

import pytest
from django.urls import reverse

from hazards.models import Standing
from inventory.access import Role
from inventory.cells import cell
from inventory.errors import Refused
from inventory.models import RecordEntry, Tree, TreeStatus
from inventory.workflow import edit_tree
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def tree():
    return TreeFactory(tag="LG-0001", dbh_cm=36.0, height_m=12.0, crown_spread_m=8.0)


@pytest.fixture
def inspector(as_role):
    return as_role(Role.INSPECTOR)


def address(tree: Tree) -> str:
    return reverse("inventory:edit_tree", args=[tree.tag])


def shown(client, tree: Tree) -> dict[str, str]:
    """What the page holds, as a browser would send it back untouched."""
    form = client.get(address(tree)).context["form"]
    values = {name: form[name].value() for name in form.fields}
    values["overhead_lines"] = {True: "true", False: "false", None: "unknown"}[values["overhead_lines"]]
    return {name: value for name, value in values.items() if value not in (None, False)}


def correct(client, tree: Tree, **typed):
    response = client.post(address(tree), shown(client, tree) | typed)
    tree.refresh_from_db()
    return response


def complaint(response) -> str:
    assert response.status_code in {200, 409}
    return " ".join(message for messages in response.context["form"].errors.values() for message in messages)


@pytest.mark.parametrize("units", ["metric", "us"])
def test_a_page_saved_untouched_changes_nothing(inspector, tree, units):
    inspector.cookies["units"] = units
    before = Tree.objects.values().get(pk=tree.pk)
    assert correct(inspector, tree).status_code == 302
    assert Tree.objects.values().get(pk=tree.pk) == before
    assert not RecordEntry.objects.filter(verb="edited").exists()


# Exact: 1 in = 2.54 cm, 1 ft = 0.3048 m (international yard and pound agreement, 1959).
@pytest.mark.parametrize(
    ("units", "typed", "cm"),
    [("us", "14", 35.56), ("metric", "14 in", 35.56), ("us", "40 cm", 40), ("metric", "40", 40)],
)
def test_a_diameter_is_kept_in_centimetres_whatever_was_typed(inspector, tree, units, typed, cm):
    inspector.cookies["units"] = units
    correct(inspector, tree, dbh_cm=typed)
    assert tree.dbh_cm == pytest.approx(cm)


def test_a_correction_in_other_units_leaves_the_other_lengths_as_they_were(inspector, tree):
    inspector.cookies["units"] = "us"
    correct(inspector, tree, dbh_cm="14 in")
    assert (tree.height_m, tree.crown_spread_m) == (12.0, 8.0)


@pytest.mark.parametrize(
    ("typed", "fields"),
    [
        ({"cultivar": "Crimson King"}, {"cultivar": "Crimson King"}),
        ({"condition": "poor"}, {"condition": "poor"}),
        ({"dbh_estimated": "on"}, {"dbh_estimated": True}),
        ({"stems_cm": "30 cm + 20 cm"}, {"stems_cm": [30.0, 20.0]}),
        ({"height_m": "15"}, {"height_m": 15.0}),
        ({"height_m": ""}, {"height_m": None}),
        ({"planted": "1987-05"}, {"planted_on": dt.date(1987, 5, 1), "planted_precision": "month"}),
        ({"position": "47.2, 8.5"}, {"lat": 47.2, "lon": 8.5, "cell": cell(8.5, 47.2)}),
        ({"growing_space_m": "2.5 m"}, {"growing_space_m": 2.5}),
        ({"overhead_lines": "true"}, {"overhead_lines": True}),
        ({"light": "part", "soil_moisture": "wet"}, {"light": "part", "soil_moisture": "wet"}),
        ({"note": "By the gate."}, {"note": "By the gate."}),
        ({"tag": "LG/2"}, {"tag": "LG/2"}),
    ],
)
def test_each_fact_can_be_corrected(inspector, tree, typed, fields):
    assert correct(inspector, tree, **typed).url == reverse("reports:tree", args=[tree.tag])
    assert {name: getattr(tree, name) for name in fields} == fields


def test_species_and_park_can_be_corrected(inspector, tree):
    elm, park = SpeciesFactory(botanical="Ulmus glabra"), ParkFactory(code="MW")
    correct(inspector, tree, species=elm.pk, park=park.pk)
    assert (tree.species, tree.park) == (elm, park)
    assert Standing.objects.get(tree=tree).park == park


def test_a_position_and_a_date_can_be_taken_away(inspector):
    tree = TreeFactory(
        lon=8.5, lat=47.2, cell=cell(8.5, 47.2), planted_on=dt.date(1987, 1, 1), planted_precision="year"
    )
    correct(inspector, tree, position="", planted="")
    assert (tree.lon, tree.lat, tree.cell, tree.planted_on, tree.planted_precision) == (None, None, None, None, "")


def test_a_correction_stands_in_the_record_with_old_and_new(inspector, tree, cast):
    correct(inspector, tree, dbh_cm="40 cm")
    entry = RecordEntry.objects.get(verb="edited")
    assert (entry.tree, entry.actor, entry.via) == (tree, cast[Role.INSPECTOR], "web")
    assert entry.summary == "Corrected diameter at breast height."
    assert entry.data["changes"] == {"dbh_cm": ["36.0", "40.0"]}


def test_the_record_says_in_words_what_was_corrected(inspector, tree):
    correct(inspector, tree, position="47.2, 8.5", planted="1987", note="x")
    assert RecordEntry.objects.get(verb="edited").summary == "Corrected date of planting, note, position."


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"dbh_cm": "wide"}, "“wide” is not a length; write for example 36 cm or 14 in."),
        ({"dbh_cm": "501 cm"}, "501 cm is out of range; give 0.1 cm to 500 cm."),
        ({"planted": "last year"}, "“last year” is not a date; write 2019, 2019-05 or 2019-05-14."),
        ({"planted": "2999"}, "The day of planting lies in the future"),
        ({"position": "8.5"}, "“8.5” is not a position"),
    ],
)
def test_what_cannot_be_right_is_refused_in_a_sentence(inspector, tree, typed, sentence):
    before = tree.updated_at
    assert sentence in complaint(correct(inspector, tree, **typed))
    assert tree.updated_at == before


def test_what_was_typed_stands_beside_its_error(inspector, tree):
    assert 'value="wide"' in correct(inspector, tree, dbh_cm="wide").content.decode()


def test_another_trees_tag_is_refused(inspector, tree):
    TreeFactory(tag="LG-0002")
    assert "The tag LG-0002 belongs to another tree" in complaint(correct(inspector, tree, tag="LG-0002"))
    assert tree.tag == "LG-0001"


def test_a_tree_that_changed_meanwhile_is_not_overwritten(inspector, tree, by_manager):
    opened = shown(inspector, tree)
    edit_tree(by=by_manager, tree=tree, changes={"note": "Roots cut for the new path."})
    response = inspector.post(address(tree), opened | {"note": ""})
    tree.refresh_from_db()
    assert response.status_code == 409
    assert "was changed while this page was open" in complaint(response)
    assert tree.note == "Roots cut for the new path."


@pytest.mark.parametrize("seen", ["", "yesterday", "2020-01-01T00:00:00.000000+0000"])
def test_a_page_without_its_date_is_not_saved(inspector, tree, seen):
    assert complaint(correct(inspector, tree, note="x", seen=seen))
    assert tree.note == ""


def test_a_tree_is_not_declared_dead_on_the_edit_page(inspector, tree):
    assert complaint(correct(inspector, tree, condition="dead"))
    assert tree.condition == ""


def test_a_word_that_an_import_brought_stays_until_it_is_changed(inspector):
    tree = TreeFactory(light="dappled")
    correct(inspector, tree, note="x")
    assert tree.light == "dappled"


def test_a_status_is_not_edited(by_manager, tree):
    with pytest.raises(ValueError, match="status cannot be edited"):
        edit_tree(by=by_manager, tree=tree, changes={"status": TreeStatus.REMOVED})


def test_a_free_tag_is_asked_of_the_database_too(by_manager, tree):
    TreeFactory(tag="LG-0002")
    with pytest.raises(Refused, match="belongs to another tree"):
        edit_tree(by=by_manager, tree=tree, changes={"tag": "LG-0002"})
