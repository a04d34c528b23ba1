"""What the components say, without a browser."""

import re
from html.parser import HTMLParser

import pytest
from django import forms
from django.template.loader import render_to_string
from django.test import RequestFactory

from inventory.models import Tree
from inventory.paging import Page


class Elements(HTMLParser):
    """The opening tags of a piece of HTML, in order, with their attributes."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))

    def named(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.found if name == tag]


class Measured(forms.Form):
    diameter = forms.CharField(label="Diameter", help_text="For example 36 cm.")
    note = forms.CharField(required=False)
    lean = forms.ChoiceField(choices=[("n", "north"), ("s", "south")], widget=forms.RadioSelect)


@pytest.mark.parametrize(("rating", "bars"), [("low", 1), ("moderate", 2), ("high", 3), ("extreme", 4)])
def test_a_rating_is_a_word_with_as_many_bars_as_its_rank(rating: str, bars: int) -> None:
    html = render_to_string("components/rating.html", {"rating": rating})
    assert len(Elements(html).named("rect")) == bars
    assert rating.capitalize() in html


@pytest.mark.parametrize("rating", ["", None, "green"])
def test_what_is_no_rating_says_not_rated(rating: str | None) -> None:
    html = render_to_string("components/rating.html", {"rating": rating})
    assert "Not rated" in html
    assert "<rect" not in html


def test_a_state_of_two_words_becomes_one_class() -> None:
    html = render_to_string("components/chip.html", {"state": "dead standing"})
    assert 'class="chip chip--dead-standing"' in html
    assert "Dead standing" in html


def test_hint_and_error_are_tied_to_the_control() -> None:
    html = Measured({"diameter": ""})["diameter"].as_field_group()
    (control,) = Elements(html).named("input")
    ids = {attributes.get("id") for _, attributes in Elements(html).found}
    assert control["aria-invalid"] == "true"
    assert set((control["aria-describedby"] or "").split()) <= ids
    assert "This field is required." in html


def test_a_label_says_what_may_be_left_out() -> None:
    assert "(optional)" in Measured()["note"].as_field_group()
    assert "(optional)" not in Measured()["diameter"].as_field_group()


def test_radio_buttons_stand_in_a_fieldset_with_their_question_as_legend() -> None:
    html = Measured()["lean"].as_field_group()
    assert re.search(r"<fieldset.*?>\s*<legend>Lean\s*</legend>", html)
    assert [label["for"] for label in Elements(html).named("label")] == ["id_lean_0", "id_lean_1"]


def test_a_whole_form_uses_the_same_fields() -> None:
    assert str(Measured()).count('class="field ') == 3


def test_the_error_summary_links_each_error_to_its_field() -> None:
    html = render_to_string("components/error_summary.html", {"form": Measured({"note": "x"})})
    links = [link["href"] for link in Elements(html).named("a")]
    assert links == ["#id_diameter", "#id_lean_0"]
    assert "2 things to mend" in html


def test_the_pager_keeps_the_filters() -> None:
    request = RequestFactory().get("/trees/", {"park": "3", "page": "here"})
    page = Page[Tree]([], next="later", previous="earlier")
    html = render_to_string("components/pages.html", {"page": page}, request)
    assert [link["href"] for link in Elements(html).named("a")] == [
        "?park=3",
        "?park=3&page=earlier",
        "?park=3&page=later",
    ]


def test_one_page_needs_no_pager() -> None:
    request = RequestFactory().get("/trees/")
    html = render_to_string("components/pages.html", {"page": Page[Tree]([], next="", previous="")}, request)
    assert "<nav" not in html


def test_bars_are_drawn_to_one_scale() -> None:
    rows = [{"label": "oak", "count": 40}, {"label": "lime", "count": 10}]
    html = render_to_string("components/bars.html", {"rows": rows, "most": 40})
    assert [bar["width"] for bar in Elements(html).named("rect")] == ["1000", "250"]


def test_bars_of_nothing_are_empty() -> None:
    html = render_to_string("components/bars.html", {"rows": [{"label": "oak", "count": 0}], "most": 0})
    assert [bar["width"] for bar in Elements(html).named("rect")] == ["0"]
