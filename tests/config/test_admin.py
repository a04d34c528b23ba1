"""The admin: for administrators, for reference data, each save in the record."""

import pytest
from django.contrib import admin
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from config.admin import site
from hazards.models import Target
from inventory.access import Role
from inventory.models import Park, RecordEntry, Species
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory
from tests.hazards.factories import TargetFactory

pytestmark = pytest.mark.django_db

INDEX = reverse("admin:index")
PARK = {"code": "LG", "name": "Lantern Green", "hardiness_zone": "6a"}


@pytest.fixture
def clerk(as_role):
    return as_role(Role.ADMINISTRATOR)


def page(model, view: str, *args) -> str:
    return reverse(f"admin:{model._meta.label_lower.replace('.', '_')}_{view}", args=args)


def test_only_reference_data_and_the_record_are_there():
    assert set(site._registry) == {Park, Species, Target, RecordEntry}


def test_nothing_else_is_served_by_djangos_own_site():
    assert not admin.site._registry


@pytest.mark.parametrize("role", [role for role in Role if role is not Role.ADMINISTRATOR])
def test_other_roles_are_refused(as_role, role):
    client = as_role(role)
    for address in (INDEX, page(Park, "changelist"), page(Park, "add")):
        assert client.get(address, follow=True).status_code == 403


def test_who_has_not_signed_in_comes_through_the_one_door(client):
    response = client.get(page(Park, "changelist"), follow=True)
    assert response.redirect_chain[-1][0] == f"{reverse('login')}?next={page(Park, 'changelist')}"


def test_a_staff_flag_alone_opens_nothing():
    client = Client()
    client.force_login(User.objects.create_user("staff", is_staff=True))
    assert client.get(INDEX, follow=True).status_code == 403


def test_an_administrator_and_a_superuser_come_in(clerk):
    root = Client()
    root.force_login(User.objects.create_superuser("root"))
    assert {clerk.get(INDEX).status_code, root.get(INDEX).status_code} == {200}


@pytest.mark.parametrize("model", [Park, Species, Target, RecordEntry])
def test_each_list_opens(clerk, model):
    TargetFactory(park=ParkFactory(code="LG"))
    SpeciesFactory()
    assert clerk.get(page(model, "changelist"), {"q": "LG"}).status_code == 200


def test_a_correction_is_kept_and_recorded(clerk, cast):
    park = ParkFactory(code="LG", name="Lanten Green")
    assert clerk.post(page(Park, "change", park.pk), PARK).status_code == 302
    park.refresh_from_db()
    assert park.name == "Lantern Green"
    entry = RecordEntry.objects.get(verb="reference")
    assert (entry.actor, entry.via, entry.subject_id) == (cast[Role.ADMINISTRATOR], "web", str(park.pk))
    assert entry.data["changes"]["name"] == ["Lanten Green", "Lantern Green"]


def test_an_addition_is_recorded(clerk):
    clerk.post(page(Park, "add"), PARK)
    assert RecordEntry.objects.get(verb="reference").summary == "Added the park Lantern Green."


def test_a_target_can_be_corrected(clerk):
    target = TargetFactory(park=ParkFactory(code="LG"), name="bench")
    clerk.post(
        page(Target, "change", target.pk),
        {"park": target.park_id, "name": "bench", "kind": "seating", "occupancy": "rare"},
    )
    target.refresh_from_db()
    assert (target.kind, target.occupancy) == ("seating", "rare")


def test_a_park_code_that_cannot_be_is_refused_on_the_page(clerk):
    response = clerk.post(page(Park, "add"), PARK | {"code": "lantern green"})
    assert response.status_code == 200
    assert not Park.objects.exists()


def test_a_boundary_is_left_alone(clerk):
    boundary = {"type": "Polygon", "coordinates": [[[0, 0], [0, 1], [1, 1], [0, 0]]]}
    park = ParkFactory(code="LG", boundary=boundary, area_m2=5.0)
    clerk.post(page(Park, "change", park.pk), PARK)
    park.refresh_from_db()
    assert (park.boundary, park.area_m2) == (boundary, 5.0)


@pytest.mark.parametrize("model", [Park, Species, Target, RecordEntry])
def test_nothing_is_deleted(clerk, model):
    TargetFactory(park=ParkFactory(code="LG"))
    SpeciesFactory()
    clerk.post(page(Park, "add"), PARK | {"code": "MW"})
    thing = model.objects.first()
    assert clerk.post(page(model, "delete", thing.pk), {"post": "yes"}).status_code == 403
    assert model.objects.filter(pk=thing.pk).exists()


def test_the_record_is_read_and_not_written(clerk, by_manager):
    clerk.post(page(Park, "add"), PARK)
    entry = RecordEntry.objects.get(verb="reference")
    assert clerk.get(page(RecordEntry, "change", entry.pk)).status_code == 200
    assert clerk.post(page(RecordEntry, "change", entry.pk), {"summary": "Nothing."}).status_code == 403
    assert clerk.get(page(RecordEntry, "add")).status_code == 403


def test_the_record_of_a_tree_is_found_by_its_tag(clerk):
    TreeFactory(tag="LG-1")
    assert clerk.get(page(RecordEntry, "changelist"), {"q": "LG-1"}).status_code == 200


def test_the_admins_own_password_page_is_the_programs(clerk):
    assert clerk.get(reverse("admin:password_change")).url == reverse("password")
