"""Signing in and out, the lock after too many tries, one's own password, the first account."""

import pytest
from django.conf import settings as project
from django.contrib.auth.models import User
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from inventory.access import Role
from inventory.models import RecordEntry
from tests.factories import user_with

pytestmark = pytest.mark.django_db

LOGIN, PASSWORD = reverse("login"), reverse("password")
RIGHT = "a long enough one"
NEW = "seven rings of oak"


@pytest.fixture
def odell():
    return user_with(Role.READER, "odell")


def sign_in(client, username="odell", password=RIGHT, **more):
    return client.post(LOGIN, {"username": username, "password": password, **more})


def test_the_right_password_opens_the_overview(client, odell):
    assert sign_in(client).url == reverse("reports:home")


def test_after_signing_in_one_lands_where_one_wanted_to_go(client, odell):
    wanted = client.get("/trees/")
    assert sign_in(client, next=wanted.url.split("next=")[1]).url == "/trees/"


def test_nobody_is_sent_off_to_another_site(client, odell):
    assert sign_in(client, next="https://evil.example/").url == reverse("reports:home")


@pytest.mark.parametrize("who", [{"password": "wrong"}, {"username": "nobody"}])
def test_a_wrong_name_or_password_gets_the_same_sentence(client, odell, who):
    response = sign_in(client, **who)
    assert response.status_code == 200
    assert "That login name and password do not belong together" in response.content.decode()


def test_a_shut_account_stays_out(client, odell):
    odell.is_active = False
    odell.save()
    assert sign_in(client).status_code == 200
    assert client.get("/trees/").status_code == 302


def test_too_many_tries_lock_the_name_with_a_page_that_says_what_to_do(client, odell):
    for _ in range(project.AXES_FAILURE_LIMIT):
        response = sign_in(client, password="wrong")
    assert response.status_code == 429
    said = response.content.decode()
    assert f"locked here after {project.AXES_FAILURE_LIMIT} wrong passwords" in said
    assert "Wait 15 minutes" in said
    assert sign_in(client).status_code == 429


def test_a_lock_does_not_keep_others_out(client, odell):
    user_with(Role.READER, "ines")
    for _ in range(project.AXES_FAILURE_LIMIT):
        sign_in(client, password="wrong")
    assert sign_in(client, username="ines").status_code == 302


def test_signing_out_ends_the_session(client, odell):
    sign_in(client)
    assert client.post(reverse("logout")).url == LOGIN
    assert client.get("/trees/").status_code == 302


@pytest.fixture
def signed_in(client, odell):
    client.force_login(odell)
    return client


def test_ones_own_password_is_changed_and_recorded(signed_in, odell):
    assert signed_in.post(PASSWORD, {"old_password": RIGHT, "password": NEW}).status_code == 302
    odell.refresh_from_db()
    assert odell.check_password(NEW)
    entry = RecordEntry.objects.get(verb="password")
    assert (entry.actor, entry.summary) == (odell, "odell changed their password.")


def test_a_changed_password_ends_the_other_sessions_only(signed_in, odell):
    elsewhere = Client()
    elsewhere.force_login(odell)
    signed_in.post(PASSWORD, {"old_password": RIGHT, "password": NEW})
    assert signed_in.get("/trees/").status_code == 200
    assert elsewhere.get("/trees/").status_code == 302


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"old_password": "wrong"}, "That is not your password"),
        ({"password": "short"}, "too short"),
        ({"password": "123456789012"}, "entirely numeric"),
    ],
)
def test_a_password_that_will_not_do_is_refused(signed_in, odell, typed, sentence):
    response = signed_in.post(PASSWORD, {"old_password": RIGHT, "password": NEW} | typed)
    assert sentence in str(response.context["form"].errors)
    odell.refresh_from_db()
    assert odell.check_password(RIGHT)


def test_the_first_account_is_made_at_the_terminal(client, monkeypatch):
    monkeypatch.setenv("DJANGO_SUPERUSER_PASSWORD", NEW)
    call_command("createsuperuser", "--noinput", username="root", email="root@alderquay.example", verbosity=0)
    assert User.objects.get(username="root").is_superuser
    sign_in(client, username="root", password=NEW)
    assert client.get(reverse("inventory:people")).status_code == 200
