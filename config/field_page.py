"""The tablet page: one shell for everybody, its service worker, and what a home screen wants to know.

The build is a hash of all that the page is made of. The worker's text names it and lists the files, so that a new
release is a new worker to the browser; a release that changed nothing here changes nothing there.
"""

import hashlib
import json
from functools import lru_cache
from pathlib import Path

from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles.storage import staticfiles_storage
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from config.settings import BASE_DIR

STATIC = BASE_DIR / "config" / "static"
SHELL = BASE_DIR / "templates" / "field" / "shell.html"
WORKER = BASE_DIR / "templates" / "field" / "worker.js"
ICONS = (
    ("img/mark.svg", "any", "image/svg+xml"),
    ("img/mark-192.png", "192x192", "image/png"),
    ("img/mark-512.png", "512x512", "image/png"),
)
BESIDE = ("css/hingewood.css", "img/mark.svg", "img/mark-180.png", "img/mark-192.png", "img/mark-512.png")


def static_names() -> list[str]:
    """All that the page is made of, by the names that static files have before a hash is put into them."""
    modules = sorted(path.relative_to(STATIC).as_posix() for path in (STATIC / "field").rglob("*.js"))
    return [*BESIDE, *modules]


def build() -> str:
    """Twelve hexadecimal digits that change with any byte of the page, its modules or its worker."""
    paths = [SHELL, WORKER, *(STATIC / name for name in static_names())]
    return _digest(tuple((path, path.stat().st_mtime_ns) for path in paths))


@lru_cache(maxsize=2)
def _digest(stamped: tuple[tuple[Path, int], ...]) -> str:
    digest = hashlib.sha256()
    for path, _ in stamped:
        digest.update(f"{path.name}\0".encode() + path.read_bytes())
    return digest.hexdigest()[:12]


@login_not_required
@require_safe
@never_cache
def shell(request: HttpRequest) -> HttpResponse:
    return render(request, "field/shell.html", {"build": build()})


@login_not_required
@require_safe
@never_cache
def worker(request: HttpRequest) -> HttpResponse:
    files = [reverse("field-page"), reverse("field-manifest"), *map(staticfiles_storage.url, static_names())]
    head = f"const BUILD = {json.dumps(build())};\nconst FILES = {json.dumps(files, indent=2)};\n\n"
    return HttpResponse(head + WORKER.read_text(), content_type="text/javascript; charset=utf-8")


@login_not_required
@require_safe
@never_cache
def manifest(request: HttpRequest) -> HttpResponse:
    about = {
        "id": reverse("field-page"),
        "name": "Hingewood Field",
        "short_name": "Field",
        "description": "Inspections and crew work among the trees, with or without signal.",
        "start_url": reverse("field-page"),
        "scope": reverse("field-page"),
        "display": "standalone",
        "background_color": "#f5f2ec",
        "theme_color": "#f5f2ec",
        "icons": [{"src": staticfiles_storage.url(name), "sizes": sizes, "type": kind} for name, sizes, kind in ICONS],
    }
    return JsonResponse(about, content_type="application/manifest+json")
