"""The pages of the replanting room, as their readers meet them."""

import datetime as dt
import re

import pytest
import time_machine
from django.urls import reverse

from inventory.access import Role
from inventory.models import Tree
from inventory.record import COMMAND
from replanting import stock_work, workflow
from replanting.city_policy import change_policy
from replanting.losses import losses
from replanting.models import CareVisit, Planting, ReplacementTask, TaskState
from replanting.policy import Policy
from replanting.stock_list import Wanted
from replanting.survival import Losses
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory
from tests.replanting.walk import chosen, opened, ordered, planted

pytestmark = pytest.mark.django_db
NOON = dt.datetime(2026, 7, 1, 12, tzinfo=dt.UTC)
JUNE = dt.date(2026, 6, 1)


@pytest.fixture(autouse=True)
def _on_the_first_of_july():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def planner(as_role):
    return as_role(Role.PLANNER)


def palette(botanical="Quercus bicolor", **figures):
    figures = {"zone_min": 3, "zone_max": 8, "height_max_m": 18.0, "height_min_m": 15.0, **figures}
    return SpeciesFactory(botanical=botanical, palette=True, size_class="large", light=["full"], **figures)


def url(name, task, *more):
    return reverse(f"replanting:{name}", args=[task.pk, *more])


def page(client, address, status=200):
    response = client.get(address)
    assert response.status_code == status
    return response.content.decode()


def tags(html):
    """Tags of the removed trees in the order of the list."""
    return re.findall(r'<th scope="row"><a href="/replanting/tasks/\d+/">([^<]+)</a>', html)


class TestQueue:
    def test_shows_what_waits_by_the_day_it_is_due(self, planner):
        opened(TreeFactory(tag="LATE"), on=dt.date(2026, 5, 1))
        opened(TreeFactory(tag="EARLY"), on=dt.date(2025, 5, 1))
        planted(TreeFactory(tag="DONE"))
        assert tags(page(planner, "/replanting/")) == ["EARLY", "LATE"]

    def test_filters_by_state_park_and_overdue(self, planner):
        albion = ParkFactory(code="ALB")
        opened(TreeFactory(tag="A", park=albion), on=dt.date(2025, 5, 1))
        opened(TreeFactory(tag="B"), on=dt.date(2026, 5, 1))
        planted(TreeFactory(tag="C"))
        assert tags(page(planner, "/replanting/?park=ALB")) == ["A"]
        assert tags(page(planner, "/replanting/?overdue=on")) == ["A"]
        assert tags(page(planner, "/replanting/?state=planted")) == ["C"]
        assert set(tags(page(planner, "/replanting/?state=all"))) == {"A", "B", "C"}

    def test_a_state_that_does_not_exist_is_said(self, planner):
        assert "not one of the available choices" in page(planner, "/replanting/?state=lost")

    def test_the_tiles_are_the_ledger_of_the_park(self, planner):
        opened(TreeFactory(park=ParkFactory(code="ALB")))
        planted()
        assert figures(page(planner, "/replanting/")) == [2, 1, 1, 0, 0]
        assert figures(page(planner, "/replanting/?park=ALB")) == [1, 1, 0, 0, 0]

    def test_asks_the_database_the_same_however_long_it_is(self, planner, django_assert_max_num_queries):
        for _ in range(60):
            opened()
        with django_assert_max_num_queries(9):
            html = page(planner, "/replanting/")
        assert len(tags(html)) == 50
        (following,) = re.findall(r'rel="next" href="([^"]+)"', html)
        assert len(tags(page(planner, "/replanting/" + following))) == 10

    def test_an_empty_queue_says_how_it_fills(self, planner):
        assert "opens here by itself" in page(planner, "/replanting/")


def standing(html):
    """Taxa that may stand in a place, in the order of the list."""
    table = html.split("may stand here, the best score first")
    return re.findall(r'<a class="botanical"[^>]*>([^<]+)</a>', table[1].split("</table>")[0]) if len(table) > 1 else []


def figures(html):
    return [int(number) for number in re.findall(r"<dd>(\d+)", html.split('class="tiles"')[1].split("</dl>")[0])]


class TestTask:
    @pytest.mark.parametrize(
        ("role", "offered"),
        [
            (Role.PLANNER, ["Record a care visit", "Declare it established", "Record that it failed"]),
            (Role.CREW_LEAD, ["Record a care visit"]),
            (Role.MANAGER, []),
            (Role.READER, []),
        ],
    )
    def test_offers_what_its_reader_may_do_next(self, as_role, role, offered):
        html = page(as_role(role), url("task", planted().task))
        actions = html.split('<div class="actions">')[1].split("</div>")[0]
        assert re.findall(r">([^<>]+)</a>", actions) == offered

    def test_shows_the_place_the_promise_and_what_happened(self, planner):
        task = ordered(TreeFactory(tag="OLD-1", dbh_cm=61))
        planting = workflow.plant(by=COMMAND, task=task, on=JUNE, caliper_cm=5)
        workflow.visit(by=COMMAND, planting=planting, on=JUNE, watered_l=40, note="mulch")
        html = page(planner, url("task", task))
        for words in ("OLD-1", "61 cm across", "Lowfield", "5.0 cm", "40 l", "Replacement of OLD-1 opened"):
            assert words in html

    def test_a_planted_tree_shows_how_long_its_guarantee_runs(self, planner, as_role):
        task = ordered()
        workflow.plant(by=COMMAND, task=task, on=JUNE, caliper_cm=5)
        assert "guarantee runs to 1 Jun 2027" in page(planner, url("task", task))
        with time_machine.travel(dt.datetime(2027, 6, 2, 12, tzinfo=dt.UTC), tick=False):
            assert "guarantee ended 1 Jun 2027" in page(as_role(Role.PLANNER), url("task", task))

    def test_the_guarantee_is_that_of_the_citys_policy(self, planner):
        task = planted().task
        change_policy(by=COMMAND, policy=Policy(guarantee_months=24), seen=0)
        assert "guarantee runs to 1 Jun 2028" in page(planner, url("task", task))
        change_policy(by=COMMAND, policy=Policy(guarantee_months=0), seen=1)
        assert "guarantee" not in page(planner, url("task", task))

    def test_a_task_that_does_not_exist_is_not_found(self, planner):
        page(planner, "/replanting/tasks/999/", status=404)

    def test_asks_the_database_the_same_however_long_its_history(self, planner, django_assert_max_num_queries):
        planting = planted()
        for day in range(20):
            workflow.visit(by=COMMAND, planting=planting, on=JUNE + dt.timedelta(days=day))
        with django_assert_max_num_queries(16):
            page(planner, url("task", planting.task))


class TestChoosing:
    def test_starts_from_what_is_known_of_the_place(self, planner):
        palette("Quercus bicolor")
        palette("Salix babylonica", zone_min=9, zone_max=10)
        task = opened(TreeFactory(park=ParkFactory(hardiness_zone="6a")))
        assert standing(page(planner, url("candidates", task))) == ["Quercus bicolor"]

    def test_under_wires_it_starts_from_what_stays_below_them(self, planner):
        palette("Quercus bicolor")
        palette("Amelanchier laevis", height_max_m=7.0)
        html = page(planner, url("candidates", opened(TreeFactory(overhead_lines=True))))
        assert standing(html) == ["Amelanchier laevis"]

    def test_another_place_takes_the_place_of_the_known(self, planner):
        palette("Salix babylonica", zone_min=9, zone_max=10)
        task = opened(TreeFactory(park=ParkFactory(hardiness_zone="6a")))
        assert standing(page(planner, url("candidates", task) + "?zone=9")) == ["Salix babylonica"]

    def test_what_is_left_out_says_why(self, planner):
        palette()
        task = opened(TreeFactory(growing_space_m=1.0, light="shade"))
        html = page(planner, url("candidates", task))
        assert "<strong>1 taxon</strong>&nbsp;left out" in html
        assert "Growing space: a large tree asks for 2.4 m of growing space; here: 1.0 m" in html
        assert "Light: asks for full light; here: shade" in html

    def test_where_no_tree_may_stand_it_names_what_grows_lower(self, planner):
        palette()
        task = opened(TreeFactory(growing_space_m=0.5, light="shade", soil_moisture="dry"))
        html = page(planner, url("candidates", task))
        assert "No tree of the palette may stand here" in html
        assert "Carex pensylvanica" in html

    def test_the_best_score_stands_first_and_opens_into_its_parts(self, planner):
        palette("Quercus bicolor", pests=["OWw"])
        palette("Tilia cordata", family="Malvaceae")
        html = page(planner, url("candidates", opened(TreeFactory(light="full"))))
        assert standing(html) == ["Tilia cordata", "Quercus bicolor"]
        assert 'Pests <strong class="nowrap">8 of 10</strong>: oak wilt' in html

    def test_the_citys_watched_pests_shut_their_hosts_out(self, planner, settings):
        palette(pests=["OWw"])
        task = opened()
        assert standing(page(planner, url("candidates", task))) == ["Quercus bicolor"]
        settings.WATCHED_PESTS = ["oak wilt"]
        html = page(planner, url("candidates", task))
        assert standing(html) == []
        assert "Watched pest: a host of oak wilt" in html
        assert standing(page(planner, url("candidates", task) + "?watch=")) == ["Quercus bicolor"]

    def test_a_pest_that_nobody_knows_is_said(self, planner):
        assert "“locust” is not a pest" in page(planner, url("candidates", opened()) + "?watch=locust")

    @pytest.mark.parametrize(("away", "found"), [("0", []), ("30 ft", ["Acer ginnala"]), ("50 ft", ["Acer ginnala"])])
    def test_the_distance_to_the_lines_counts(self, planner, away, found):
        palette("Acer ginnala", height_max_m=10.0)
        address = url("candidates", opened(TreeFactory(overhead_lines=True)))
        assert standing(page(planner, f"{address}?lines_away={away}")) == found

    def test_a_name_is_found_among_those_that_may_stand_and_those_that_may_not(self, planner):
        palette("Quercus bicolor")
        palette("Quercus alba", zone_min=8)
        palette("Tilia cordata", common="small-leaved lime")
        task = opened(TreeFactory(park=ParkFactory(hardiness_zone="6a")))
        html = page(planner, url("candidates", task) + "?q=quercus")
        assert standing(html) == ["Quercus bicolor"]
        assert "Quercus alba" in html
        assert "Tilia cordata" not in html

    def test_the_list_goes_on_over_the_page(self, planner):
        for number in range(26):
            palette(f"Quercus no{chr(97 + number)}")
        address = url("candidates", opened())
        assert len(standing(page(planner, address))) == 25
        assert standing(page(planner, f"{address}?page=25")) == ["Quercus noz"]

    def test_the_place_goes_along_to_the_candidate(self, planner):
        oak, task = palette(), opened(TreeFactory(light="full"))
        assert f'href="{url("choose_species", task, oak.pk)}?light=part"' in page(
            planner, url("candidates", task) + "?light=part"
        )
        html = page(planner, url("choose_species", task, oak.pk) + "?light=part")
        assert "Asks for full light; here: part" in html
        assert "4 of 8" in html

    def test_a_taxon_left_out_may_be_chosen_with_open_eyes(self, planner):
        oak, task = palette(), opened(TreeFactory(growing_space_m=1.0))
        assert "Left out of the suggestions" in page(planner, url("choose_species", task, oak.pk))

    def test_shows_the_shares_before_and_after(self, planner):
        oak = palette("Quercus bicolor")
        park = ParkFactory(code="ALB", name="Albion Green")
        TreeFactory.create_batch(9, park=park, species=SpeciesFactory(botanical="Quercus rubra"))
        TreeFactory.create_batch(10, species=SpeciesFactory(botanical="Acer rubrum", family="Sapindaceae"))
        html = page(planner, url("choose_species", opened(TreeFactory(park=park)), oak.pk))
        rows = [re.findall(r"([\d.]+) %", row) for row in html.split("<tbody>")[1].split("</tr>")[:6]]
        assert rows == [
            ["0.0", "10.0", "10"],
            ["100.0", "100.0", "20"],
            ["100.0", "100.0", "30"],
            ["0.0", "5.0", "10"],
            ["47.4", "50.0", "20"],
            ["47.4", "50.0", "30"],
        ]

    def test_chooses(self, planner):
        oak, task = palette(), opened()
        response = planner.post(url("choose_species", task, oak.pk), {"cultivar": "Beacon", "reason": "wet foot"})
        assert response.url == url("task", task)
        task.refresh_from_db()
        assert (task.species, task.cultivar, task.species_reason) == (oak, "Beacon", "wet foot")

    def test_a_choice_made_meanwhile_is_told(self, planner):
        oak, task = palette(), chosen()
        response = planner.post(url("choose_species", task, oak.pk), {"reason": "wet foot"})
        assert response.status_code == 409
        assert "one cannot choose the species now" in response.content.decode()

    def test_a_taxon_outside_the_palette_is_not_offered(self, planner):
        page(planner, url("choose_species", opened(), SpeciesFactory().pk), status=404)

    def test_what_stands_in_the_yard_is_shown_and_stands_before_its_equals(self, planner):
        palette("Quercus alba")
        bur = palette("Quercus macrocarpa")
        task = opened(TreeFactory(light="full"))
        address = url("candidates", task)
        assert standing(page(planner, address)) == ["Quercus alba", "Quercus macrocarpa"]
        wanted = Wanted(bur.pk, "", "container", 5.0, (), spares=7)
        order = {"nursery": "Lowfield", "season": "spring", "year": 2026, "on": JUNE}
        line = stock_work.order_from_nursery(by=COMMAND, lines=[wanted], **order).lines.get()
        stock_work.receive(by=COMMAND, line=line, on=JUNE, received=6)
        html = page(planner, address)
        assert standing(html) == ["Quercus macrocarpa", "Quercus alba"]
        assert html.count("6 in the yard</strong>") == 1

    def test_the_city_is_counted_once_for_the_whole_list(self, planner, django_assert_max_num_queries):
        for number in range(55):
            palette(f"Quercus no{number}")
        task = opened()
        with django_assert_max_num_queries(12):
            page(planner, url("candidates", task))


class TestSteps:
    def test_order(self, planner):
        task = chosen()
        planner.post(url("order", task), {"stock": "bare root", "nursery": "Lowfield", "on": "2026-06-10"})
        task.refresh_from_db()
        assert (task.state, task.stock, task.ordered_on) == (TaskState.ORDERED, "bare root", dt.date(2026, 6, 10))

    def test_plant_takes_units_and_position_as_people_write_them(self, planner):
        task = ordered()
        planner.post(
            url("plant", task),
            {"on": "2026-06-10", "stock": "container", "caliper": "2 in", "position": "52.5, -1.25"},
        )
        planting = Planting.objects.get()
        assert planting.caliper_cm == pytest.approx(5.08)
        assert (planting.tree.lat, planting.tree.lon, planting.tree.replaces) == (52.5, -1.25, task.removed_tree)

    def test_plant_starts_from_the_ordered_stock(self, planner):
        assert re.search(r'value="container"[^>]* checked', page(planner, url("plant", ordered())))

    @pytest.mark.parametrize(
        ("typed", "units", "litres"), [("5 gal", "metric", 18.93), ("20", "metric", 20), ("5", "us", 18.93)]
    )
    def test_visit_takes_water_in_the_readers_unit(self, planner, typed, units, litres):
        planner.cookies["units"] = units
        send_visit(planner, planted().task, watered_l=typed)
        assert CareVisit.objects.get().watered_l == pytest.approx(litres, abs=0.01)

    def test_a_visit_form_sent_twice_is_one_visit(self, planner):
        task = planted().task
        number = re.search(r'name="id" value="([^"]+)"', page(planner, url("visit", task)))[1]
        for _ in range(2):
            send_visit(planner, task, id=number)
        assert str(CareVisit.objects.get().pk) == number

    def test_water_that_is_none_is_said(self, planner):
        response = send_visit(planner, planted().task, watered_l="a bucket")
        assert "“a bucket” is not an amount of water; write for example 20 l or 5 gal." in response.content.decode()

    @pytest.mark.parametrize(("name", "state"), [("establish", TaskState.ESTABLISHED), ("fail", TaskState.OPEN)])
    def test_what_becomes_of_a_planting(self, planner, name, state):
        task = planted().task
        planner.post(url(name, task), {"on": "2026-06-20", "causes": ["drought"]})
        assert ReplacementTask.objects.get().state == state

    def test_set_aside(self, planner):
        planner.post(url("set_aside", ordered()), {"on": "2026-06-20", "reason": "nursery is out of stock"})
        assert ReplacementTask.objects.get().state == TaskState.OPEN

    def test_a_manager_waives_in_their_own_name(self, as_role):
        as_role(Role.MANAGER).post(
            url("waive", opened()), {"on": "2026-06-20", "reason": "a path runs there", "kind": "let go"}
        )
        assert ReplacementTask.objects.get().waived_by == "manager"

    def test_what_the_workflow_refuses_stands_on_the_form(self, planner):
        response = planner.post(url("establish", planted().task), {"on": "2027-01-01"})
        assert response.status_code == 409
        assert "1 Jan 2027 lies in the future" in response.content.decode()

    def test_a_step_that_is_not_open_leads_back_with_the_reason(self, planner):
        task = opened()
        response = planner.get(url("plant", task), follow=True)
        assert response.redirect_chain == [(url("task", task), 302)]
        assert "one cannot plant now" in response.content.decode()

    @pytest.mark.parametrize("name", ["order", "plant", "set_aside", "establish", "fail", "candidates"])
    def test_a_crew_lead_is_refused_the_planners_steps(self, as_role, name):
        page(as_role(Role.CREW_LEAD), url(name, ordered()), status=403)


def send_visit(client, task, **facts):
    number = "0197a4a4-0000-7000-8000-000000000000"
    return client.post(url("visit", task), {"id": number, "on": "2026-06-10", "alive": "yes", **facts})


class TestCare:
    """The first of July 2026 is the day; the rule is Georgia's: water a week after the last time."""

    def test_lists_what_is_due_within_a_week_the_longest_first(self, planner):
        long_ago, watered, fresh = planted(on=dt.date(2026, 5, 1)), planted(), planted(on=NOON.date())
        workflow.visit(by=COMMAND, planting=watered, on=dt.date(2026, 6, 23), watered_l=50)
        assert tags(page(planner, "/replanting/care/")) == [long_ago.tree.tag, watered.tree.tag, fresh.tree.tag]
        workflow.visit(by=COMMAND, planting=long_ago, on=NOON.date(), watered_l=50)
        assert tags(page(planner, "/replanting/care/")) == [watered.tree.tag, fresh.tree.tag]
        assert long_ago.tree.tag in tags(page(planner, "/replanting/care/?show=all"))

    def test_shows_what_is_overdue_alone(self, planner):
        late = planted()
        workflow.visit(by=COMMAND, planting=planted(), on=dt.date(2026, 6, 27), watered_l=50)
        html = page(planner, "/replanting/care/?show=late")
        assert tags(html) == [late.tree.tag]
        assert "overdue since 8 Jun 2026" in html

    @pytest.mark.parametrize(("units", "amount"), [("metric", "38 l to 57 l"), ("us", "10.0 gal to 15.0 gal")])
    def test_the_amount_by_the_rule_in_the_readers_unit(self, planner, units, amount):
        """2 in of caliper: 10 to 15 US gallons a week (Georgia)."""
        planner.cookies["units"] = units
        workflow.plant(by=COMMAND, task=ordered(), on=JUNE, caliper_cm=5.08)
        html = page(planner, "/replanting/care/")
        assert amount in html
        assert "Watering by rule <strong>A, Georgia</strong>" in html

    def test_another_rule_is_named_on_the_list(self, planner):
        planted(on=dt.date(2026, 6, 30))
        assert tags(page(planner, "/replanting/care/?show=late")) == []
        html = page(planner, "/replanting/care/?rule=minnesota")
        assert "Water by rule B, Minnesota" in html
        assert "due since 1 Jul 2026" in html

    def test_filters_by_park_and_by_the_days_that_nobody_looked(self, planner):
        here = planted(TreeFactory(park=ParkFactory(code="ALB")))
        seen = planted()
        workflow.visit(by=COMMAND, planting=seen, on=NOON.date())
        assert tags(page(planner, "/replanting/care/?park=ALB")) == [here.tree.tag]
        assert tags(page(planner, "/replanting/care/?days=14")) == [here.tree.tag]

    def test_an_established_or_lost_tree_is_not_in_care(self, planner):
        workflow.establish(by=COMMAND, task=planted().task, on=JUNE)
        workflow.fail(by=COMMAND, task=planted().task, on=JUNE, reason="drought")
        assert tags(page(planner, "/replanting/care/?show=all")) == []

    def test_the_last_visit_says_how_it_was_found(self, planner):
        planting = planted()
        workflow.visit(by=COMMAND, planting=planting, on=dt.date(2026, 6, 2))
        workflow.visit(by=COMMAND, planting=planting, on=dt.date(2026, 6, 5), alive=False)
        assert '<span class="overdue">dead</span>' in page(planner, "/replanting/care/")

    def test_a_reader_sees_no_button(self, as_role):
        planted()
        assert "Done today" not in page(as_role(Role.READER), "/replanting/care/")

    def test_asks_the_database_the_same_however_long_it_is(self, planner, django_assert_max_num_queries):
        for _ in range(30):
            planted()
        with django_assert_max_num_queries(10):
            page(planner, "/replanting/care/")
        assert Tree.objects.count() == 60

    def test_the_list_goes_on_over_the_page(self, planner):
        for _ in range(51):
            planted()
        (following,) = re.findall(r'rel="next" href="([^"]+)"', page(planner, "/replanting/care/"))
        assert len(tags(page(planner, "/replanting/care/" + following))) == 1

    def test_the_page_of_the_task_says_what_its_tree_asks_for(self, planner):
        planting = workflow.plant(by=COMMAND, task=ordered(), on=JUNE, caliper_cm=5.08)
        html = page(planner, url("task", planting.task))
        assert "Water by rule A, Georgia, 38 l to 57 l" in html
        assert "2 growing seasons, to 31 Oct 2027" in html
        assert '<h2 id="care">' not in page(planner, url("task", opened()))


def tapped(client, planting, did, number="0197a4a4-0000-7000-8000-000000000001", **more):
    address = reverse("replanting:tap", args=[planting.pk])
    return client.post(f"{address}?park=P1", {"id": number, "did": did, **more})


class TestTap:
    def test_watered_records_what_the_button_says_and_leads_back_to_the_round(self, as_role):
        planting = workflow.plant(by=COMMAND, task=ordered(), on=JUNE, caliper_cm=5.08)
        client = as_role(Role.CREW_LEAD)
        litres = re.search(r'name="watered_l" value="([\d.]+)"', page(client, "/replanting/care/"))[1]
        response = tapped(client, planting, "water", watered_l=litres)
        made = CareVisit.objects.get()
        assert (made.visited_on, made.alive, made.watered_l) == (NOON.date(), True, pytest.approx(47.32, abs=0.01))
        assert response.url == "/replanting/care/?park=P1"
        assert tags(page(client, "/replanting/care/?show=late")) == []

    def test_sent_twice_it_is_one_visit(self, planner):
        planting = planted()
        tapped(planner, planting, "check"), tapped(planner, planting, "check")
        assert CareVisit.objects.get().watered_l is None

    def test_stakes_off_are_asked_for_once(self, planner):
        planting = planted(on=dt.date(2025, 6, 1))
        assert "Stakes off, if there are any" in page(planner, "/replanting/care/")
        tapped(planner, planting, "stakes off")
        assert CareVisit.objects.get().stakes_off
        assert "Stakes off, if there are any" not in page(planner, "/replanting/care/")

    @pytest.mark.parametrize(
        "facts", [{"did": "felled"}, {"did": "water", "watered_l": "-4"}, {"did": "water", "id": "1"}]
    )
    def test_what_one_tap_cannot_record_is_said(self, planner, facts):
        planting, number = planted(), "0197a4a4-0000-7000-8000-000000000001"
        response = planner.post(reverse("replanting:tap", args=[planting.pk]), {"id": number, **facts}, follow=True)
        assert "no visit that one tap can record" in response.content.decode()
        assert not CareVisit.objects.exists()

    def test_what_the_workflow_refuses_is_said(self, planner):
        planting = planted()
        workflow.establish(by=COMMAND, task=planting.task, on=JUNE)
        response = tapped(planner, planting, "check")
        assert "was in care from" in page(planner, response.url)


class TestLosses:
    def test_counts_by_species_stock_and_nursery_also_after_the_task_reopened(self, planner):
        lost = planted(on=dt.date(2025, 5, 1))
        workflow.fail(by=COMMAND, task=lost.task, on=dt.date(2025, 9, 1), reason="drought")
        planted(on=dt.date(2025, 5, 1)), planted()
        found = {by: losses(NOON.date(), by) for by in ("species", "stock", "nursery")}
        assert found == {
            "species": [Losses("Quercus rubra", 3, 1, 2, 1)],
            "stock": [Losses("container", 3, 1, 2, 1)],
            "nursery": [Losses("Lowfield", 3, 1, 2, 1)],
        }

    def test_a_loss_after_the_first_year_is_no_loss_of_it(self):
        late = planted(on=dt.date(2025, 1, 1))
        workflow.fail(by=COMMAND, task=late.task, on=dt.date(2026, 6, 1), reason="drought")
        assert losses(NOON.date(), "stock") == [Losses("container", 1, 1, 1, 0)]

    def test_the_page_gives_the_rate_with_its_interval(self, planner):
        """Wilson for 1 of 2: 9.5 to 90.5 %."""
        lost = planted(on=dt.date(2025, 5, 1))
        workflow.fail(by=COMMAND, task=lost.task, on=dt.date(2025, 9, 1), reason="drought")
        planted(on=dt.date(2025, 5, 1))
        html = page(planner, "/replanting/care/losses/")
        assert "<strong>50.0 %</strong> (1 of 2), with 95 % confidence 9.5 to 90.5 %" in html

    def test_without_plantings_it_says_so(self, planner):
        assert "Nothing has been planted yet." in page(planner, "/replanting/care/losses/")

    def test_asks_the_database_the_same_however_many(self, planner, django_assert_max_num_queries):
        for _ in range(5):
            planted()
        with django_assert_max_num_queries(11):
            page(planner, "/replanting/care/losses/")


class TestLedger:
    def test_gives_each_park_and_year_its_line_and_the_sum(self, planner):
        opened(TreeFactory(park=ParkFactory(code="ALB", name="Albion Green")), on=dt.date(2025, 3, 1))
        planted(TreeFactory(park=ParkFactory(code="MEA", name="Mead")))
        html = page(planner, "/replanting/ledger/")
        rows = [" ".join(re.sub(r"<[^>]+>", " ", row).split()) for row in re.findall(r"<tr>(.*?)</tr>", html, re.S)]
        assert rows[1:4] == [
            "Albion Green 2025 1 1 1 overdue 0 0 0 0 0 % –",
            "Mead 2026 1 0 1 0 0 0 100 % 0 d",
            "All 2 1 1 overdue 1 0 0 0 50 % 0 d",
        ]

    def test_of_one_park(self, planner):
        opened(TreeFactory(park=ParkFactory(code="ALB", name="Albion Green")))
        planted(TreeFactory(park=ParkFactory(code="MEA", name="Mead")))
        html = page(planner, "/replanting/ledger/?park=ALB")
        assert '<th scope="row">Albion Green <span' in html
        assert '<th scope="row">Mead' not in html

    def test_the_crowns_in_the_readers_unit_with_the_estimate_named_so(self, planner):
        """A spread of 20 m covers 314 m² or 3,382 ft²."""
        opened(TreeFactory(crown_spread_m=20))
        html = page(planner, "/replanting/ledger/")
        assert "<strong>314 m²</strong>" in html
        assert "An estimate" in html
        assert "does not grow it back within a century" in html
        planner.cookies["units"] = "us"
        assert "<strong>3,382 ft²</strong>" in page(planner, "/replanting/ledger/")

    def test_a_city_that_removed_nothing_says_so(self, planner):
        assert "Nothing is owed here" in page(planner, "/replanting/ledger/")

    def test_asks_the_database_the_same_however_many(self, planner, django_assert_max_num_queries):
        for _ in range(6):
            planted()
        with django_assert_max_num_queries(10):
            page(planner, "/replanting/ledger/")
