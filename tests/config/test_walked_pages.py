"""Every page is in the list that axe walks; what is not there says why."""

from collections.abc import Iterator
from urllib.parse import urlsplit

from django.urls import URLPattern, URLResolver, get_resolver, resolve

from tests.browser.pages import SIGNED_IN, SIGNED_OUT, make_world, path_in

NO_PAGE = {
    "logout",
    "units",
    "field-worker",
    "field-manifest",
    "inventory:photo",
    "hazards:preview",
    "hazards:keep_view",
    "hazards:drop_view",
    "hazards:keep_concern_photo",
    "public:open311_discovery",
    "public:open311_services",
    "public:open311_service",
    "public:open311_requests",
    "public:open311_request",
    "public:open311_token",
    "field:hello",
    "field:pack",
    "field:parks",
    "field:photos",
    "field:records",
    "field:schema",
    "field:tables",
    "removals:remove_thing",
    "removals:take_back",
    "replanting:tap",
    "replanting:unplan",
}
FILES = {"reports:trees_csv", "reports:parks_csv", "reports:park_csv", "inventory:import_refusals"}
FILES |= {"hazards:ranking_csv", "hazards:ranking_xlsx", "reports:programme_csv", "replanting:nursery_order_xlsx"}
# Walked through, with axe, by the test of the import in the browser.
IMPORT = {f"inventory:import_{page}" for page in ("run", "columns", "preview", "progress", "cancel")}
# One template with other words: the step pages of a removal and of a replacement.
STEPS = ("order", "plant", "set_aside", "establish", "fail", "merge", "fix", "cleared", "order_again", "write_off")
SAME_FORM = {f"replanting:{step}" for step in STEPS} | {"removals:down"}


def names(patterns: list[URLPattern | URLResolver], space: str = "") -> Iterator[str]:
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            if pattern.namespace != "admin":
                yield from names(pattern.url_patterns, f"{pattern.namespace}:" if pattern.namespace else space)
        elif pattern.name:
            yield space + pattern.name


def test_axe_walks_every_page(cast) -> None:
    world = make_world(cast)
    paths = [*(path_in(world, path) for path in SIGNED_OUT), *(path_in(world, path) for _, path in SIGNED_IN)]
    walked = {resolve(urlsplit(path).path).view_name for path in paths}
    assert set(names(get_resolver().url_patterns)) - walked == NO_PAGE | FILES | IMPORT | SAME_FORM
