"""A park taken along: small on the wire, refreshed by what changed, with nothing missed that commits late."""

import datetime as dt
import gzip
import json
import threading

import pytest
from django.db import connection, transaction
from django.test import Client
from django.utils import timezone

from hazards.asked import ask_look
from hazards.field import packs
from hazards.matrix import Rating
from hazards.models import Assessment, FieldGone, Inspection, Standing, Target
from inventory.access import Permission, Role
from inventory.models import Park, Species, Tree, TreeStatus
from inventory.record import Actor
from inventory.workflow import edit_tree
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory, user_with
from tests.hazards.factories import TargetFactory, inspect, pick

MOST_BYTES = 3_000_000
TREES = 5_000
TODAY = dt.date(2026, 6, 1)


@pytest.fixture
def tablet(as_role) -> Client:
    return as_role(Role.INSPECTOR)


@pytest.fixture
def park(db) -> Park:
    return ParkFactory(code="LG", name="Lantern Green")


def taken(park: Park, token: str = "", on: dt.date = TODAY) -> dict:
    return packs.pack(park, packs.PARTS, granted=frozenset(Permission), on=on, token=token)


def as_if_alone(token: str) -> str:
    """The token of a pack taken while nobody writes: what goes on in other databases of the server holds it back, and
    then a refresh brings rows again that the tablet has."""
    shape, _, on = token.split(".")
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_current_xact_id()::text")
        return f"{shape}.{cursor.fetchone()[0]}.{on}"


def rows_of(pack: dict, part: str = "trees") -> dict:
    columns, rows = pack["parts"][part]["columns"], pack["parts"][part]["rows"]
    return {row[0]: dict(zip(columns, row, strict=True)) for row in rows}


def refreshed(old: dict, new: dict) -> dict:
    """As the tablet puts them together: the lost ones out, the new rows in the place of the old."""
    parts = {}
    for name in new["parts"]:
        if name == "park":
            continue
        kept = {key: row for key, row in rows_of(old, name).items() if key not in new["gone"].get(name, ())}
        parts[name] = kept | rows_of(new, name)
    return parts


def whole(pack: dict) -> dict:
    return {name: rows_of(pack, name) for name in pack["parts"] if name != "park"}


def test_a_pack_holds_the_tree_with_its_rating_and_the_way_to_it(tablet, park):
    tree = TreeFactory(tag="LG-1", park=park, lon=8.123456789, lat=47.2, cell=1)
    inspect(tree, pick(TargetFactory(park=park)))
    pack = tablet.get("/field/pack/LG").json()
    assert (pack["schema"], pack["full"], pack["park"]) == (1, True, {"code": "LG", "name": "Lantern Green"})
    row = rows_of(pack)[tree.pk]
    expected = {"tag": "LG-1", "lon": 8.1234568, "rating": "high", "failure": "probable", "impact": "high"}
    assert expected.items() <= row.items()
    assert (row["failure_and_impact"], row["consequences"], row["inspected_on"]) == ("likely", "severe", "2026-05-04")


def test_only_the_parks_own_standing_trees_are_in_it(park):
    here = TreeFactory(park=park)
    TreeFactory(park=park, removed=True)
    TreeFactory(park=ParkFactory(code="QM"))
    assert list(rows_of(taken(park))) == [here.pk]


def test_how_to_reach_whoever_told_of_a_tree_never_leaves_the_server(tablet, park):
    from hazards.models import Concern

    now = timezone.now()
    tree = TreeFactory(park=park)
    Concern.objects.create(source="public", seen="hollow", description="A crack.", park=park, tree=tree, state="new",
                           contact="reporter@example.org", forget_at=now, received_at=now, changed_at=now)  # fmt: skip
    answer = tablet.get("/field/pack/LG")
    assert "A crack." in answer.content.decode()
    assert "reporter@" not in answer.content.decode()


def test_a_refresh_brings_only_what_changed(park):
    first, second = TreeFactory(park=park), TreeFactory(park=park)
    token = taken(park)["token"]
    inspect(first, pick(TargetFactory(park=park)))
    again = taken(park, token)
    # Within one test all is one transaction, which is still under way: what it wrote before comes again too.
    assert (again["full"], first.pk in rows_of(again)) == (False, True)
    assert rows_of(again)[first.pk]["rating"] == Rating.HIGH.value
    assert second.pk in rows_of(taken(park))


CHANGES = {
    "inspected": lambda tree: inspect(tree, pick(Target.objects.get())),
    "corrected": lambda tree: edit_tree(by=Actor(), tree=tree, changes={"cultivar": "Tall"}),
    "moved": lambda tree: edit_tree(by=Actor(), tree=tree, changes={"park": ParkFactory(code="QM")}),
    "another species": lambda tree: Tree.objects.filter(pk=tree.pk).update(species=SpeciesFactory(botanical="Acer")),
    "its species weak": lambda tree: Species.objects.filter(pk=tree.species_id).update(flag="weak wood"),
    "dead": lambda tree: inspect(tree, condition="dead"),
    "added": lambda tree: TreeFactory(park=tree.park),
    "deleted": lambda tree: Tree.objects.filter(pk=tree.pk).delete(),
    "target renamed": lambda tree: Target.objects.update(name="sandpit"),
    "target deleted": lambda tree: Target.objects.all().delete(),
    "a look asked": lambda tree: ask_look(by=Actor(), tree=tree, due_on=TODAY, why="after the storm"),
    "a look met": lambda tree: [ask_look(by=Actor(), tree=tree, due_on=TODAY, why="after the storm"),
                                inspect(tree, observed_at=timezone.now())],
    "a year passes": lambda tree: None,
}  # fmt: skip


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("change", CHANGES)
def test_what_was_held_with_the_refresh_is_the_whole_pack(change):
    park = ParkFactory(code="LG")
    tree, other, _ = TreeFactory(park=park), TreeFactory(park=park), TargetFactory(park=park)
    inspect(other, condition="dead", observed_at=timezone.now() - dt.timedelta(days=300))
    old = taken(park, on=timezone.localdate())
    token = as_if_alone(old["token"])
    CHANGES[change](tree)
    later = timezone.localdate() + dt.timedelta(days=100 if change == "a year passes" else 0)
    new = taken(park, old["token"], on=later)
    assert not new["full"]
    assert refreshed(old, new) == whole(taken(park, on=later))
    alone = rows_of(taken(park, token, on=later))
    assert len(alone) <= (3 if change == "its species weak" else 1), "only what changed"


@pytest.mark.django_db(transaction=True)
def test_nothing_changed_sends_no_rows():
    park = ParkFactory(code="LG")
    TreeFactory(park=park)
    again = taken(park, as_if_alone(taken(park)["token"]))
    assert {name: part["rows"] if name != "park" else [] for name, part in again["parts"].items()} == {
        name: [] for name in again["parts"]
    }
    assert not any(again["gone"].values())


@pytest.mark.django_db(transaction=True)
def test_a_change_that_commits_after_the_pack_was_taken_is_in_the_next_refresh():
    """Written before the pack, visible after it: a clock or a counter would have missed it."""
    park = ParkFactory(code="LG")
    tree, moving = TreeFactory(park=park), TreeFactory(park=park)
    other = ParkFactory(code="QM")
    written, commit = threading.Event(), threading.Event()

    def slowly():
        with transaction.atomic():
            Tree.objects.filter(pk=tree.pk).update(height_m=21.0)
            with transaction.atomic():
                Tree.objects.filter(pk=moving.pk).update(park=other)
            written.set()
            assert commit.wait(timeout=20)
        connection.close()

    slow = threading.Thread(target=slowly)
    slow.start()
    assert written.wait(timeout=20)
    # A later transaction comes and goes, so that the slow one is not simply the newest.
    late = TreeFactory(park=park)
    old = taken(park)
    assert {tree.pk, moving.pk, late.pk} == set(rows_of(old))
    assert rows_of(old)[tree.pk]["height_m"] == 15.0
    commit.set()
    slow.join(timeout=20)
    new = taken(park, old["token"])
    assert rows_of(new)[tree.pk]["height_m"] == 21.0
    assert new["gone"]["trees"] == [moving.pk]
    assert refreshed(old, new) == whole(taken(park))


@pytest.mark.parametrize("token", ["", "1.2", "x.y.z", "00000000.5.2026-01-01", "00000000.-5.2026-01-01"])
def test_a_token_that_is_not_understood_brings_the_whole_park(park, token):
    assert taken(park, token)["full"]


@pytest.mark.parametrize("ago", [packs.HALF_CIRCLE, -1000])
def test_a_token_too_old_or_of_another_database_brings_the_whole_park(park, ago):
    shape, _, day = taken(park)["token"].split(".")
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_snapshot_xmax(pg_current_snapshot())::text::bigint")
        (following,) = cursor.fetchone()
    assert taken(park, f"{shape}.{following - ago}.{day}")["full"]


def test_a_token_of_another_park_or_of_other_rights_brings_the_whole_park(park):
    token = taken(park)["token"]
    assert taken(ParkFactory(code="QM"), token)["full"]
    fewer = packs.pack(park, packs.PARTS[:2], granted=frozenset(Permission), on=TODAY, token=token)
    assert fewer["full"]


def test_what_leaves_a_park_is_noted_by_the_database_alone(park):
    tree = TreeFactory(park=park)
    Tree.objects.filter(pk=tree.pk).update(park=ParkFactory(code="QM"))
    gone = FieldGone.objects.get()
    assert (gone.park, gone.part, gone.row) == (park, "trees", tree.pk)


def city_park(park: Park) -> None:
    """5,000 trees, all rated, each with a sentence of its own: nothing repeats as it would in a toy."""
    species = Species.objects.bulk_create(Species(botanical=f"Genus epithet{n}", genus="Genus") for n in range(120))
    Tree.objects.bulk_create(
        Tree(tag=f"LG-{n:06d}", park=park, species=species[n * 7 % 120], lon=8 + n * 1.37e-5, lat=47 + n * 2.71e-5, cell=n,
             dbh_cm=5 + n * 37 % 900 / 7, height_m=3 + n * 13 % 270 / 9, crown_spread_m=n * 11 % 190 / 9,
             status=TreeStatus.STANDING, condition=("good", "fair", "poor")[n % 3])
        for n in range(TREES)
    )  # fmt: skip
    tree = Tree.objects.earliest("pk")
    inspect(tree, pick(TargetFactory(park=park)))
    rated, look = Assessment.objects.get(), Inspection.objects.get()
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE hazards_standing SET rating = 'high', triage_key = tree_id, assessment_id = %s, inspection_id = %s,"
            " inspected_on = '2026-05-04', inspect_due = '2027-05-04', reason = 'High: a union is probable to split at the"
            " included bark onto play area ' || md5(tree_id::text) || ', used all day; work due soon.'",
            [rated.pk, look.pk],
        )


def test_five_thousand_trees_come_in_far_less_than_three_megabytes(tablet, park):
    city_park(park)
    answer = tablet.get("/field/pack/LG", HTTP_ACCEPT_ENCODING="gzip")
    assert answer["Content-Encoding"] == "gzip"
    wire = answer.content
    pack = json.loads(gzip.decompress(wire))
    assert len(pack["parts"]["trees"]["rows"]) == TREES
    assert Standing.objects.filter(rating="high").count() == TREES
    assert len(wire) < MOST_BYTES / 4, f"{len(wire):,} bytes"


def test_a_pack_asks_the_database_a_fixed_number_of_questions(tablet, park, django_assert_max_num_queries):
    TreeFactory.create_batch(5, park=park)
    token = tablet.get("/field/pack/LG").json()["token"]
    # Four of them are the session, the person, the roles and the ranking's freshness.
    with django_assert_max_num_queries(16):
        tablet.get("/field/pack/LG")
    with django_assert_max_num_queries(22):
        tablet.get("/field/pack/LG", {"since": token})


def test_a_park_that_there_is_not_is_missing_in_json(tablet, park):
    answer = tablet.get("/field/pack/XX")
    assert (answer.status_code, answer["Content-Type"]) == (404, "application/json")


def test_parks_to_choose_say_how_many_trees_stand_there(tablet, park):
    TreeFactory.create_batch(2, park=park)
    TreeFactory(park=park, removed=True)
    assert tablet.get("/field/parks").json() == {"parks": [{"code": "LG", "name": "Lantern Green", "trees": 2}]}


# ---- Hello and the tables --------------------------------------------------------------------------------------------


def test_hello_says_who_is_signed_in_and_is_neither_kept_nor_compressed(tablet, cast):
    answer = tablet.get("/field/hello", HTTP_ACCEPT_ENCODING="gzip, br")
    told = answer.json()
    person = cast[Role.INSPECTOR]
    assert told["user"] == {"id": person.pk, "name": "inspector", "units": "metric"}
    assert ("record an inspection" in told["may"], "hold a job briefing" in told["may"]) == (True, False)
    assert "no-store" in answer["Cache-Control"]
    assert "Content-Encoding" not in answer
    assert dt.datetime.fromisoformat(told["server_time"]).tzinfo is not None


def test_the_token_of_hello_opens_the_door_and_nothing_else_does(db):
    client = Client(enforce_csrf_checks=True)
    client.force_login(user_with(Role.INSPECTOR))
    sent = {"data": '{"schema": 1, "device": "d", "records": []}', "content_type": "application/json"}
    assert client.post("/field/records", **sent).status_code == 403
    token = client.get("/field/hello").json()["csrf"]
    assert client.post("/field/records", **sent, headers={"X-CSRFToken": token}).json() == {"results": []}


def test_tables_are_sent_once_and_again_when_they_change(tablet, park):
    SpeciesFactory()
    first = tablet.get("/field/tables")
    assert first.json()["species"]["rows"][0][1:] == ["Quercus rubra", "northern red oak"]
    assert first.json()["rating"]
    for tag in (first["ETag"], f"W/{first['ETag']}"):
        assert tablet.get("/field/tables", headers={"If-None-Match": tag}).status_code == 304
    SpeciesFactory(botanical="Tilia cordata")
    assert tablet.get("/field/tables", headers={"If-None-Match": first["ETag"]}).status_code == 200
