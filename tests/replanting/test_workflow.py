"""A removed tree's way back: what each step stores, what it refuses, who may take it."""

import datetime as dt
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from inventory.access import Role
from inventory.errors import Refused
from inventory.models import RecordEntry, Tree, TreeStatus
from inventory.record import COMMAND, Actor
from inventory.workflow import mark_removed
from replanting import workflow
from replanting.models import CareVisit, ReplacementTask, Stock, TaskState
from tests.factories import TODAY, SpeciesFactory, TreeFactory
from tests.replanting.walk import chosen, felled, opened, ordered, planted

pytestmark = pytest.mark.django_db
LATER = TODAY + dt.timedelta(days=30)


@pytest.fixture
def by(cast) -> Actor:
    return Actor(cast[Role.PLANNER])


def test_a_removed_tree_opens_its_task_due_in_twelve_months():
    task = opened(TreeFactory(), on=dt.date(2026, 3, 31))
    assert (task.state, task.opened_on, task.due_on) == (TaskState.OPEN, dt.date(2026, 3, 31), dt.date(2027, 3, 31))


def test_a_standing_tree_opens_no_task():
    with pytest.raises(Refused, match="still stands"):
        workflow.open_task(by=COMMAND, tree=TreeFactory(), on=TODAY)


def test_a_tree_opens_its_task_once():
    task = opened()
    with pytest.raises(Refused, match="already"):
        workflow.open_task(by=COMMAND, tree=task.removed_tree, on=TODAY)


def test_choosing_keeps_species_cultivar_and_reason(by):
    oak = SpeciesFactory(botanical="Quercus bicolor")
    task = workflow.choose_species(by=by, task=opened(), species=oak, cultivar="Beacon", reason="wet foot")
    assert (task.state, task.species, task.cultivar, task.species_reason) == (
        TaskState.SPECIES_CHOSEN,
        oak,
        "Beacon",
        "wet foot",
    )


def test_the_second_choice_for_one_task_is_told_of_the_first(by):
    task = opened()
    workflow.choose_species(by=by, task=task, species=SpeciesFactory(), reason="fits")
    with pytest.raises(Refused, match="species chosen"):
        workflow.choose_species(by=by, task=task, species=SpeciesFactory(botanical="Acer rubrum"), reason="fits too")
    assert ReplacementTask.objects.get().species.botanical == "Quercus rubra"


def test_a_choice_without_a_reason_is_refused(by):
    with pytest.raises(Refused, match="why this species"):
        workflow.choose_species(by=by, task=opened(), species=SpeciesFactory(), reason="  ")


def test_an_order_names_stock_nursery_and_day(by):
    task = workflow.order_stock(by=by, task=chosen(), stock=Stock.CONTAINER, nursery="Lowfield", on=LATER)
    assert (task.state, task.stock, task.nursery, task.ordered_on) == (
        TaskState.ORDERED,
        "container",
        "Lowfield",
        LATER,
    )


def test_an_order_of_unknown_stock_is_refused(by):
    with pytest.raises(Refused, match="bare root, balled"):
        workflow.order_stock(by=by, task=chosen(), stock="plug", nursery="Lowfield", on=LATER)


def test_setting_the_choice_aside_clears_choice_and_order(by):
    task = workflow.set_aside(by=by, task=ordered(), on=LATER, reason="crop failed at the nursery")
    assert (task.state, task.species, task.stock, task.nursery, task.ordered_on) == (TaskState.OPEN, None, "", "", None)


def test_planting_adds_a_tree_that_replaces_the_removed_one_on_its_spot(by):
    old = TreeFactory(lon=-1.5, lat=52.0, cell=1, growing_space_m=2.4)
    planting = workflow.plant(by=by, task=ordered(old), on=LATER, caliper_cm=5)
    young = planting.tree
    assert (young.replaces, young.park, young.species.botanical, young.planted_on) == (
        old,
        old.park,
        "Quercus rubra",
        LATER,
    )
    assert (young.lon, young.lat, young.growing_space_m) == (-1.5, 52.0, 2.4)
    assert (planting.stock, planting.caliper_cm, planting.task.state) == ("container", 5, TaskState.PLANTED)


def test_planting_may_name_another_spot(by):
    young = workflow.plant(by=by, task=ordered(), on=LATER, lon=10.0, lat=50.0).tree
    assert (young.lon, young.lat) == (10.0, 50.0)


def test_half_a_position_is_refused(by):
    with pytest.raises(Refused, match="both or neither"):
        workflow.plant(by=by, task=ordered(), on=LATER, lon=10.0)


def test_planting_stock_on_hand_needs_no_order(by):
    planting = workflow.plant(by=by, task=chosen(), on=LATER, stock=Stock.BARE_ROOT)
    assert planting.task.stock == "bare root"


def test_planting_without_order_must_say_what_stock(by):
    with pytest.raises(Refused, match="Say what stock"):
        workflow.plant(by=by, task=chosen(), on=LATER)


def test_planting_before_the_removal_is_refused(by):
    with pytest.raises(Refused, match="before its place fell free on 1 Jun 2026"):
        workflow.plant(by=by, task=ordered(), on=TODAY - dt.timedelta(days=1))


@pytest.mark.parametrize("caliper_cm", [0, -1, 30.1])
def test_a_caliper_out_of_range_is_refused(by, caliper_cm):
    with pytest.raises(Refused, match="caliper"):
        workflow.plant(by=by, task=ordered(), on=LATER, caliper_cm=caliper_cm)


def test_what_has_not_happened_yet_is_refused(by):
    with pytest.raises(Refused, match="lies in the future"):
        workflow.plant(by=by, task=ordered(), on=dt.date(2999, 1, 1))


def test_a_refused_planting_leaves_nothing_behind(by):
    task = ordered()
    with pytest.raises(Refused):
        workflow.plant(by=by, task=task, on=dt.date(2999, 1, 1))
    assert Tree.objects.count() == 1
    assert ReplacementTask.objects.get().state == TaskState.ORDERED


def test_establishing_keeps_the_day(by):
    task = workflow.establish(by=by, task=planted().task, on=LATER)
    assert (task.state, task.established_on) == (TaskState.ESTABLISHED, LATER)


def test_a_tree_last_found_dead_is_not_established(by):
    planting = planted()
    workflow.visit(by=by, planting=planting, on=LATER, alive=False)
    with pytest.raises(Refused, match="found it dead"):
        workflow.establish(by=by, task=planting.task, on=LATER)


def test_a_failure_removes_the_young_tree_and_reopens_the_task(by):
    planting = planted()
    task = workflow.fail(by=by, task=planting.task, on=LATER, reason="drought")
    planting.refresh_from_db()
    assert (task.state, task.failures, task.species, task.stock) == (TaskState.OPEN, 1, None, "")
    assert (planting.failed_on, planting.failure_reason) == (LATER, "drought")
    assert (planting.tree.status, planting.tree.removed_on) == (TreeStatus.REMOVED, LATER)


def test_a_failure_renews_the_promise_but_never_shortens_it(by):
    early = workflow.fail(by=by, task=planted(on=TODAY).task, on=dt.date(2026, 7, 1), reason="vandals")
    assert early.due_on == dt.date(2027, 6, 1)
    late = workflow.fail(by=by, task=planted(on=dt.date(2025, 6, 1)).task, on=dt.date(2026, 6, 30), reason="vandals")
    assert late.due_on == dt.date(2027, 2, 28)


def test_a_failed_planting_is_followed_by_another_one_for_the_same_task(by):
    task = workflow.fail(by=by, task=planted().task, on=LATER, reason="drought")
    second = planted(task=task, on=LATER)
    assert second.tree.replaces == task.removed_tree
    assert task.plantings.count() == 2


def test_a_long_reason_of_failure_is_kept_whole(by):
    reason = "dry " * 74 + "soil"
    workflow.fail(by=by, task=planted().task, on=LATER, reason=reason)
    assert ReplacementTask.objects.get().plantings.get().failure_reason == reason


def test_a_waiver_has_name_and_reason(by):
    task = workflow.waive(by=by, task=opened(), reason="a path runs there now", on=LATER)
    assert (task.state, task.waived_by, task.waived_reason, task.waived_on) == (
        TaskState.WAIVED,
        "planner",
        "a path runs there now",
        LATER,
    )


def test_felling_a_young_tree_reopens_its_task_instead_of_a_second_promise():
    planting = planted()
    task = felled(planting.tree, on=LATER)
    assert task == planting.task
    assert (task.state, task.failures) == (TaskState.OPEN, 1)
    assert ReplacementTask.objects.count() == 1


def test_felling_an_established_tree_is_a_new_promise(by):
    planting = planted()
    workflow.establish(by=by, task=planting.task, on=LATER)
    task = felled(planting.tree, on=LATER)
    assert task.removed_tree == planting.tree
    assert planting.task.plantings.get().failed_on is None


def test_a_visit_keeps_what_was_seen(by):
    made = workflow.visit(by=by, planting=planted(), on=LATER, watered_l=40, note="mulch topped up")
    kept = CareVisit.objects.get()
    assert (kept.pk, kept.visited_on, kept.alive, kept.watered_l, kept.note, kept.by) == (
        made.pk,
        LATER,
        True,
        40,
        "mulch topped up",
        by.user,
    )


def test_a_visit_sent_twice_is_stored_once(by):
    planting, number = planted(), uuid4()
    workflow.visit(by=by, planting=planting, on=LATER, id=number)
    workflow.visit(by=by, planting=planting, on=LATER, id=number)
    assert CareVisit.objects.get().pk == number
    assert RecordEntry.objects.filter(verb="care visit").count() == 1


def test_a_visits_number_belongs_to_one_tree(by):
    number = uuid4()
    workflow.visit(by=by, planting=planted(), on=LATER, id=number)
    with pytest.raises(Refused, match="another tree"):
        workflow.visit(by=by, planting=planted(), on=LATER, id=number)


def test_a_visit_that_arrives_after_the_failure_still_counts_for_its_day(by):
    planting = planted()
    workflow.fail(by=by, task=planting.task, on=LATER, reason="drought")
    workflow.visit(by=by, planting=planting, on=LATER - dt.timedelta(days=1))
    with pytest.raises(Refused, match="in care from 1 Jun 2026 to 1 Jul 2026"):
        workflow.visit(by=by, planting=planting, on=LATER + dt.timedelta(days=1))


@pytest.mark.parametrize("watered_l", [-1, 2001])
def test_water_out_of_range_is_refused(by, watered_l):
    with pytest.raises(Refused, match="Water"):
        workflow.visit(by=by, planting=planted(), on=LATER, watered_l=watered_l)


def test_each_step_writes_one_entry_about_the_task(by):
    task = ordered()
    planting = workflow.plant(by=by, task=task, on=LATER)
    workflow.visit(by=by, planting=planting, on=LATER)
    workflow.fail(by=by, task=task, on=LATER, reason="drought")
    about = RecordEntry.objects.filter(subject_type="replanting.replacementtask", subject_id=str(task.pk))
    assert list(about.order_by("pk").values_list("verb", flat=True)) == [
        "replacement opened",
        "obstacle",
        "species chosen",
        "stock ordered",
        "obstacle cleared",
        "replacement planted",
        "care visit",
        "planting failed",
    ]


MAY = {
    "choose": {Role.PLANNER},
    "visit": {Role.PLANNER, Role.INSPECTOR, Role.CREW_LEAD},
    "waive": {Role.PLANNER, Role.MANAGER},
}


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("what", MAY)
def test_who_may(cast, role, what):
    by = Actor(cast[role])
    acts = {
        "choose": lambda: workflow.choose_species(by=by, task=opened(), species=SpeciesFactory(), reason="fits"),
        "visit": lambda: workflow.visit(by=by, planting=planted(), on=LATER),
        "waive": lambda: workflow.waive(by=by, task=opened(), reason="no room", on=LATER),
    }
    if role in MAY[what]:
        assert acts[what]().pk
        return
    with pytest.raises(Refused, match="may not"):
        acts[what]()


def test_nobody_in_particular_may_act_from_a_command_only():
    with pytest.raises(Refused, match="sign in first"):
        workflow.waive(by=Actor(via="web"), task=opened(), reason="x", on=LATER)


def test_a_removal_that_opens_no_task_does_not_happen(transactional_db):
    tree = TreeFactory()
    with pytest.raises(IntegrityError, match="without a replacement task"), transaction.atomic():
        mark_removed(by=COMMAND, tree=tree, on=TODAY, why="felled")
    assert Tree.objects.get().stands
