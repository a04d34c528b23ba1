"""Concerns: taken in, matched to a tree, decided on by one person at a time, forgotten on their day."""

import datetime as dt

import pytest
import time_machine
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone
from pyproj import Geod
from uuid_utils.compat import uuid7

from hazards import concerns
from hazards.concern_desk import answers, desk, keep_answer, offered, set_desk
from hazards.concerns import Told, receive
from hazards.models import Concern, ConcernSource, ConcernState, Seen, Standing
from hazards.nearest import nearest_trees
from hazards.plain_answers import BROUGHT
from inventory.access import Role
from inventory.cells import cell
from inventory.errors import Refused
from inventory.models import Photo, RecordEntry, Tree
from inventory.record import COMMAND, Actor
from tests.factories import ParkFactory, TreeFactory
from tests.hazards.at_once import at_once
from tests.hazards.factories import inspect
from tests.inventory.test_photos import picture

NOW = dt.datetime(2026, 6, 10, 12, 0, tzinfo=dt.UTC)
LON, LAT = 8.5, 47.2
NEW = ConcernState.NEW.value
PUBLIC = Actor(via="public page")


@pytest.fixture(autouse=True)
def _in_june():
    with time_machine.travel(NOW, tick=False):
        yield


def placed(lon: float = LON, lat: float = LAT, **facts) -> Tree:
    return TreeFactory(lon=lon, lat=lat, cell=cell(lon, lat), **facts)


def told(**facts) -> Concern:
    source = facts.pop("source", ConcernSource.PUBLIC)
    by = COMMAND if source == ConcernSource.STAFF else PUBLIC
    usual = {
        "seen": Seen.BROKEN,
        "description": "It hangs over the bench.",
        "place": "East gate",
        "contact": "a@b.example",
    }
    return receive(by=by, told=Told(**{**usual, **facts}), source=source)


@pytest.mark.django_db
class TestTakingIn:
    def test_nothing_personal_reaches_the_record_that_is_never_erased(self):
        told(photo=picture())
        kept = " ".join(f"{entry.summary} {entry.data}" for entry in RecordEntry.objects.all())
        for word in ("a@b.example", "bench", "East gate"):
            assert word not in kept

    def test_the_same_id_is_kept_once(self):
        known = uuid7()
        first = [
            receive(by=PUBLIC, told=Told(Seen.DEAD, place="x"), source=ConcernSource.PUBLIC, id=known) for _ in "ab"
        ]
        assert first[0] == first[1]

    @pytest.mark.parametrize(
        ("facts", "sentence"),
        [
            ({"place": " "}, "Say where the tree stands"),
            ({"place": "x" * 201}, "up to 200"),
            ({"contact": "x" * 201}, "up to 200"),
            ({"description": "x" * 2001}, "up to 2000"),
        ],
    )
    def test_refuses(self, facts, sentence):
        with pytest.raises(Refused, match=sentence):
            told(**facts)

    def test_a_colleague_needs_the_permission(self, cast):
        with pytest.raises(Refused, match="may not record a concern"):
            receive(by=Actor(cast[Role.READER]), told=Told(Seen.DEAD, place="x"), source=ConcernSource.STAFF)

    def test_a_reference_has_no_letters_that_are_taken_for_digits(self):
        references = "".join(told().reference for _ in range(30))
        assert not set(references) & set("01IOL")


@pytest.mark.django_db
class TestMatching:
    """Distances are those of pyproj's Geod on WGS 84 (Karney 2013)."""

    def test_the_nearest_tree_is_suggested_and_a_person_decides(self):
        far, near = placed(LON + 2e-4, LAT), placed(LON + 1e-4, LAT)
        concern = told(lon=LON, lat=LAT)
        assert (concern.tree, concern.tree_is_sure, concern.park) == (near, False, near.park)
        concern = concerns.match(by=COMMAND, concern=concern, tree=far)
        assert (concern.tree, concern.tree_is_sure, concern.park) == (far, True, far.park)

    def test_a_tree_too_far_away_is_not_suggested(self):
        placed(LON, LAT + 4e-4)  # 44 m
        assert told(lon=LON, lat=LAT).tree is None

    def test_a_removed_tree_is_not_suggested(self):
        placed(removed=True)
        assert told(lon=LON, lat=LAT).tree is None

    @pytest.mark.parametrize(("lon", "lat"), [(8.5, 47.2), (-179.99995, 10.0), (20.0, 69.9), (0.0, 0.0)])
    def test_all_within_the_radius_are_found_nearest_first(self, lon, lat):
        geod = Geod(ellps="WGS84")
        expected = []
        for n in range(24):
            there_lon, there_lat, _ = geod.fwd(lon, lat, n * 15.0, 10.0 + 4.0 * n)
            tree = placed(there_lon, there_lat)
            distance = geod.inv(lon, lat, tree.lon, tree.lat)[2]
            if distance <= 60:
                expected.append((distance, tree.tag))
        found = nearest_trees(lon, lat, within_m=60, most=50)
        assert [near.tree.tag for near in found] == [tag for _, tag in sorted(expected)]
        assert [near.distance_m for near in found] == pytest.approx([distance for distance, _ in sorted(expected)])

    def test_the_search_walks_the_index_of_cells(self, django_assert_max_num_queries):
        for n in range(30):
            placed(LON + n * 1e-5, LAT)
        with django_assert_max_num_queries(1):
            assert len(nearest_trees(LON, LAT)) == 5


@pytest.mark.django_db
class TestDeciding:
    def test_an_answer_closes_it(self, by_manager):
        concern = concerns.answer(by=by_manager, concern=told(), seen=NEW, text="These are galls.")
        assert (concern.state, concern.answer, concern.decided_by) == ("answered", "These are galls.", by_manager.user)

    def test_an_inspection_is_asked_for_at_its_tree(self):
        concern = told(tree=placed())
        due = timezone.localdate() + dt.timedelta(days=9)
        concern = concerns.send_inspector(by=COMMAND, concern=concern, seen=NEW, due_on=due, level=2)
        assert concern.state == "inspection"
        assert Standing.objects.get(tree=concern.tree).inspect_due == due
        inspect(concern.tree, observed_at=NOW)
        concern.asked.refresh_from_db()
        assert concern.asked.met_by is not None

    def test_an_inspection_needs_a_tree(self):
        with pytest.raises(Refused, match="Say first which tree it is"):
            concerns.send_inspector(by=COMMAND, concern=told(), seen=NEW, due_on=timezone.localdate())
        assert Concern.objects.get().state == NEW

    def test_urgent_is_due_today(self):
        concern = concerns.make_urgent(by=COMMAND, concern=told(tree=placed()), seen=NEW)
        assert Standing.objects.get(tree=concern.tree).inspect_due == timezone.localdate()

    def test_urgent_waits_for_no_tree(self):
        assert concerns.make_urgent(by=COMMAND, concern=told(), seen=NEW).state == "urgent"

    @pytest.mark.parametrize(
        ("first", "then"), [("answer", "urgent"), ("answer", "look"), ("look", "urgent"), ("urgent", "answer")]
    )
    def test_a_decision_may_be_followed_by_a_graver_one_or_by_the_answer(self, first, then):
        acts = {
            "answer": lambda concern: concerns.answer(by=COMMAND, concern=concern, seen=concern.state, text="x"),
            "urgent": lambda concern: concerns.make_urgent(by=COMMAND, concern=concern, seen=concern.state),
            "look": lambda concern: concerns.send_inspector(
                by=COMMAND, concern=concern, seen=concern.state, due_on=timezone.localdate()
            ),
        }
        concern = acts[then](acts[first](told(tree=placed())))
        assert concern.state == {"answer": "answered", "urgent": "urgent", "look": "inspection"}[then]

    def test_urgent_does_not_become_an_ordinary_inspection(self):
        concern = concerns.make_urgent(by=COMMAND, concern=told(tree=placed()), seen=NEW)
        with pytest.raises(Refused, match="does not follow any more: it is urgent"):
            concerns.send_inspector(by=COMMAND, concern=concern, seen="urgent", due_on=timezone.localdate())

    def test_spam_is_emptied_at_once(self):
        concern = concerns.drop_spam(by=COMMAND, concern=told(photo=picture(), lon=LON, lat=LAT), seen=NEW)
        concern.refresh_from_db()
        assert (concern.description, concern.place, concern.contact, concern.lon) == ("", "", "", None)
        assert not Photo.objects.exists()

    def test_needs_the_permission(self, cast):
        with pytest.raises(Refused, match="may not decide on a concern"):
            concerns.answer(by=Actor(cast[Role.CREW_LEAD]), concern=told(), seen=NEW, text="x")

    def test_a_photo_that_somebody_has_looked_at_stays_with_the_tree(self):
        concern = told(photo=picture(), tree=placed())
        photo = Photo.objects.get()
        assert photo.tree is None
        concerns.keep_photo_with_tree(by=COMMAND, concern=concern, photo=photo)
        assert list(concern.tree.photos.all()) == [photo]


@pytest.mark.django_db(transaction=True)
def test_of_two_people_who_decide_at_once_the_second_is_told():
    concern = told(tree=placed())
    raised = at_once(
        lambda: concerns.answer(by=COMMAND, concern=concern, seen=NEW, text="These are galls."),
        lambda: concerns.make_urgent(by=COMMAND, concern=concern, seen=NEW),
    )
    assert len(raised) == 1
    assert "has decided on this concern meanwhile" in str(raised[0])
    assert RecordEntry.objects.filter(verb__startswith="concern: ").count() == 1


@pytest.mark.django_db
class TestForgetting:
    def test_the_contact_and_unused_photos_go_on_their_day(self, django_capture_on_commit_callbacks):
        kept, lost = told(photo=picture(), tree=placed()), told(photo=picture(colour="olive"))
        concerns.keep_photo_with_tree(by=COMMAND, concern=kept, photo=Photo.objects.get(about=kept.pk))
        gone = Photo.objects.get(about=lost.pk)
        with time_machine.travel(NOW + dt.timedelta(days=89, hours=23), tick=False):
            assert concerns.forget() == 0
        with (
            time_machine.travel(NOW + dt.timedelta(days=90), tick=False),
            django_capture_on_commit_callbacks(execute=True),
        ):
            assert concerns.forget() == 2
            assert concerns.forget() == 0
        assert set(Concern.objects.values_list("contact", flat=True)) == {""}
        assert list(Photo.objects.all()) == list(kept.tree.photos.all())
        assert not gone.image.storage.exists(gone.image.name)
        assert RecordEntry.objects.filter(verb="forgot a contact").count() == 2

    def test_the_promise_made_to_a_person_holds_when_the_setting_changes(self):
        concern = told()
        set_desk(by=COMMAND, seen=0, page_open=False, open311_open=False, emergency_number="", contact_days=365)
        assert concern.forget_at == NOW + dt.timedelta(days=90)
        assert told().forget_at == NOW + dt.timedelta(days=365)

    def test_a_command_forgets(self, capsys):
        told()
        with time_machine.travel(NOW + dt.timedelta(days=91), tick=False):
            call_command("forget_contacts")
        assert capsys.readouterr().out == "1 contact erased.\n"

    def test_whoever_opens_the_list_forgets(self, as_role):
        told()
        with time_machine.travel(NOW + dt.timedelta(days=91), tick=False):
            as_role(Role.READER).get(reverse("hazards:concerns"))
        assert Concern.objects.get().contact == ""


@pytest.mark.django_db
class TestDeskAndAnswers:
    def test_all_is_shut_until_the_city_opens_it(self):
        assert (desk().page_open, desk().open311_open) == (False, False)

    def test_who_changed_what_is_recorded(self, by_manager):
        set_desk(by=by_manager, seen=0, page_open=True, open311_open=False, emergency_number="999", contact_days=30)
        entry = RecordEntry.objects.get(verb="set concerns")
        assert entry.actor == by_manager.user
        assert entry.data["changes"]["contact_days"] == [90, 30]

    def test_of_two_who_change_it_the_second_is_told(self, by_manager):
        given = {"page_open": False, "open311_open": False, "emergency_number": "999"}
        set_desk(by=by_manager, seen=0, contact_days=30, **given)
        with pytest.raises(Refused, match="changed while this page was open"):
            set_desk(by=by_manager, seen=0, contact_days=60, **given)

    def test_the_page_does_not_open_without_an_emergency_number(self):
        with pytest.raises(Refused, match="Give the emergency number"):
            set_desk(by=COMMAND, seen=0, page_open=True, open311_open=False, emergency_number=" ", contact_days=30)

    def test_the_city_words_an_answer_anew_and_drops_another(self):
        keep_answer(by=COMMAND, slug="lichen", title="Crusts", text="Lichen. No harm.")
        keep_answer(by=COMMAND, slug="ivy", title="Ivy", text="x", used=False)
        by_slug = {answer.slug: answer for answer in offered()}
        assert by_slug["lichen"].text == "Lichen. No harm."
        assert "ivy" not in by_slug
        assert len(answers()) == len(BROUGHT)

    def test_the_city_adds_an_answer_once(self):
        keep_answer(by=COMMAND, title="Cones on the path", text="They fall in autumn.")
        with pytest.raises(Refused, match="already"):
            keep_answer(by=COMMAND, title="Cones on the path", text="Again.")

    def test_the_answers_it_brings_are_short_and_leave_a_door_open(self):
        for answer in BROUGHT:
            assert len(answer.text) <= 400, answer.slug
            assert len(answer.slug) <= 40


@pytest.mark.django_db
class TestPages:
    def test_the_contact_is_shown_to_who_decides_only(self, as_role):
        page = reverse("hazards:concern", args=[told().pk])
        assert "a@b.example" in as_role(Role.INSPECTOR).get(page).content.decode()
        assert "a@b.example" not in as_role(Role.READER).get(page).content.decode()

    def test_a_plain_answer_is_picked_and_sent(self, as_role):
        concern, inspector = told(), as_role(Role.INSPECTOR)
        page = reverse("hazards:concern", args=[concern.pk])
        shown = inspector.get(page, {"plain": "lichen"}).context["forms"]["answer"]
        inspector.post(page, {"decide": "answer", "answer-state": NEW, "answer-text": shown.initial["text"]})
        concern.refresh_from_db()
        assert concern.answer.startswith("These are lichens.")

    def test_somebody_else_was_faster(self, as_role):
        concern, inspector = told(), as_role(Role.INSPECTOR)
        concerns.make_urgent(by=COMMAND, concern=concern, seen=NEW)
        page = reverse("hazards:concern", args=[concern.pk])
        answer = inspector.post(page, {"decide": "answer", "answer-state": NEW, "answer-text": "x"})
        assert answer.status_code == 409
        assert "has decided on this concern meanwhile: it is urgent" in answer.content.decode()

    @pytest.mark.parametrize(
        ("query", "found"),
        [("", 2), ("?state=urgent", 1), ("?state=all", 3), ("?state=all&park=ALB", 1), ("?state=x", 2)],
    )
    def test_the_list_filters(self, as_role, query, found):
        told()
        told(park=ParkFactory(code="ALB"))
        concerns.make_urgent(by=COMMAND, concern=told(), seen=NEW)
        assert len(as_role(Role.READER).get(reverse("hazards:concerns") + query).context["page"].rows) == found

    def test_pages_by_key_and_costs_the_same_for_many(self, as_role, django_assert_max_num_queries):
        for _ in range(55):
            told(park=ParkFactory(code="ALB"), description="", contact="")
        reader = as_role(Role.READER)
        with django_assert_max_num_queries(10):
            first = reader.get(reverse("hazards:concerns"))
        second = reader.get(reverse("hazards:concerns"), {"page": first.context["page"].next})
        seen = [row.pk for answer in (first, second) for row in answer.context["page"].rows]
        assert seen == list(Concern.objects.values_list("pk", flat=True))

    def test_a_colleague_takes_one_in_by_its_tag(self, as_role):
        tree = placed(tag="LG-7")
        as_role(Role.PLANNER).post(reverse("hazards:add_concern"), {"seen": "dead", "tag": "lg-7"})
        concern = Concern.objects.get()
        assert (concern.tree, concern.tree_is_sure, concern.source) == (tree, True, "staff")

    def test_urgent_stands_first_on_the_first_page(self, as_role):
        concerns.make_urgent(by=COMMAND, concern=told(), seen=NEW)
        tiles = as_role(Role.INSPECTOR).get("/").context["mine"]
        assert tiles[0].label == "Urgent concerns"
