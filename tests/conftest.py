"""What every test may use: the cast, plain static files, loopback over plain HTTP."""

import pytest
from django.conf import settings as django_settings
from django.contrib.auth.models import AnonymousUser, User
from django.test import Client
from hypothesis import settings as hypothesis_settings

from inventory.access import Role
from inventory.record import Actor
from tests.factories import user_with

# pytest-django has read the settings before this file: an environment variable set here would come too late.
for https_setting in ("SECURE_SSL_REDIRECT", "SESSION_COOKIE_SECURE", "CSRF_COOKIE_SECURE"):
    setattr(django_settings, https_setting, False)

# Sorts out the tests that need Chromium where there is none, and says so at the end of the run.
pytest_plugins = ["tests.browser.chromium"]

# A slow machine is no failure; the same examples everywhere, so that a red run can be repeated.
hypothesis_settings.register_profile("hingewood", deadline=None, derandomize=True)
hypothesis_settings.load_profile("hingewood")


@pytest.fixture(autouse=True)
def _plain_settings(settings, tmp_path):
    settings.STORAGES = {
        **settings.STORAGES,
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    }
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.immediate.ImmediateBackend"}}


@pytest.fixture
def cast(db) -> dict[Role, User]:
    """One person a role, the same in every test."""
    return {role: user_with(role) for role in Role}


@pytest.fixture
def manager(cast) -> User:
    return cast[Role.MANAGER]


@pytest.fixture
def by_manager(manager) -> Actor:
    return Actor(manager)


@pytest.fixture
def as_role(cast):
    """A client signed in as a role: ``as_role(Role.PLANNER).get(...)``."""

    def client(role: Role) -> Client:
        signed_in = Client()
        signed_in.force_login(cast[role])
        return signed_in

    return client


@pytest.fixture
def anonymous() -> AnonymousUser:
    return AnonymousUser()
