"""The demo: the invented city as the program sees it, the walk, and a second run that changes nothing.

The city is loaded once for all of these tests and taken out again.
"""

import io
import signal
import socket
import subprocess
import sys
from collections import Counter
from dataclasses import dataclass

import pytest
from django.conf import settings
from django.contrib.auth import authenticate
from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import transaction
from django.test import override_settings

from config.demo import season, serve, walk
from config.demo.people import password
from hazards.closures import not_closed
from hazards.models import Closure, Inspection, MitigationOrder, MitigationState, Standing, Target
from inventory.access import Role
from inventory.models import ImportRefusal, ImportRun, Park, PlantingPlace, RecordEntry, Species, Tree, TreeStatus
from removals.models import FellingPlan, JobBriefing, OrderState, RemovalOrder
from replanting.ledger import unpromised
from replanting.models import CareVisit, NurseryOrder, OrderLine, Rain, ReplacementTask, TaskState
from replanting.rain import watered_by_rain
from replanting.stock_work import stock_on_hand

# Without the mark a run of this file alone would make no test database and work in the real one.
pytestmark = pytest.mark.django_db
LOADED = (
    *(Park, Species, Tree, PlantingPlace, Target, Inspection, RemovalOrder, FellingPlan, ReplacementTask, CareVisit),
    *(NurseryOrder, Rain),
)


@dataclass(frozen=True)
class City:
    """What the first run and the second run said, and what each left."""

    first: str
    second: str
    counts: dict[str, int]
    counts_after_second: dict[str, int]


@pytest.fixture(scope="module")
def city(django_db_setup, django_db_blocker, tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo")
    plain = override_settings(
        STATIC_ROOT=folder / "static",
        MEDIA_ROOT=folder / "media",
        STORAGES={
            **settings.STORAGES,
            "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
        },
        PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"],
    )
    with plain, django_db_blocker.unblock(), transaction.atomic():
        first = _run()
        counts = _counts()
        yield City(first, _run(), counts, _counts())
        transaction.set_rollback(True)


def _run() -> str:
    out = io.StringIO()
    call_command("demo", "--no-serve", stdout=out)
    return out.getvalue()


def _counts() -> dict[str, int]:
    return {model.__name__: model.objects.count() for model in (*LOADED, RecordEntry, User)}


@pytest.fixture
def felled(city) -> Tree:
    """The walk's tree."""
    return Tree.objects.get(removal_orders__reason=walk.REASON)


# ---- The city --------------------------------------------------------------------------------------------------------


def test_every_row_of_the_tree_file_is_accounted_for(city):
    run = ImportRun.objects.get()
    assert run.refused == ImportRefusal.objects.filter(run=run).count() == 6
    assert run.rows == run.imported + run.sites + run.refused
    assert run.imported > 1950
    assert run.sites == PlantingPlace.objects.count() == 25


def test_no_name_of_a_kind_is_new_but_for_genera(city):
    """Spelling, cultivars and hybrid signs of the file lead to the palette's taxa."""
    met = Species.objects.filter(palette=False)
    assert all(" " not in species.botanical for species in met)


def test_every_park_has_area_trees_and_targets(city):
    assert Park.objects.count() == 8
    for park in Park.objects.all():
        assert 20_000 <= park.area_m2 <= 600_000
        assert park.trees.count() >= 90
        assert park.targets.count() >= 7


def test_trees_without_a_position_are_kept_to_be_located(city):
    assert Tree.objects.unlocated().count() == 12


def test_ratings_are_mostly_low_with_a_few_that_ask_for_work(city):
    found = Counter(Standing.objects.exclude(rating="").values_list("rating", flat=True))
    rated = sum(found.values())
    assert found["extreme"] == 4
    assert Standing.objects.filter(imminent=True).count() == 6
    assert 0.02 <= found["high"] / rated <= 0.035
    assert 0.07 <= found["moderate"] / rated <= 0.09


def test_dead_trees_are_due_sooner_than_any_round(city):
    dead = Standing.objects.filter(tree__status=TreeStatus.DEAD_STANDING, inspected_on__isnull=False)
    assert dead.count() >= 20
    assert all((row.inspect_due - row.inspected_on).days <= 90 for row in dead)


def test_orders_stand_in_every_state(city):
    assert set(RemovalOrder.objects.values_list("state", flat=True)) == set(OrderState.values)


def test_other_work_stands_in_every_state_and_one_grave_tree_has_nothing_closed_around_it(city):
    assert set(MitigationOrder.objects.values_list("state", flat=True)) == set(MitigationState.values)
    assert Closure.objects.open().exists()
    assert Closure.objects.filter(lifted_at__isnull=False).exists()
    assert not_closed().exists()


def test_no_tree_was_felled_without_a_plan_that_holds_and_a_signed_briefing(city):
    felled = RemovalOrder.objects.filter(state__in=[OrderState.FELLED, OrderState.CLOSED])
    assert felled.count() == 14
    for order in felled:
        assert order.plans.latest().verdict in {"adequate", "marginal"}
        assert JobBriefing.objects.get(plan__order=order).signatures.count() == 3


def test_replacements_stand_in_every_state_and_none_is_missing(city):
    assert set(ReplacementTask.objects.values_list("state", flat=True)) == set(TaskState.values) - {"merged"}
    assert ReplacementTask.objects.filter(failures=1, state=TaskState.OPEN).count() == 2
    assert not unpromised().exists()


def test_six_are_owed_for_a_tree_of_thirteen_inches_and_one_of_them_was_split_off(city):
    """The row from 13 in of the printed table of inches with which the demo's city counts."""
    owed = Tree.objects.get(tag=season.SEVERAL_OWED).owed
    tasks = ReplacementTask.objects.filter(removed_tree=owed.removed_tree)
    assert owed.trees == 6
    assert sorted(tasks.values_list("units", flat=True)) == [1, 1, 4]


def test_the_nursery_order_came_in_part_and_one_tree_was_rejected(city):
    line = OrderLine.objects.with_used().get()
    assert (line.rejected, line.outstanding) == (1, 1)
    assert line.reserved == 2
    assert stock_on_hand() == {season.TAXON: 1}


def test_the_rain_of_weeks_did_one_watering(city):
    rain_mm = dict(Rain.objects.values_list("day", "mm"))
    assert len(rain_mm) == 28
    assert len(watered_by_rain(rain_mm)) == 1


def test_one_person_a_role_who_can_sign_in(city, rf):
    for role in Role:
        person = User.objects.filter(groups__name=role.value).first()
        assert authenticate(rf.post("/login/"), username=person.username, password=password()) == person


def test_logins_and_the_password_are_printed(city):
    assert password() in city.first
    for person in User.objects.all():
        assert person.username in city.first


# ---- The walk --------------------------------------------------------------------------------------------------------


def test_each_step_of_the_walk_is_said_in_a_line(city):
    steps = [line.split()[0] for line in city.first.split("Now the walk")[1].splitlines()[1:]]
    assert steps[:12] == [
        "Inspected",
        "Rated",
        "Ranked",
        "Ordered",
        "Prepared",
        "Planned",
        "Briefed",
        "Felled",
        "Chosen",
        "Bought",
        "Planted",
        "Reported",
    ]


def test_the_walks_tree_is_felled_replaced_and_out_of_the_ranking(city, felled):
    task = felled.replacement_tasks.get()
    young = task.plantings.get().tree
    assert felled.status == TreeStatus.REMOVED
    assert not Standing.objects.filter(tree=felled).exists()
    assert task.state == TaskState.PLANTED
    assert young.replaces == felled
    assert (young.lon, young.lat) == (felled.lon, felled.lat)


def test_the_walks_steps_were_taken_by_the_people_whose_job_they_are(city, felled):
    by = dict(RecordEntry.objects.filter(tree=felled).order_by("pk").values_list("verb", "actor__username"))
    assert by["inspected"] == "wren"
    assert by["proposed"] == "wren"
    assert by["approved"] == "selma"
    assert by["felled"] == "rufus"
    assert by["species chosen"] == "linnea"


def test_the_walks_species_is_hardy_here_and_fits(city, felled):
    species = felled.replacement_tasks.get().species
    zone = int(felled.park.hardiness_zone[:-1])
    assert species.zone_min <= zone <= species.zone_max
    assert not species.flag


# ---- Again -----------------------------------------------------------------------------------------------------------


def test_a_second_run_changes_nothing(city):
    assert city.counts_after_second == city.counts
    assert "The walk was done before" in city.second


def test_a_database_with_a_citys_own_parks_is_left_alone(city):
    with transaction.atomic():
        Park.objects.create(code="OWN", name="A real park")
        before = _counts()
        with pytest.raises(CommandError, match="A real park"):
            _run()
        assert _counts() == before
        transaction.set_rollback(True)


# ---- Serving ---------------------------------------------------------------------------------------------------------


def test_a_taken_port_is_passed_over():
    with socket.socket() as taken:
        taken.bind((serve.HOST, 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert port < serve.free_port(port, port + 20) <= port + 20


def test_no_free_port_is_said():
    with socket.socket() as taken:
        taken.bind((serve.HOST, 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(RuntimeError, match="are taken"):
            serve.free_port(port, port)


def test_a_server_that_dies_at_once_is_not_waited_for():
    died = subprocess.Popen([sys.executable, "-c", "raise SystemExit(3)"])
    died.wait()
    with pytest.raises(RuntimeError, match="did not start"):
        serve.wait_for(serve.free_port(), [died])


def test_when_one_process_ends_the_other_is_ended_too():
    ended = subprocess.Popen([sys.executable, "-c", "raise SystemExit(3)"])
    running = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"])
    try:
        assert serve.watch([ended, running]) == 3
    finally:
        serve.end([ended, running])
    assert running.returncode == -signal.SIGTERM
