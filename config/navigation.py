"""The walk of the job as the navigation of the program."""

from dataclasses import dataclass
from functools import cache
from typing import Any

from django.http import HttpRequest
from django.urls import is_valid_path


@dataclass(frozen=True)
class Section:
    label: str
    url: str


@dataclass(frozen=True)
class Entry:
    """A section as one reader sees it; ``current`` is the value of ``aria-current``, empty elsewhere."""

    label: str
    url: str
    current: str


WALK = (
    Section("Trees", "/trees/"),
    Section("Hazards", "/hazards/"),
    Section("Removals", "/removals/"),
    Section("Replanting", "/replanting/"),
    Section("Reports", "/reports/"),
    Section("Field", "/field/"),
)


@cache
def sections() -> tuple[Section, ...]:
    """Those of the walk that have a first page."""
    return tuple(section for section in WALK if is_valid_path(section.url))


def current(section: Section, path: str) -> str:
    if path == section.url:
        return "page"
    return "true" if path.startswith(section.url) else ""


def walk(request: HttpRequest) -> dict[str, Any]:
    """Context of every page: the sections, for readers who have signed in."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {}
    return {"walk": [Entry(section.label, section.url, current(section, request.path)) for section in sections()]}
