"""Who may do what, written out by hand, held against every address that the program answers to.

Initials: I inspector, C crew lead, M manager, P planner, R reader, A administrator. A new page needs a line in `PAGES`.
"""

from collections.abc import Iterator
from uuid import UUID

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from inventory.access import Permission, Role, allowed
from tests.factories import ParkFactory, TreeFactory, user_with

INITIAL = {
    "I": Role.INSPECTOR,
    "C": Role.CREW_LEAD,
    "M": Role.MANAGER,
    "P": Role.PLANNER,
    "R": Role.READER,
    "A": Role.ADMINISTRATOR,
}
ALL = "ICMPRA"

MAY = {
    "read": ALL,
    "edit a tree": "IMA",
    "import trees": "MA",
    "record an inspection": "IM",
    "propose a removal": "IM",
    "approve or withdraw a removal": "M",
    "schedule a removal": "M",
    "make a felling plan": "CM",
    "hold a job briefing": "C",
    "report a tree felled or already down": "CM",
    "close a removal": "M",
    "propose work other than removal": "IM",
    "schedule or withdraw work other than removal": "M",
    "report work other than removal done": "ICM",
    "close an area": "ICM",
    "open a closed area again": "IM",
    "record a concern": "ICMP",
    "decide on a concern": "IM",
    "open or end a storm": "IM",
    "record what a storm did": "ICM",
    "choose species, order and plant": "P",
    "record a care visit": "ICP",
    "waive a replacement": "MP",
    "set the city's policy": "MA",
    "correct reference data": "A",
}

# Page: who may see it, who may send something to it.
PAGES = {
    "password": (ALL, ALL),
    "styleguide": (ALL, ALL),
    "inventory:edit_tree": ("IMA", "IMA"),
    "inventory:add_photo": ("IMA", "IMA"),
    "inventory:photo": (ALL, ALL),
    "inventory:imports": ("MA", "MA"),
    "inventory:import_run": ("MA", "MA"),
    "inventory:import_columns": ("MA", "MA"),
    "inventory:import_preview": ("MA", "MA"),
    "inventory:import_progress": ("MA", "MA"),
    "inventory:import_cancel": ("MA", "MA"),
    "inventory:import_refusals": ("MA", "MA"),
    "inventory:people": ("A", "A"),
    "inventory:add_person": ("A", "A"),
    "inventory:person": ("A", "A"),
    "hazards:ranking": (ALL, ALL),
    "hazards:ranking_csv": (ALL, ALL),
    "hazards:ranking_xlsx": (ALL, ALL),
    "hazards:ranking_print": (ALL, ALL),
    "hazards:keep_view": (ALL, ALL),
    "hazards:drop_view": (ALL, ALL),
    "hazards:due": (ALL, ALL),
    "hazards:rounds": (ALL, ALL),
    "hazards:park_round": (ALL, ALL),
    "hazards:watch": (ALL, ALL),
    "hazards:policy": (ALL, "MA"),
    "hazards:pests": (ALL, "IM"),
    "hazards:pest": (ALL, "IM"),
    "hazards:inspection": (ALL, ALL),
    "hazards:correct": ("IM", "IM"),
    "hazards:work": (ALL, ALL),
    "hazards:work_order": (ALL, ALL),
    "hazards:propose_work": ("IM", "IM"),
    "hazards:schedule_work": ("M", "M"),
    "hazards:work_done": ("ICM", "ICM"),
    "hazards:withdraw_work": ("M", "M"),
    "hazards:ask_look": ("IM", "IM"),
    "hazards:closures": (ALL, ALL),
    "hazards:close_area": ("ICM", "ICM"),
    "hazards:close_for_tree": ("ICM", "ICM"),
    "hazards:lift_closure": ("IM", "IM"),
    "hazards:concerns": (ALL, ALL),
    "hazards:add_concern": ("ICMP", "ICMP"),
    "hazards:concern": (ALL, "IM"),
    "hazards:keep_concern_photo": ("IM", "IM"),
    "hazards:concern_desk": (ALL, "MA"),
    "hazards:plain_answers": (ALL, ALL),
    "hazards:add_plain_answer": ("MA", "MA"),
    "hazards:plain_answer": ("MA", "MA"),
    "hazards:storms": (ALL, "IM"),
    "hazards:storm": (ALL, ALL),
    "hazards:storm_print": (ALL, ALL),
    "hazards:storm_sheet": ("ICM", "ICM"),
    "hazards:end_storm": ("IM", "IM"),
    "hazards:storm_find": (ALL, ALL),
    "hazards:deal_find": ("ICM", "ICM"),
    "hazards:close_find": ("ICM", "ICM"),
    "hazards:target_parks": (ALL, ALL),
    "hazards:targets": (ALL, "IM"),
    "hazards:edit_target": ("IM", "IM"),
    "hazards:preview": ("IM", "IM"),
    "hazards:inspect": ("IM", "IM"),
    "removals:orders": (ALL, ALL),
    "removals:order": (ALL, ALL),
    "removals:approve": ("M", "M"),
    "removals:schedule": ("M", "M"),
    "removals:withdraw": ("M", "M"),
    "removals:fell": ("CM", "CM"),
    "removals:down": ("CM", "CM"),
    "removals:lodged": ("CM", "CM"),
    "removals:clear_lodged": ("CM", "CM"),
    "removals:lodged_trees": (ALL, ALL),
    "removals:alarms": (ALL, ALL),
    "removals:near_misses": (ALL, ALL),
    "removals:learning": (ALL, ALL),
    "removals:close": ("M", "M"),
    "removals:crew": ("CM", "CM"),
    "removals:work_item": (ALL, "CM"),
    "removals:waive_item": ("M", "M"),
    "removals:reopen_item": ("CM", "CM"),
    "removals:keep": ("CM", "CM"),
    "removals:kept": (ALL, ALL),
    "removals:inspect_kept": ("IM", "IM"),
    "removals:end_kept": ("IM", "IM"),
    "removals:workers": ("M", "M"),
    "removals:add_worker": ("M", "M"),
    "removals:worker": ("M", "M"),
    "removals:plan": ("CM", "CM"),
    "removals:place": (ALL, "CM"),
    "removals:remove_thing": ("CM", "CM"),
    "removals:accept": ("M", "M"),
    "removals:take_back": ("M", "M"),
    "removals:methods": (ALL, "CM"),
    "removals:rules": (ALL, "M"),
    "removals:sheet": (ALL, ALL),
    "removals:felling_plan": (ALL, ALL),
    "removals:briefing": (ALL, "C"),
    "removals:held_briefing": (ALL, "C"),
    "removals:propose": ("IM", "IM"),
    "removals:propose_many": ("IM", "IM"),
    "removals:tree_down": ("CM", "CM"),
    "replanting:tasks": (ALL, ALL),
    "replanting:nursery_orders": (ALL, ALL),
    "replanting:new_nursery_order": ("P", "P"),
    "replanting:nursery_order": (ALL, ALL),
    "replanting:nursery_order_xlsx": (ALL, ALL),
    "replanting:receive": ("P", "P"),
    "replanting:order_again": ("P", "P"),
    "replanting:write_off": ("P", "P"),
    "replanting:plan": (ALL, "P"),
    "replanting:planting_sheet": (ALL, ALL),
    "replanting:unplan": ("P", "P"),
    "replanting:rain": (ALL, "P"),
    "replanting:care": (ALL, ALL),
    "replanting:losses": (ALL, ALL),
    "replanting:ledger": (ALL, ALL),
    "replanting:tap": ("ICP", "ICP"),
    "replanting:task": (ALL, ALL),
    "replanting:candidates": ("P", "P"),
    "replanting:choose_species": ("P", "P"),
    "replanting:order": ("P", "P"),
    "replanting:plant": ("P", "P"),
    "replanting:set_aside": ("P", "P"),
    "replanting:visit": ("ICP", "ICP"),
    "replanting:establish": ("P", "P"),
    "replanting:fail": ("P", "P"),
    "replanting:waive": ("MP", "MP"),
    "replanting:move": ("P", "P"),
    "replanting:split": ("P", "P"),
    "replanting:merge": ("P", "P"),
    "replanting:obstacle": ("P", "P"),
    "replanting:fix": ("P", "P"),
    "replanting:cleared": ("P", "P"),
    "replanting:policy": (ALL, "MA"),
    "reports:home": (ALL, ALL),
    "reports:parks": (ALL, ALL),
    "reports:parks_csv": (ALL, ALL),
    "reports:park": (ALL, ALL),
    "reports:park_csv": (ALL, ALL),
    "reports:programme": (ALL, ALL),
    "reports:programme_csv": (ALL, ALL),
    "reports:trees": (ALL, ALL),
    "reports:trees_csv": (ALL, ALL),
    "reports:labels": (ALL, ALL),
    "reports:tree": (ALL, ALL),
}

# What the tablets ask: every reader may, each record has its kind's own rule; who has not signed in is told so in JSON.
TABLET = {
    "field:hello": (ALL, ALL),
    "field:parks": (ALL, ALL),
    "field:tables": (ALL, ALL),
    "field:pack": (ALL, ALL),
    "field:schema": (ALL, ALL),
    "field:records": (ALL, ALL),
    "field:photos": (ALL, ALL),
}

# Addresses without a rule of ours, each with its reason.
WITHOUT_RULE = {
    "login": "whoever has not signed in yet must reach it",
    "logout": "leaving needs no right; Django's own",
    "units": "a choice kept on the device; changes nothing of the city's",
    "public:report": "anybody may report a tree, once the city opens the page; 404 until then",
    "public:status": "whoever knows the reference of a report; nothing personal is shown",
    "public:thanks": "the same",
    "public:find_status": "the same",
    "public:open311_discovery": "an open standard for everybody, once the city opens it; 404 until then",
    "public:open311_services": "the same",
    "public:open311_service": "the same",
    "public:open311_requests": "the same; reporting needs a key",
    "public:open311_request": "the same",
    "public:open311_token": "the same",
    "field-page": "the same bytes for everybody, so that a tablet may keep them; what it asks for has rules of its own",
    "field-worker": "the same bytes for everybody",
    "field-manifest": "the same bytes for everybody",
}
# Django's admin has one rule for all its pages, tested in test_admin.py.
OTHER_NAMESPACES = {"admin"}


def addresses(patterns: list[URLPattern | URLResolver], space: str = "") -> Iterator[tuple[str, URLPattern]]:
    for pattern in patterns:
        if isinstance(pattern, URLPattern):
            yield f"{space}{pattern.name}", pattern
        elif pattern.namespace not in OTHER_NAMESPACES:
            inner = f"{pattern.namespace}:" if pattern.namespace else ""
            yield from addresses(pattern.url_patterns, space + inner)


ADDRESSES = dict(addresses(get_resolver().url_patterns))


def roles(initials: str) -> set[Role]:
    return {INITIAL[initial] for initial in initials}


def address(name: str) -> str:
    """With a park and a tree that exist; other things are missing, which only who may come in gets to know."""
    missing = {
        "IntConverter": 0,
        "UUIDConverter": UUID(int=0),
        "StringConverter": "LG",
        "SlugConverter": "wires",
        "PathConverter": "LG-1",
    }
    converters = ADDRESSES[name].pattern.converters
    return reverse(name, kwargs={key: missing[type(value).__name__] for key, value in converters.items()})


def signed_in(person: User) -> Client:
    client = Client()
    client.force_login(person)
    return client


@pytest.fixture
def city(db):
    TreeFactory(tag="LG-1", park=ParkFactory(code="LG"))


def test_the_table_holds_every_permission():
    assert set(MAY) == {permission.value for permission in Permission}


@pytest.mark.parametrize("permission", Permission)
def test_a_permission_belongs_to_these_roles_and_no_other(cast, permission):
    assert {role for role, person in cast.items() if allowed(person, permission)} == roles(MAY[permission.value])


def test_two_roles_may_what_either_may(cast):
    person = cast[Role.READER]
    person.groups.add(*cast[Role.PLANNER].groups.all())
    person = User.objects.get(pk=person.pk)
    assert allowed(person, Permission.REPLANT)


@pytest.mark.parametrize("permission", Permission)
def test_a_superuser_may_everything_and_a_stranger_nothing(db, anonymous, permission):
    assert allowed(User(is_superuser=True), permission)
    assert not allowed(User.objects.create(username="nobody"), permission)
    assert not allowed(User(is_superuser=True, is_active=False), permission)
    assert not allowed(anonymous, permission)


def test_every_page_has_its_line_and_every_line_its_page():
    assert set(ADDRESSES) == set(PAGES) | set(TABLET) | set(WITHOUT_RULE)


@pytest.mark.parametrize("name", sorted(set(ADDRESSES) - set(WITHOUT_RULE)))
def test_every_page_carries_a_rule(name):
    assert hasattr(ADDRESSES[name].callback, "access_rule"), f"{name} needs @requires(...) as its outermost decorator"


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("name", sorted(PAGES | TABLET))
def test_a_page_opens_for_these_roles_and_no_other(city, cast, name, method):
    may = roles((PAGES | TABLET)[name][0 if method == "get" else 1])
    rule = ADDRESSES[name].callback.access_rule[0 if method == "get" else 1]
    for role, person in cast.items():
        response = getattr(signed_in(person), method)(address(name))
        assert allowed(person, rule) == (role in may), role
        assert (response.status_code != 403) == (role in may), (role, response.status_code)
        assert not response.get("Location", "").startswith(reverse("login")), role


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("name", sorted(PAGES))
def test_a_page_sends_who_has_not_signed_in_to_the_login(city, client, name, method):
    response = getattr(client, method)(address(name))
    assert (response.status_code, response["Location"].split("?")[0]) == (302, reverse("login"))


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("name", sorted(TABLET))
def test_a_tablet_whose_login_has_ended_is_told_so_in_json(city, client, name, method):
    response = getattr(client, method)(address(name))
    assert (response.status_code, response["Content-Type"]) == (401, "application/json")
    assert "Sign in first" in response.json()["errors"][0]["message"]


@pytest.mark.parametrize("name", sorted(PAGES | TABLET))
def test_a_page_is_shut_to_who_has_no_role(city, name):
    person = signed_in(User.objects.create_user("nobody"))
    assert person.get(address(name)).status_code == 403


def test_the_refusal_says_what_is_missing(city):
    page = signed_in(user_with(Role.READER)).get(address("inventory:edit_tree")).content.decode()
    assert "Your role may not edit a tree." in page
