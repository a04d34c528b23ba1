"""Rules that every template keeps: what the content security policy would refuse is not written in the first place."""

import re
from pathlib import Path

import pytest

TEMPLATES = Path(__file__).resolve().parents[2] / "templates"
ALL = sorted(TEMPLATES.rglob("*.html"))
FORBIDDEN = {
    "a style attribute": r"\sstyle\s*=",
    "an inline style sheet": r"<style\b",
    "an inline script": r"<script(?![^>]*\bsrc=)[^>]*>(?!\s*</script>)",
    "an inline event handler": r"\son(?:click|change|submit|load|input|error|keydown)\s*=",
    "a javascript: address": r"javascript:",
    "a file from another place": r"(?:src|href)\s*=\s*[\"'](?:https?:)?//[^\"']*\.(?:js|css|woff2?)",
    "a filter that trusts its input": r"\|\s*safe\b",
}
# Help texts, the drawing of a code and our own style sheet are made by the program, never by a reader; the park's file is
# sent as a file of its own and carries its style with it.
TRUSTED = {
    ("a filter that trusts its input", "django/forms/hint.html"),
    ("a filter that trusts its input", "reports/labels.html"),
    ("a filter that trusts its input", "reports/park_file.html"),
    ("an inline style sheet", "reports/park_file.html"),
}


def test_there_are_templates_to_check() -> None:
    assert len(ALL) > 20


@pytest.mark.parametrize("rule", FORBIDDEN)
def test_no_template_has(rule: str) -> None:
    names = {path.relative_to(TEMPLATES).as_posix() for path in ALL if re.search(FORBIDDEN[rule], path.read_text())}
    assert {name for name in names if (rule, name) not in TRUSTED} == set()


@pytest.mark.parametrize("path", [path for path in ALL if path.parent.name == "components"], ids=lambda path: path.name)
def test_a_component_says_its_context_first(path: Path) -> None:
    first = path.read_text().splitlines()[0]
    assert first.startswith("{#")
    assert "ontext" in first
