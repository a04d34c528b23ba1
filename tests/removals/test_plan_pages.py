"""The felling plan's form and page, and the briefing's."""

import re
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.access import Role
from inventory.context import UNITS_COOKIE
from inventory.models import TreeStatus
from inventory.units import Units
from removals.briefing import Chapter, checklist
from removals.felling_input import Haul, Refusal
from removals.models import FellingPlan, JobBriefing
from removals.plan_form import FellingPlanForm, prefilled
from removals.signals import COMMON_PRACTICE
from removals.tree_plan import plan_for_tree
from tests.factories import SpeciesFactory, TreeFactory
from tests.removals.builders import CARD, CREW, Story, inputs

BY_PEOPLE = {
    "dbh_cm": "36 cm",
    "height_m": "15 m",
    "notch": "conventional",
    "notch_share": "0.25",
    "hinge_pct": "10",
    "cut_height_m": "0.8",
    "lay_deg": "90",
    "zone_multiple": "2.0",
    "slope_pct": "0",
    "means": "people",
    "people": "5",
    "parts": "3",
    "sheave": "bearing sheave",
    "redirects": "0",
}


@pytest.fixture
def story(cast) -> Story:
    return Story(cast).scheduled()


def form(units: Units = Units.METRIC, tree=None, **changes) -> FellingPlanForm:
    return FellingPlanForm({**BY_PEOPLE, **changes}, tree=tree or TreeFactory(), units=units)


def read(units: Units = Units.METRIC, tree=None, **changes):
    """Standing tree and choices of a valid form."""
    made = form(units, tree, **changes)
    assert made.is_valid(), made.errors
    return made.standing_tree(), made.choices()


def text(response) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


# ---- From the form to the trade --------------------------------------------------------------------------------------


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("units", "typed", "dbh_cm"),
    [(Units.METRIC, "36", 36.0), (Units.METRIC, "14 in", 35.56), (Units.US, "14", 35.56), (Units.US, "36 cm", 36.0)],
)
def test_a_length_is_read_in_the_readers_unit_or_in_the_one_written(units, typed, dbh_cm):
    standing, _ = read(units, dbh_cm=typed, height_m="15 m", cut_height_m="0.8 m")
    assert standing.dbh_cm == pytest.approx(dbh_cm)


@pytest.mark.django_db
@pytest.mark.parametrize(("typed", "kg"), [("80", 80.0), ("180 lb", 81.65), ("0.09 t", 90.0)])
def test_a_mass_is_read_in_its_unit(typed, kg):
    _, choices = read(person_kg=typed, people="1", parts="1")
    assert choices.line.pull_n == pytest.approx(kg * 9.80665 * 0.25, rel=1e-4)


@pytest.mark.django_db
def test_a_line_by_people_starts_from_common_practice():
    _, choices = read()
    assert choices.line.haul is Haul.HANDS
    assert choices.line.anchor_height_m == pytest.approx(10.0)
    assert choices.line.distance_m == pytest.approx(22.5)


@pytest.mark.django_db
def test_a_winch_pulls_with_its_stall_force():
    _, choices = read(means="winch", winch_n="12 kN", parts="1")
    assert (choices.line.haul, choices.line.pull_n) == (Haul.WINCH, 12_000.0)


@pytest.mark.django_db
def test_wedges_take_the_place_of_a_line():
    _, choices = read(means="wedges", wedge_n="20 kN", stacked="on")
    assert choices.line is None
    assert (choices.wedges.rated_n, choices.wedges.stacked) == (20_000.0, True)


@pytest.mark.django_db
@pytest.mark.parametrize(("side", "height_m"), [("lower", -2.0), ("higher", 2.0)])
def test_pullers_stand_below_or_above_the_stump(side, height_m):
    _, choices = read(puller_level_m="2", puller_side=side)
    assert choices.line.puller_height_m == height_m


@pytest.mark.django_db
def test_an_upright_tree_is_measured_not_assumed():
    upright = plan_for_tree(*read(lean_deg="0", lean_toward_deg="0"))
    silent = plan_for_tree(*read())
    assert not any("upright" in each for each in upright.assumed)
    assert any("upright" in each for each in silent.assumed)


@pytest.mark.django_db
def test_the_plumbed_point_is_kept():
    made = form(plumb_offset_m="0.5", plumb_height_m="9", plumb_point="tip", lean_toward_deg="270")
    assert made.is_valid(), made.errors
    assert made.entered()["plumb_point"] == "tip"
    assert made.standing_tree().lean.plumb_point == "tip"


@pytest.mark.django_db
@pytest.mark.parametrize(("notch", "opening"), [("open face", 90.0), ("humboldt", 60.0), ("conventional", 60.0)])
def test_an_empty_opening_is_the_usual_one_of_the_notch(notch, opening):
    assert read(notch=notch)[1].opening_deg == opening


@pytest.mark.django_db
def test_what_was_seen_takes_the_tree_out_of_the_method():
    planned = plan_for_tree(*read(refusals=[Refusal.CRACK.value]))
    assert planned.result.verdict == "outside the method"


@pytest.mark.django_db
def test_a_thin_shell_is_measured_against_the_radius_at_the_cut():
    standing, _ = read(sound_shell_cm="5", diameter_at_cut_cm="40")
    assert standing.sound_shell_share == pytest.approx(0.25)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"dbh_cm": "thick"}, "dbh_cm", "is not a length"),
        ({"dbh_cm": ""}, "dbh_cm", "required"),
        ({"lay_deg": ""}, "lay_deg", "required"),
        ({"lay_deg": "400"}, "lay_deg", "less than or equal to 360"),
        ({"people": ""}, "people", "required"),
        ({"means": "winch"}, "winch_n", "required"),
        ({"means": "wedges"}, "wedge_n", "required"),
        ({"means": "winch", "winch_n": "strong"}, "winch_n", "is not understood"),
        ({"gust_ms": "900"}, "gust_ms", "out of range"),
        ({"crown_base_m": "15"}, "crown_base_m", "below the top"),
        ({"anchor_height_m": "16"}, "anchor_height_m", "below the top"),
        ({"anchor_height_m": "0.5"}, "anchor_height_m", "above the cut"),
        ({"height_m": "3", "cut_height_m": "1.4"}, "cut_height_m", "centre of mass"),
        ({"plumb_offset_m": "1"}, "plumb_height_m", "height of the plumbed point"),
        ({"plumb_offset_m": "1", "plumb_height_m": "9", "lean_deg": "2"}, "plumb_offset_m", "not both"),
        ({"dead_since": "2999-01-01"}, "dead_since", "in the future"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(changes, field, words):
    made = form(**changes)
    assert not made.is_valid()
    assert words in str(made.errors[field])


@pytest.mark.django_db
def test_a_chapter_unfolds_when_something_in_its_fold_is_said():
    def unfolded(**changes):
        return {chapter.heading for chapter in form(**changes).chapters() if chapter.unfolded}

    assert unfolded(parts="1") == set()
    assert unfolded(parts="1", wire_kv="20") == {"The place and the wind"}
    assert unfolded(parts="0") == {"What brings it over"}


# ---- Filled in -------------------------------------------------------------------------------------------------------


@pytest.mark.django_db
def test_the_form_starts_from_the_tree():
    dead = timezone.localdate().replace(day=1)
    species = SpeciesFactory(botanical="Acer rubrum", jenkins_group="soft maple/birch")
    tree = TreeFactory(species=species, status=TreeStatus.DEAD_STANDING, dead_since=dead, stems_cm=[30.0, 25.0])
    filled = prefilled(tree, None)
    assert (filled["dbh_cm"], filled["height_m"], filled["species_group"]) == (40.0, 15.0, "soft maple/birch")
    assert (filled["dead"], filled["dead_since"]) == (True, dead)
    assert filled["refusals"] == [Refusal.SEVERAL_STEMS.value]


def test_the_next_plan_starts_from_what_was_entered_before(as_role, story):
    client, address = as_role(Role.CREW_LEAD), reverse("removals:plan", args=[story.order.pk])
    client.post(address, {**BY_PEOPLE, "dbh_cm": "41 cm", "people": "4"})
    again = client.get(address).context["form"]
    assert (again["dbh_cm"].value(), again["people"].value()) == ("41 cm", 4)


# ---- The plan's page -------------------------------------------------------------------------------------------------


def test_a_plan_made_in_the_form_is_kept_with_what_was_entered(as_role, story):
    response = as_role(Role.CREW_LEAD).post(reverse("removals:plan", args=[story.order.pk]), BY_PEOPLE)
    plan = FellingPlan.objects.get()
    assert response.url == reverse("removals:felling_plan", args=[plan.pk])
    assert plan.inputs["entered"]["people"] == 5
    assert plan.inputs["diameter_m"] == pytest.approx(0.396)
    assert any("taken from the dbh" in each for each in plan.assumptions)


def test_a_faulty_form_keeps_nothing_and_names_its_fields(as_role, story):
    response = as_role(Role.CREW_LEAD).post(
        reverse("removals:plan", args=[story.order.pk]), {**BY_PEOPLE, "dbh_cm": "x"}
    )
    assert response.status_code == 200
    assert not FellingPlan.objects.exists()
    assert "“x” is not a length" in text(response)


def test_the_page_shows_each_figure_in_both_units_with_its_formula(as_role, story):
    plan = story.planned()
    shown = text(as_role(Role.READER).get(reverse("removals:felling_plan", args=[plan.pk])))
    # Chord at a notch of a quarter of 36 cm: 0.8660 · 36 = 31.2 cm (geometry of the circle).
    assert "Hinge length 31.2 cm (12.250 in)" in shown
    assert "L = 2 √(r² − (r − n)²)" in shown
    assert "225° and 315°" in shown
    assert "30.0 m 98 ft" in shown


def test_a_reader_in_us_units_reads_them_first(as_role, story):
    plan = story.planned()
    client = as_role(Role.READER)
    client.cookies[UNITS_COOKIE] = Units.US.value
    shown = text(client.get(reverse("removals:felling_plan", args=[plan.pk])))
    assert "Hinge length 12.250 in (31.2 cm)" in shown


def test_the_page_shows_verdict_reasons_assumptions_caution_and_drawings(as_role, story):
    plan = story.planned()
    plan.assumptions = ["The tree is taken to stand upright; measure its lean."]
    plan.save()
    response = as_role(Role.READER).get(reverse("removals:felling_plan", args=[plan.pk]))
    shown = text(response)
    for words in ("Adequate", *plan.results["reasons"], *plan.assumptions, "the person on site decides"):
        assert words in shown
    assert response.content.decode().count("<svg xmlns") == 3


def test_a_plan_outside_the_method_shows_no_forces_and_names_other_ways(as_role, story):
    plan = story.planned(inputs(height_m=41.0))
    shown = text(as_role(Role.CREW_LEAD).get(reverse("removals:felling_plan", args=[plan.pk])))
    assert "Outside the method" in shown
    assert "Dismantle it from a lift." in shown
    assert "Needed tension" not in shown
    assert "Brief the crew" not in shown


def test_an_older_plan_says_that_it_was_replaced(as_role, story):
    older = story.planned()
    story.planned(inputs(height_m=16.0))
    shown = text(as_role(Role.CREW_LEAD).get(reverse("removals:felling_plan", args=[older.pk])))
    assert "A newer plan has taken its place." in shown
    assert "Brief the crew" not in shown


# ---- The briefing ----------------------------------------------------------------------------------------------------


def ticked(*, without: str = "", **changes) -> dict[str, object]:
    """The briefing's form with every item ticked but one, the usual signals, and the emergency card filled in."""
    boxes = {
        chapter.name.lower(): [
            item.key for item in checklist(pull_line=True) if item.chapter is chapter and item.key != without
        ]
        for chapter in Chapter
    }
    card = {f"card_{key}": words for key, words in CARD.items()}
    rows = {
        f"signals-{n}-{key}": value
        for n, row in enumerate(COMMON_PRACTICE)
        for key, value in zip(("kind", "signal", "meaning"), row.row(), strict=True)
    }
    totals = {"signals-TOTAL_FORMS": len(COMMON_PRACTICE), "signals-INITIAL_FORMS": 0}
    return {**boxes, "gust_ms": "2 m/s", "weather": "dry", **card, **rows, **totals, **changes}


def held_in_the_form(as_role, story) -> str:
    """The address of the held briefing, nobody's name under it yet."""
    response = as_role(Role.CREW_LEAD).post(reverse("removals:briefing", args=[story.planned().pk]), ticked())
    assert response.status_code == 302, text(response)
    return response.url


def test_a_briefing_is_held_in_the_form_signed_in_turn_and_makes_the_order_ready(as_role, story):
    client, address = as_role(Role.CREW_LEAD), held_in_the_form(as_role, story)
    for name, role in CREW:
        assert "The crew is whole." not in text(client.get(address))
        client.post(address, {"name": name, "role": role})
    assert "The crew is whole." in text(client.get(address))
    assert "Report it felled" in text(client.get(reverse("removals:order", args=[story.order.pk])))


def test_what_was_agreed_is_kept_and_shown(as_role, story):
    address = held_in_the_form(as_role, story)
    held = JobBriefing.objects.get()
    assert (held.gust_ms, held.emergency["hospital"]) == (2.0, CARD["hospital"])
    assert held.signals == [signal.row() for signal in COMMON_PRACTICE]
    shown = text(as_role(Role.READER).get(address))
    for words in ("Alderquay General, 4 km", "Both arms crossed above the head", "2.0 m/s"):
        assert words in shown


def test_the_next_briefing_begins_with_what_was_agreed_before(as_role, story):
    changed = {"signals-0-signal": "“Halt!”", "card_kit": "In the red box"}
    plan, client = story.planned(), as_role(Role.CREW_LEAD)
    address = reverse("removals:briefing", args=[plan.pk])
    client.post(address, ticked(**changed))
    again = client.get(address).content.decode()
    assert "“Halt!”" in again
    assert "In the red box" in again


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"without": "wires"}, "Not covered yet: Wires"),
        ({"gust_ms": "30 m/s"}, "over the plan’s stop wind"),
        ({"gust_ms": ""}, "This field is required"),
        ({"card_trained": ""}, "Without somebody trained in first aid nobody fells."),
        ({f"signals-{n}-meaning": "Wait" for n in range(3)}, "No signal means stop"),
        ({"signals-3-signal": "One long blast", "signals-3-kind": "whistle"}, "has two meanings"),
    ],
)
def test_what_is_missing_or_too_much_is_said_and_nothing_is_kept(as_role, story, changes, why):
    plan = story.planned()
    response = as_role(Role.CREW_LEAD).post(reverse("removals:briefing", args=[plan.pk]), ticked(**changes))
    assert why in text(response)
    assert not JobBriefing.objects.exists()


def test_a_signature_given_twice_is_refused_on_the_form(as_role, story):
    held = story.briefed()
    response = as_role(Role.CREW_LEAD).post(
        reverse("removals:held_briefing", args=[held.pk]), {"name": "Ada Larch", "role": "spotter"}
    )
    assert "signs once" in text(response)


def test_the_briefing_page_carries_card_stop_wind_and_all_items(as_role, story):
    plan = story.planned()
    shown = text(as_role(Role.CREW_LEAD).get(reverse("removals:briefing", args=[plan.pk])))
    for words in ("Emergency card", "Stop wind, held at 2 m", *(item.words for item in checklist(pull_line=True))):
        assert words in shown


def test_nobody_briefs_on_a_replaced_plan(as_role, story):
    older = story.planned()
    story.planned(inputs(height_m=16.0))
    shown = text(as_role(Role.CREW_LEAD).get(reverse("removals:briefing", args=[older.pk])))
    assert "A newer plan has taken the place of this one" in shown


@pytest.mark.parametrize("means", [{}, {"means": "winch", "winch_n": "12 kN"}])
@pytest.mark.parametrize(("typed", "bearing_deg"), [("", None), ("97.5", 97.5)])
def test_the_line_may_have_a_bearing_of_its_own(db, means, typed, bearing_deg):
    _, choices = read(line_bearing_deg=typed, **means)
    assert choices.line.bearing_deg == bearing_deg


def test_a_bearing_is_kept_and_asked_for_again(as_role, story):
    client, address = as_role(Role.CREW_LEAD), reverse("removals:plan", args=[story.order.pk])
    page = text(client.post(address, {**BY_PEOPLE, "line_bearing_deg": "97.5"}, follow=True))
    assert "at 97.5° from the stump, 7.5° to the right of the lay" in page
    assert "Moment of the line to the side" in page
    assert 'name="line_bearing_deg" value="97.5"' in client.get(address).content.decode()


def test_a_line_too_far_off_the_lay_is_outside_the_method(as_role, story):
    address = reverse("removals:plan", args=[story.order.pk])
    page = as_role(Role.CREW_LEAD).post(address, {**BY_PEOPLE, "line_bearing_deg": "120"}, follow=True)
    assert "The line runs 30° to the right of the lay; the method covers 15°" in text(page)
