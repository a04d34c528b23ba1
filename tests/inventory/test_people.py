"""Accounts and roles, kept by the administrator."""

import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.urls import reverse

from inventory.access import Permission, Role, allowed
from inventory.models import RecordEntry
from tests.factories import user_with

pytestmark = pytest.mark.django_db

PEOPLE, ADD = reverse("inventory:people"), reverse("inventory:add_person")
GOOD = "seven rings of oak"


@pytest.fixture
def admin(as_role):
    return as_role(Role.ADMINISTRATOR)


def address(person: User) -> str:
    return reverse("inventory:person", args=[person.pk])


def fresh(person: User) -> User:
    """As another request sees them."""
    return User.objects.get(pk=person.pk)


def roles(person: User) -> set[str]:
    return set(person.groups.values_list("name", flat=True))


def test_the_page_lists_people_with_their_roles(admin):
    user_with(Role.PLANNER, "odell")
    page = admin.get(PEOPLE).content.decode()
    assert "odell" in page
    assert "Planner" in page


def test_the_page_asks_the_same_number_of_questions_however_many_people(admin, django_assert_max_num_queries):
    for number in range(20):
        user_with(Role.INSPECTOR, f"inspector-{number}")
    with django_assert_max_num_queries(7):
        admin.get(PEOPLE)


def test_a_new_person_can_sign_in_with_their_role(admin, client):
    typed = {"username": "odell", "first_name": "Odell", "password": GOOD, "roles": ["inspector", "planner"]}
    assert admin.post(ADD, typed).url == PEOPLE
    odell = User.objects.get(username="odell")
    assert client.post(reverse("login"), {"username": "odell", "password": GOOD}).url == reverse("reports:home")
    assert roles(odell) == {"inspector", "planner"}
    assert allowed(odell, Permission.INSPECT)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"username": "MANAGER"}, "The login name MANAGER is taken"),
        ({"username": "a b"}, "Enter a valid username"),
        ({"password": "short"}, "too short"),
        ({"password": "password1234"}, "too common"),
        ({"password": "odell-marrow-1"}, "too similar"),
        ({"roles": ["king"]}, "king is not one of the available choices"),
    ],
)
def test_what_cannot_be_right_is_refused(admin, typed, sentence):
    usual = {"username": "odell-marrow", "password": GOOD, "roles": ["reader"]}
    response = admin.post(ADD, usual | typed)
    assert sentence in str(response.context["form"].errors)
    assert not User.objects.filter(username="odell-marrow").exists()


def test_roles_are_given_and_taken(admin):
    person = user_with(Role.PLANNER, "odell")
    admin.post(address(person), {"roles": ["crew lead"], "active": "on"})
    assert roles(person) == {"crew lead"}


def test_a_shut_account_is_out_at_once(admin, client):
    person = user_with(Role.MANAGER, "odell")
    client.force_login(person)
    admin.post(address(person), {"roles": ["manager"]})
    assert client.get("/trees/").status_code == 302
    assert not allowed(fresh(person), Permission.READ)


def test_a_lost_password_is_replaced(admin):
    person = user_with(Role.READER, "odell")
    admin.post(address(person), {"roles": ["reader"], "active": "on", "password": GOOD})
    assert fresh(person).check_password(GOOD)


def test_a_page_saved_untouched_changes_and_records_nothing(admin):
    person = user_with(Role.READER, "odell")
    before = RecordEntry.objects.count()
    admin.post(address(person), {"roles": ["reader"], "active": "on"})
    assert RecordEntry.objects.count() == before


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"roles": ["administrator"]}, "You cannot shut your own account"),
        ({"roles": ["reader"], "active": "on"}, "You cannot give away your own administration"),
    ],
)
def test_an_administrator_does_not_lock_the_key_in(admin, cast, typed, sentence):
    me = cast[Role.ADMINISTRATOR]
    response = admin.post(address(me), typed)
    assert response.status_code == 409
    assert sentence in response.content.decode()
    assert (fresh(me).is_active, roles(me)) == (True, {"administrator"})


def test_an_administrator_does_not_take_over_a_superuser(admin):
    root = User.objects.create_superuser("root", password=GOOD)
    response = admin.post(address(root), {"active": "on", "password": "another long one"})
    assert response.status_code == 409
    assert fresh(root).check_password(GOOD)


def test_what_was_done_to_an_account_is_recorded_without_the_password(admin, cast):
    admin.post(ADD, {"username": "odell", "password": GOOD, "roles": ["reader"]})
    odell = User.objects.get(username="odell")
    admin.post(address(odell), {"roles": ["planner"], "password": "another long one"})
    entries = RecordEntry.objects.filter(subject_type="auth.user", subject_id=str(odell.pk)).order_by("pk")
    assert [entry.summary for entry in entries] == [
        "Added odell, reader.",
        "odell: now planner; account shut; new password set.",
    ]
    assert {entry.actor for entry in entries} == {cast[Role.ADMINISTRATOR]}
    assert GOOD not in str([entry.data for entry in entries])


def test_a_role_is_given_from_the_terminal_once(capsys):
    person = User.objects.create_user("odell")
    for _ in range(2):
        call_command("give_role", "odell", "crew lead")
    assert roles(person) == {"crew lead"}
    assert RecordEntry.objects.filter(verb="role").count() == 1
    assert "odell is crew lead." in capsys.readouterr().out


def test_the_terminal_names_what_is_wrong():
    with pytest.raises(CommandError, match="Nobody signs in as odell"):
        call_command("give_role", "odell", "manager")
    with pytest.raises(CommandError, match="king"):
        call_command("give_role", "odell", "king")
