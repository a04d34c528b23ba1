"""Records of a tablet: each once, whole or not at all, refused in sentences by field."""

import datetime as dt
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone

from hazards.field.receiving import BYTES_MAX, RECORDS_MAX
from hazards.models import FieldRecord, Inspection, Target
from inventory.access import Role
from inventory.models import AppendOnlyError, Tree
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory, user_with
from tests.hazards.factories import TargetFactory
from tests.hazards.field.sending import (
    assessment,
    at,
    inspection,
    post,
    record,
    send,
    statuses,
)

HOUR_MS = 3_600_000


@pytest.fixture
def tablet(as_role) -> Client:
    return as_role(Role.INSPECTOR)


@pytest.fixture
def tree(db) -> Tree:
    return TreeFactory(tag="LG-1", park=ParkFactory(code="LG"))


@pytest.fixture
def play_area(tree) -> Target:
    return TargetFactory(park=tree.park, name="play area")


def errors_of(results) -> dict[str, str]:
    (result,) = results
    assert result["status"] == "refused", result
    return {each["field"]: each["message"] for each in result["errors"]}


def test_an_inspection_is_stored_under_its_own_id_and_rates_the_tree(tablet, tree, play_area):
    sent = inspection(tree, assessment(play_area), dbh_cm=61.5, defects=[{"part": "trunk", "kind": "cavity"}])
    (result,) = send(tablet, sent)
    assert (result["id"], result["status"], result["flags"]) == (sent["id"], "stored", [])
    tree.refresh_from_db()
    assert (tree.standing.rating, str(tree.standing.inspection_id), tree.dbh_cm) == ("high", sent["id"], 61.5)
    assert result["url"] == f"/hazards/inspections/{sent['id']}/"
    assert tablet.get(result["url"]).status_code == 200


def test_the_same_record_again_is_known_and_stored_once(tablet, tree, play_area):
    sent = inspection(tree, assessment(play_area))
    first = send(tablet, sent)[0]
    again = send(tablet, sent, sent, clock_offset_ms=900)
    assert statuses(again) == ["known", "known"]
    assert {each["number"] for each in again} == {first["number"]}
    assert Inspection.objects.count() == FieldRecord.objects.count() == 1


def test_the_same_id_with_other_content_is_a_conflict_and_changes_nothing(tablet, tree):
    sent = inspection(tree)
    send(tablet, sent)
    other = {**sent, "payload": {**sent["payload"], "condition": "dead"}}
    (result,) = send(tablet, other)
    assert (result["status"], result["errors"][0]["message"]) == (
        "conflict",
        "The server holds another record under this id; send this one under a new id.",
    )
    assert Inspection.objects.get().condition == "fair"


def test_the_payload_is_kept_as_it_was_sent_and_cannot_be_changed(tablet, tree):
    sent = inspection(tree, note="seen")
    send(tablet, sent)
    kept = FieldRecord.objects.get(pk=sent["id"])
    assert (kept.payload, kept.kind, kept.schema, kept.user.username) == (sent["payload"], "inspection", 1, "inspector")
    with pytest.raises(AppendOnlyError):
        FieldRecord.objects.update(kind="other")


def test_one_bad_record_leaves_the_others_of_its_batch_alone(tablet, tree):
    bad = inspection(tree, condition="splendid")
    results = send(tablet, inspection(tree), bad, inspection(tree))
    assert statuses(results) == ["stored", "refused", "stored"]
    assert Inspection.objects.count() == 2


def test_nothing_of_a_refused_record_stays(tablet, tree, play_area):
    other = TargetFactory(park=ParkFactory(code="QM"), name="far away")
    told = errors_of(send(tablet, inspection(tree, assessment(play_area), assessment(other))))
    assert list(told) == ["assessments.1"]
    assert "in another park" in told["assessments.1"]
    assert not Inspection.objects.exists()
    assert not FieldRecord.objects.exists()


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"condition": "splendid"}, "condition", "good, fair, poor, dying, dead"),
        ({"dbh_cm": -4}, "dbh_cm", "at least"),
        ({"dieback_pct": 140}, "dieback_pct", "at most 100"),
        ({"observed_at": "yesterday"}, "observed_at", "time with its zone"),
        ({"observed_at": "2026-05-04T09:00:00"}, "observed_at", "time with its zone"),
        ({"level": 4}, "level", "1, 2, 3"),
        ({"note": "x" * 4001}, "note", "keep it to 4000"),
        ({"note": "zero \0 byte"}, "", "no text"),
        ({"note": "half \ud83d sign"}, "", "no text"),
        ({"tree": 987_654_321}, "tree", "knows no such tree"),
        ({"tree": "oak"}, "tree", "record's id"),
        ({"colour": "green"}, "", "“colour” is not known"),
        ({"defects": [{"part": "trunk", "kind": " "}]}, "defects.0.kind", "Say it in words"),
        ({"assessments": [{"part": "trunk"}]}, "assessments.0.failure_mode", "is missing"),
    ],
)
def test_a_refusal_names_the_field_and_says_what_would_be_right(tablet, tree, changed, field, words):
    told = errors_of(send(tablet, inspection(tree, **changed)))
    assert words in told[field]


def test_a_pick_beside_the_suggestion_needs_its_reason(tablet, tree, play_area):
    told = errors_of(send(tablet, inspection(tree, assessment(play_area, impact="very low"))))
    assert "say why, or take the suggestion" in told["assessments.0"]
    good = inspection(tree, assessment(play_area, impact="very low", impact_reason="Fenced off all year."))
    assert statuses(send(tablet, good)) == ["stored"]


def test_an_observation_before_the_program_is_refused(tablet, tree):
    assert "give a day since 1950" in errors_of(send(tablet, inspection(tree, observed_at="1890-01-01T00:00:00Z")))[""]


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"id": "12"}, "id"),
        ({"id": str(uuid4())}, "id"),
        ({"recorded_at": "soon"}, "recorded_at"),
        ({"recorded_at": None}, "recorded_at"),
        ({"kind": 7}, "kind"),
        ({"kind": "weather"}, "kind"),
        ({"payload": []}, ""),
    ],
)
def test_what_is_no_record_is_refused_by_field(tablet, tree, changed, field):
    assert field in errors_of(send(tablet, {**inspection(tree), **changed}))


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"schema": 0}, "This server takes schema 1 to 1"),
        ({"schema": 2}, "brings itself up to date"),
        ({"schema": True}, "brings itself up to date"),
        ({"device": ""}, "which tablet"),
        ({"clock_offset_ms": "fast"}, "whole numbers"),
        ({"records": {}}, "list"),
    ],
)
def test_a_request_that_cannot_be_read_takes_nothing(tablet, tree, changed, words):
    answer = post(tablet, inspection(tree), **changed)
    assert answer.status_code == 400
    assert words in answer.json()["errors"][0]["message"]
    assert not Inspection.objects.exists()


@pytest.mark.parametrize("text", ["", "[]", "{", '{"records": [NaN]}', "[" * 100_000, "\xff"])
def test_what_is_no_json_is_refused_in_a_sentence(tablet, text):
    answer = tablet.post("/field/records", text, content_type="application/json")
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["message"]


def test_count_and_bytes_have_their_limits(tablet, tree):
    many = [inspection(tree)] * (RECORDS_MAX + 1)
    assert "51 records are too many at once" in post(tablet, *many).json()["errors"][0]["message"]
    large = tablet.post("/field/records", " " * (BYTES_MAX + 1), content_type="application/json")
    assert (large.status_code, "1000 kB" in large.json()["errors"][0]["message"]) == (413, True)


# ---- Trees and targets met on the walk -------------------------------------------------------------------------------


def new_tree(**changed):
    return record("tree", {"park": "LG", "lon": 8.5, "lat": 47.2, "accuracy_m": 6.0, **changed})


def new_target(**changed):
    told = {"park": "LG", "name": "Duck pond", "kind": "seating", "occupancy": "frequent", "lon": None, "lat": None}
    return record("target", {**told, **changed})


def test_a_tree_found_in_the_field_gets_a_tag_and_can_be_inspected_in_the_same_batch(tablet, tree):
    found, pond = new_tree(species=SpeciesFactory().pk, dbh_cm=33.0, note="By the pond."), new_target()
    look = inspection(found["id"], assessment(pond["id"], impact_reason="Benches under the crown."))
    results = send(tablet, look, pond, found)
    assert statuses(results) == ["stored", "stored", "stored"]
    added = Tree.objects.get(tag=results[2]["number"])
    assert (added.tag, added.park.code, added.lon, added.lat) == ("LG-N0001", "LG", 8.5, 47.2)
    assert "accurate to 6 m" in added.note
    assert added.inspections.get().assessments.get().target.name == "Duck pond"


def test_an_inspection_waits_for_the_tree_that_has_not_arrived(tablet, tree):
    found = new_tree()
    look = inspection(found["id"])
    (early,) = send(tablet, look)
    assert (early["status"], early["errors"][0]["message"]) == (
        "waiting",
        "The new tree of this record has not arrived yet; it goes first.",
    )
    send(tablet, found)
    assert statuses(send(tablet, look)) == ["stored"]


def test_two_tablets_that_meet_one_target_mean_the_same(tablet, tree):
    one, other = new_target(), new_target(name="duck  POND", occupancy="rare")
    first, second = send(tablet, one, other)
    assert (first["flags"], len(second["flags"])) == ([], 1)
    assert Target.objects.get().occupancy == "frequent"


def test_a_place_that_is_none_is_refused(tablet, tree):
    assert "lat" in errors_of(send(tablet, new_tree(lat=91)))
    assert "park" in errors_of(send(tablet, new_tree(park="XX")))
    assert "species" in errors_of(send(tablet, new_tree(species=99_999)))
    assert "position" in errors_of(send(tablet, new_target(lon=8.5)))


# ---- Conflicts, clocks, people ---------------------------------------------------------------------------------------


def test_an_inspection_of_a_tree_removed_meanwhile_is_kept_and_flagged(tablet):
    gone = TreeFactory(removed=True)
    (result,) = send(tablet, inspection(gone))
    assert result["status"] == "stored"
    assert any("removed when this arrived" in flag for flag in result["flags"])
    assert "removed when this inspection arrived" in tablet.get(result["url"]).content.decode()


def test_a_clock_far_off_is_put_right_noticed_and_shown(tablet, tree):
    """A tablet a day fast: its morning lies in our tomorrow."""
    fast = inspection(tree, observed_at=at(-24))
    (result,) = send(tablet, fast, clock_offset_ms=-24 * HOUR_MS)
    assert "The tablet's clock was 1 d fast; its times were put right by that." in result["flags"]
    assert abs(Inspection.objects.get().observed_at - timezone.now()) < dt.timedelta(minutes=1)
    assert "clock was 1 d fast" in tablet.get(result["url"]).content.decode().replace("&#x27;", "'")


def test_a_clock_a_few_minutes_off_is_left_alone(tablet, tree):
    sent = inspection(tree, observed_at="2026-05-04T09:00:00Z")
    assert send(tablet, sent, clock_offset_ms=5 * 60_000)[0]["flags"] == []
    assert Inspection.objects.get().observed_at == dt.datetime(2026, 5, 4, 9, tzinfo=dt.UTC)


def test_a_time_in_the_future_that_nothing_explains_is_taken_as_of_now_and_flagged(tablet, tree):
    (result,) = send(tablet, inspection(tree, observed_at=at(-30)), clock_offset_ms=None)
    assert (result["status"], len(result["flags"])) == ("stored", 1)
    assert Inspection.objects.get().observed_at <= timezone.now()


def test_a_correction_supersedes_and_may_come_in_one_batch_with_what_it_corrects(tablet, tree, play_area):
    wrong = inspection(tree, assessment(play_area, failure="imminent"))
    right = inspection(tree, assessment(play_area, failure="possible"), supersedes=wrong["id"])
    assert statuses(send(tablet, right)) == ["waiting"]
    assert statuses(send(tablet, right, wrong)) == ["stored", "stored"]
    tree.refresh_from_db()
    assert str(tree.standing.inspection_id) == right["id"]
    assert Inspection.objects.count() == 2


def test_two_people_at_one_tree_within_hours_are_told_and_shown(tablet, tree):
    colleague = Client()
    colleague.force_login(user_with(Role.INSPECTOR, "wren"))
    send(tablet, inspection(tree, observed_at=at(2)))
    (result,) = send(colleague, inspection(tree, observed_at=at(1)))
    assert any("looked at this tree within 4 hours" in flag for flag in result["flags"])
    assert "Two looks within 4 hours" in tablet.get("/trees/LG-1/").content.decode()


def test_one_person_may_look_twice(tablet, tree):
    send(tablet, inspection(tree, observed_at=at(2)))
    assert send(tablet, inspection(tree, observed_at=at(1)))[0]["flags"] == []


def test_looks_far_apart_are_nobodys_concern(tablet, tree):
    colleague = Client()
    colleague.force_login(user_with(Role.INSPECTOR, "wren"))
    send(tablet, inspection(tree, observed_at=at(9)))
    assert send(colleague, inspection(tree, observed_at=at(1)))[0]["flags"] == []
    assert "Two looks within" not in tablet.get("/trees/LG-1/").content.decode()


def test_another_users_outbox_is_not_taken_under_this_name(tablet, tree, cast):
    (result,) = send(tablet, inspection(tree), user=cast[Role.MANAGER].pk)
    assert result["status"] == "forbidden"
    assert "somebody else" in result["errors"][0]["message"]
    assert not Inspection.objects.exists()
    assert statuses(send(tablet, inspection(tree), user=cast[Role.INSPECTOR].pk)) == ["stored"]


def test_a_role_that_may_not_inspect_is_told_so(as_role, tree):
    (result,) = send(as_role(Role.CREW_LEAD), inspection(tree))
    assert (result["status"], result["errors"][0]["message"]) == (
        "forbidden",
        "Your role may not record an inspection.",
    )


def test_a_server_that_fails_on_one_record_keeps_the_rest_and_asks_for_it_again(tablet, tree, monkeypatch):
    from hazards.field import kinds

    first, second, third = (inspection(tree) for _ in range(3))
    real = kinds.record_inspection

    def failing(*, by, report):
        real_answer = real(by=by, report=report)
        if str(report.id) == second["id"]:
            raise RuntimeError("the disk is full")
        return real_answer

    monkeypatch.setattr(kinds, "record_inspection", failing)
    assert statuses(send(tablet, first, second, third)) == ["stored", "trouble", "stored"]
    monkeypatch.setattr(kinds, "record_inspection", real)
    assert statuses(send(tablet, first, second, third)) == ["known", "stored", "known"]


def test_records_are_noted_as_come_from_a_tablet(tablet, tree):
    send(tablet, inspection(tree))
    assert tree.record.get().via == "tablet"


def test_a_record_is_taken_in_a_bounded_number_of_questions(tablet, tree, play_area, django_assert_max_num_queries):
    send(tablet, inspection(tree))
    sent = inspection(tree, assessment(play_area), defects=[{"part": "trunk", "kind": "cavity"}])
    with django_assert_max_num_queries(36):
        send(tablet, sent)
