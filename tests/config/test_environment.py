"""A wrong value in the environment is refused with what would be right, before anything starts."""

import pytest
from django.core.exceptions import ImproperlyConfigured

from config import environment

NAME = "HINGEWOOD_TRIED_HERE"


@pytest.mark.parametrize(("text", "meant"), [("on", True), ("YES", True), ("0", False), ("off", False), ("", True)])
def test_a_switch(monkeypatch, text, meant):
    monkeypatch.setenv(NAME, text)
    assert environment.switch(NAME, default=True) is meant


def test_nothing_said_takes_the_default(monkeypatch):
    monkeypatch.delenv(NAME, raising=False)
    assert environment.choice(NAME, "metric", "us") == "metric"
    assert environment.whole_number(NAME, 7) == 7
    assert environment.time_zone(NAME, "UTC") == "UTC"


@pytest.mark.parametrize(
    ("read", "text", "remedy"),
    [
        (lambda: environment.switch(NAME, default=False), "perhaps", "write on or off"),
        (lambda: environment.choice(NAME, "metric", "us"), "furlongs", "write metric or us"),
        (lambda: environment.whole_number(NAME, 512), "-3", "write a whole number, for example 512"),
        (lambda: environment.time_zone(NAME, "UTC"), "Moon/Tranquility", "for example Europe/Lisbon"),
        (lambda: environment.time_zone(NAME, "UTC"), "../../etc", "for example Europe/Lisbon"),
    ],
)
def test_what_cannot_be_right_is_refused_with_the_remedy(monkeypatch, read, text, remedy):
    monkeypatch.setenv(NAME, text)
    with pytest.raises(ImproperlyConfigured, match=remedy):
        read()
