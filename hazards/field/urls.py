"""Addresses of the tablet's endpoints; ``config.field`` mounts them with what all floors bring."""

from django.urls import URLPattern, path

from hazards.field import views
from hazards.field.views import Field


def field_urls(field: Field) -> tuple[list[URLPattern], str]:
    """For ``include``, under the namespace ``field``."""
    bound = {"field": field}
    patterns = [
        path("hello", views.hello, bound, name="hello"),
        path("parks", views.parks, bound, name="parks"),
        path("tables", views.tables, bound, name="tables"),
        path("pack/<str:code>", views.park_pack, bound, name="pack"),
        path("schema/<slug:kind>.json", views.schema, bound, name="schema"),
        path("records", views.records, bound, name="records"),
        path("photos", views.photos, bound, name="photos"),
    ]
    return patterns, "field"
