"""Storms and concerns walked in the browser: by the office, by a tablet with signal, and by somebody without a login."""

import pytest
from playwright.sync_api import expect

from hazards import concerns
from hazards.concern_desk import set_desk
from hazards.concerns import Told, receive
from hazards.models import Closure, Concern, ConcernSource, Seen, Standing, StormEvent, StormFind
from hazards.storms import open_event
from inventory.access import Role
from inventory.models import Photo
from inventory.record import COMMAND, Actor
from tests.browser.chromium import PHONE, TABLET
from tests.browser.field_park import HERE
from tests.factories import ParkFactory, TreeFactory


@pytest.fixture
def tree(cast):
    return TreeFactory(tag="LG-1", park=ParkFactory(code="LG", name="Lantern Green"), lon=8.5, lat=47.2, cell=0)


@pytest.fixture
def public(settings, tree):
    settings.PUBLIC_REPORTS = True
    settings.PUBLIC_FORM_LEAST_SECONDS = 0
    given = {"page_open": True, "open311_open": False, "emergency_number": "999", "contact_days": 30}
    set_desk(by=COMMAND, seen=0, **given)
    tree.place(8.5, 47.2)
    tree.save()


def test_a_storm_from_its_opening_to_the_looks_after_it(login_as, tree, camera):
    page = login_as(Role.INSPECTOR, viewport=TABLET)
    page.goto("/hazards/")
    page.get_by_role("link", name="Storms").click()
    page.get_by_label("Name").fill("Gale of 1 June")
    page.get_by_label("Strongest gust").fill("90 km/h")
    page.get_by_label("Lantern Green").check()
    page.get_by_role("button", name="Open the storm").click()
    page.get_by_role("link", name="Write down a find").click()
    page.get_by_label("Hanging limb").check()
    page.get_by_label("Wires are down").check()
    page.get_by_label("Constant:").check()
    page.get_by_label("Tag of the tree").fill("LG-1")
    page.get_by_label("Diameter where it broke").fill("9 in")
    page.get_by_label("Photos").set_input_files({"name": "a.jpg", "mimeType": "image/jpeg", "buffer": camera(400, 300)})
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_text("treat them as energised")).to_be_visible()
    expect(page.get_by_role("heading", name="Hanging limb at LG-1")).to_be_visible()
    page.get_by_role("link", name="Close the area").click()
    page.get_by_label("What keeps people out").fill("Tape and a guard")
    page.get_by_role("button", name="The area is closed").click()
    page.get_by_role("link", name="It is dealt with").click()
    page.get_by_label("What was done").fill("The utility cut the line; the limb is down.")
    page.get_by_role("button", name="It is dealt with").click()
    expect(page.get_by_text("Nothing waits here.")).to_be_visible()
    page.get_by_role("link", name="End the storm").click()
    page.get_by_role("button", name="End the storm").click()
    expect(page.get_by_text("Looks are due at 1 trees today")).to_be_visible()
    find = StormFind.objects.get()
    assert find.size_cm == pytest.approx(22.86)
    assert find.closure == Closure.objects.get()
    assert Photo.objects.get().about == find.pk
    assert Standing.objects.get(tree=tree).inspect_due == StormEvent.objects.get().ended_at.date()


def test_the_sheet_says_what_is_missing(login_as, tree):
    event = open_event(by=COMMAND, name="Gale", parks=[tree.park])
    page = login_as(Role.CREW_LEAD, viewport=TABLET, java_script_enabled=False)
    page.goto(f"/hazards/storms/{event.pk}/sheet/")
    page.get_by_role("button", name="Keep it").click()
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("Pick what it is.")
    expect(alert).to_contain_text("Pick how often people are there.")


def test_a_tree_leads_to_the_sheet_while_a_storm_is_open(login_as, tree):
    open_event(by=COMMAND, name="Gale", parks=[tree.park])
    page = login_as(Role.CREW_LEAD)
    page.goto("/trees/LG-1/")
    page.get_by_role("link", name="Storm find").click()
    expect(page.get_by_label("Tag of the tree")).to_have_value("LG-1")


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without"])
def test_somebody_reports_a_tree_and_reads_what_became_of_it(open_page, public, tree, camera, scripts):
    page = open_page(
        viewport=PHONE, java_script_enabled=scripts, geolocation=HERE, permissions=["geolocation"] if scripts else []
    )
    page.goto("/report-a-tree/")
    expect(page.get_by_text("keep away and call 999.")).to_be_in_viewport()
    expect(page.get_by_label("Leave this empty")).not_to_be_in_viewport()
    page.get_by_label("A broken or hanging limb").check()
    page.get_by_label("Where is the tree?").fill("By the pond")
    if scripts:
        page.get_by_role("button", name="It is where I stand").click()
        expect(page.get_by_text("Found, within 6 m.")).to_be_visible()
    page.get_by_label("Photo").set_input_files({"name": "a.jpg", "mimeType": "image/jpeg", "buffer": camera(400, 300)})
    page.get_by_label("How can we reach you?").fill("a@b.example")
    page.get_by_role("button", name="Send the report").click()
    expect(page.get_by_role("heading", name="Thank you")).to_be_visible()
    concern = Concern.objects.get()
    assert concern.tree == (tree if scripts else None)
    concerns.answer(by=COMMAND, concern=concern, seen="new", text="The limb is a cable of the tree's own support.")
    page.goto("/report-a-tree/")
    page.get_by_label("Reference").fill(concern.reference.lower())
    page.get_by_role("button", name="What became of it").click()
    expect(page.get_by_text("a cable of the tree's own support")).to_be_visible()


def test_a_concern_is_matched_and_goes_to_an_inspection(login_as, public, tree):
    told = Told(Seen.HOLLOW, "A hole at the foot", "By the pond", 8.5, 47.2001, contact="a@b.example")
    receive(by=Actor(via="public page"), told=told, source=ConcernSource.PUBLIC)
    page = login_as(Role.INSPECTOR)
    page.goto("/")
    page.get_by_role("link", name="Concerns to decide on").click()
    page.get_by_role("region", name="Concerns").get_by_role("link").first.click()
    expect(page.get_by_text("a@b.example")).to_be_visible()
    expect(page.get_by_text("nobody has said yet that it is the one")).to_be_visible()
    page.get_by_role("button", name="This is the tree").click()
    page.get_by_role("button", name="Ask for a look at LG-1").click()
    expect(page.get_by_text("goes to an inspection")).to_be_visible()
    page.goto("/trees/LG-1/")
    expect(page.get_by_text("A look is asked for")).to_be_visible()


def test_a_plain_answer_is_picked_and_sent(login_as, public):
    receive(by=Actor(via="public page"), told=Told(Seen.LEAVES, place="Pond"), source=ConcernSource.PUBLIC)
    page = login_as(Role.INSPECTOR, java_script_enabled=False)
    page.goto(f"/hazards/concerns/{Concern.objects.get().pk}/")
    page.get_by_role("link", name="Bumps and balls on leaves").click()
    page.get_by_role("button", name="Answer it").click()
    expect(page.get_by_text("is answered.")).to_be_visible()
    assert Concern.objects.get().answer.startswith("The bumps are galls")


def test_the_city_opens_the_page(login_as, settings, open_page, tree):
    settings.PUBLIC_REPORTS = True
    page = login_as(Role.MANAGER)
    page.goto("/hazards/concerns/settings/")
    page.get_by_label("The public page to report a tree is open").check()
    page.get_by_role("button", name="Set it").click()
    expect(page.get_by_role("alert")).to_contain_text("Give the emergency number")
    page.get_by_label("Emergency number").fill("112")
    page.get_by_role("button", name="Set it").click()
    expect(page.get_by_text("hold from now on")).to_be_visible()
    stranger = open_page()
    assert stranger.goto("/report-a-tree/").status == 200
