"""The walk of the job as navigation."""

import pytest
from django.contrib.auth.models import AnonymousUser, User
from django.test import RequestFactory

from config.navigation import Section, current, sections, walk

TREES = Section("Trees", "/trees/")


@pytest.mark.parametrize(
    ("path", "expected"),
    [("/trees/", "page"), ("/trees/ALB-0001/", "true"), ("/hazards/", ""), ("/", "")],
)
def test_a_section_is_current_on_its_own_pages(path: str, expected: str) -> None:
    assert current(TREES, path) == expected


def test_the_sections_stand_in_the_order_of_the_job() -> None:
    labels = [section.label for section in sections()]
    assert labels[:5] == ["Trees", "Hazards", "Removals", "Replanting", "Reports"]


def test_nobody_signed_in_sees_no_sections() -> None:
    request = RequestFactory().get("/login/")
    request.user = AnonymousUser()
    assert walk(request) == {}


def test_a_reader_sees_one_current_section() -> None:
    request = RequestFactory().get("/hazards/")
    request.user = User(username="reader")
    assert [entry.label for entry in walk(request)["walk"] if entry.current] == ["Hazards"]
