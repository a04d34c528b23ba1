"""Nursery stock: lists, orders, deliveries in parts, what stands spare."""

import io

import openpyxl
import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from inventory.access import Role
from inventory.errors import Refused
from inventory.record import COMMAND, Actor
from replanting import stock_work, workflow
from replanting.models import Delivery, NurseryOrder, OrderLine, ReplacementTask, TaskState
from replanting.stock_list import Wanted, spares
from tests.factories import TODAY, ParkFactory, SpeciesFactory, TreeFactory, user_with
from tests.replanting.test_at_once import at_once, refusals
from tests.replanting.walk import chosen


def line_of(count=4, extra=2, **known):
    """An order's one line for so many tasks, and as many spares."""
    tasks = [chosen() for _ in range(count)]
    species = tasks[0].species_id
    wanted = Wanted(species, "", "balled and burlapped", 5.08, tuple(task.pk for task in tasks), extra)
    facts = {"nursery": "Lowfield", "season": "autumn", "year": 2026, "on": TODAY, "lines": [wanted], **known}
    return stock_work.order_from_nursery(by=COMMAND, **facts).lines.get()


def came(line, received=0, rejected=0, reason="", **more):
    return stock_work.receive(
        by=COMMAND, line=line, on=TODAY, received=received, rejected=rejected, reason=reason, **more
    )


def fresh(line):
    return OrderLine.objects.with_used().get(pk=line.pk)


class TestSpares:
    @pytest.mark.parametrize(("count", "pct", "extra"), [(9, 5, 0), (10, 5, 1), (29, 5, 1), (30, 5, 2), (7, 0, 0)])
    def test_the_nearest_whole_tree(self, count, pct, extra):
        assert spares(count, pct) == extra

    @given(st.integers(0, 5000), st.integers(0, 100))
    def test_never_off_by_more_than_half_a_tree_and_never_fewer_for_more(self, count, pct):
        assert abs(spares(count, pct) - count * pct / 100) <= 0.5
        assert spares(count, pct) <= spares(count + 1, pct) <= spares(count, pct) + 1


@pytest.mark.django_db
class TestOrder:
    def test_orders_the_stock_of_each_task_and_links_it(self):
        line = line_of(3)
        assert (line.ordered, line.spares) == (5, 2)
        assert set(line.tasks.values_list("state", "nursery", "stock")) == {
            (TaskState.ORDERED, "Lowfield", "balled and burlapped")
        }

    def test_a_task_that_moved_on_leaves_nothing_half_ordered(self):
        gone, waits = chosen(), chosen()
        workflow.set_aside(by=COMMAND, task=gone, on=TODAY, reason="misjudged")
        wanted = Wanted(waits.species_id, "", "container", 5.0, (waits.pk, gone.pk), 0)
        with pytest.raises(Refused, match="one cannot order stock now"):
            stock_work.order_from_nursery(
                by=COMMAND, nursery="Lowfield", season="spring", year=2027, on=TODAY, lines=[wanted]
            )
        assert not NurseryOrder.objects.exists()
        assert ReplacementTask.objects.get(pk=waits.pk).state == TaskState.SPECIES_CHOSEN

    def test_another_taxon_than_the_lines_is_refused(self):
        task = chosen()
        wanted = Wanted(SpeciesFactory(botanical="Acer rubrum").pk, "", "container", 5.0, (task.pk,), 0)
        with pytest.raises(Refused, match="asks for Quercus rubra now, not for Acer rubrum"):
            stock_work.order_from_nursery(
                by=COMMAND, nursery="Lowfield", season="spring", year=2027, on=TODAY, lines=[wanted]
            )

    def test_who_may_not_plant_may_not_order(self):
        with pytest.raises(Refused, match="may not"):
            stock_work.order_from_nursery(
                by=Actor(user_with(Role.READER)), nursery="L", season="spring", year=2027, on=TODAY, lines=[]
            )

    def test_a_choice_set_aside_leaves_its_line(self):
        line = line_of(1)
        workflow.set_aside(by=COMMAND, task=line.tasks.get(), on=TODAY, reason="a path runs there")
        assert not line.tasks.exists()


@pytest.mark.django_db
class TestDelivery:
    def test_comes_in_parts(self):
        line = line_of(4, 2)
        came(line, 3)
        came(line, 1, 1, "girdling roots")
        assert (fresh(line).received, fresh(line).rejected, fresh(line).outstanding) == (4, 1, 1)

    @pytest.mark.parametrize(
        ("received", "rejected", "reason", "words"),
        [
            (0, 0, "", "Say how many trees"),
            (7, 0, "", "6 are outstanding; 7 cannot have come"),
            (0, 1, "", "Say why they were rejected"),
            (0, 1, "ugly", "Say why they were rejected"),
        ],
    )
    def test_what_cannot_be_is_refused(self, received, rejected, reason, words):
        line = line_of()
        with pytest.raises(Refused, match=words):
            came(line, received, rejected, reason)
        assert not Delivery.objects.exists()

    def test_sent_twice_it_is_stored_once(self):
        line = line_of()
        first = came(line, 2)
        assert came(line, 2, id=first.pk) == first
        assert fresh(line).received == 2

    def test_what_was_rejected_may_be_ordered_again_and_no_more(self):
        line = line_of(4, 0)
        came(line, 2, 2, "ball broken")
        with pytest.raises(Refused, match="2 were rejected or lost"):
            stock_work.order_again(by=COMMAND, line=line, count=3, on=TODAY)
        stock_work.order_again(by=COMMAND, line=line, count=2, on=TODAY)
        assert (fresh(line).ordered, fresh(line).outstanding) == (6, 2)

    def test_the_database_holds_the_balance_too(self):
        line = line_of()
        with pytest.raises(IntegrityError, match="order_line_balance"), transaction.atomic():
            OrderLine.objects.filter(pk=line.pk).update(received=7)

    @given(st.data())
    def test_received_rejected_and_outstanding_are_always_what_was_ordered(self, data):
        with transaction.atomic():
            line = line_of(3, 3)
            for received, rejected in data.draw(st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)), max_size=6)):
                fits = 0 < received + rejected <= fresh(line).outstanding
                if fits:
                    came(line, received, rejected, "wrong size" if rejected else "")
                else:
                    with pytest.raises(Refused):
                        came(line, received, rejected, "wrong size" if rejected else "")
                now = fresh(line)
                assert now.received + now.rejected + now.outstanding == now.ordered == 6
                assert now.outstanding >= 0
            transaction.set_rollback(True)


@pytest.mark.django_db
class TestYard:
    def test_spare_is_what_no_task_waits_for(self):
        line = line_of(4, 2)
        came(line, 5)
        assert stock_work.stock_on_hand() == {"Quercus rubra": 1}
        workflow.plant(by=COMMAND, task=line.tasks.first(), on=TODAY)
        assert (stock_work.in_yard(fresh(line)), stock_work.spare(fresh(line))) == (4, 1)

    def test_what_waits_for_a_task_is_not_spare(self):
        came(line_of(4, 2), 4)
        assert stock_work.stock_on_hand() == {}

    def test_a_tree_planted_before_its_delivery_was_written_down_makes_no_debt(self):
        line = line_of(1, 0)
        workflow.plant(by=COMMAND, task=line.tasks.get(), on=TODAY)
        assert stock_work.in_yard(fresh(line)) == 0
        came(line, 1)
        assert stock_work.in_yard(fresh(line)) == 0

    def test_what_is_lost_in_the_yard_is_written_off_with_a_reason(self):
        line = line_of(1, 2)
        came(line, 3)
        stock_work.write_off(by=COMMAND, line=line, count=2, reason="dried out", on=TODAY)
        assert stock_work.stock_on_hand() == {}
        with pytest.raises(Refused, match="1 stand in the yard"):
            stock_work.write_off(by=COMMAND, line=line, count=2, reason="dried out", on=TODAY)


@pytest.mark.django_db(transaction=True)
def test_two_people_take_in_the_last_trees_at_once():
    line = line_of(3, 0)
    results = at_once(*[lambda: came(line, 2)] * 2)
    assert len(refusals(results)) == 1
    assert (fresh(line).received, Delivery.objects.count()) == (2, 1)


@pytest.mark.django_db
class TestPages:
    @pytest.fixture
    def planner(self, as_role):
        return as_role(Role.PLANNER)

    def posted(self, task, **more):
        key = f"{task.species_id}:{task.cultivar}"
        line = {"take": "on", "stock": "balled and burlapped", "caliper": "2 in", "spares": "1"}
        head = {"nursery": "Lowfield", "season": "spring", "year": "2027", "on": "2026-06-01"}
        return {**head, **{f"{key}-{name}": value for name, value in line.items()}, **more}

    def test_from_the_list_to_an_order(self, planner):
        tasks = [chosen() for _ in range(2)]
        response = planner.post("/replanting/nursery/new/", self.posted(tasks[0]))
        line = OrderLine.objects.get()
        assert response.url == reverse("replanting:nursery_order", args=[line.order_id])
        assert (line.ordered, line.spares, line.caliper_cm) == (3, 1, pytest.approx(5.08))
        assert "Quercus rubra" in planner.get(response.url).content.decode()

    def test_outside_a_window_it_asks_why_and_then_goes_on(self, planner):
        park = ParkFactory(code="ALB", hardiness_zone="6a")
        task = chosen(TreeFactory(park=park))
        posted = self.posted(task, season="autumn", year="2026")
        response = planner.post("/replanting/nursery/new/", posted)
        assert (
            "Quercus rubra, balled and burlapped, is not planted in autumn 2026 in zone 6." in response.content.decode()
        )
        planner.post("/replanting/nursery/new/", {**posted, "season_reason": "dug in spring, heeled in"})
        assert NurseryOrder.objects.get().season_reason == "dug in spring, heeled in"

    def test_a_delivery_with_a_rejection(self, planner):
        line = line_of()
        planner.post(
            reverse("replanting:receive", args=[line.pk]),
            {
                "id": "01890000-0000-7000-8000-000000000001",
                "on": "2026-06-02",
                "received": "3",
                "rejected": "1",
                "reason": "girdling roots",
            },
        )
        html = planner.get(reverse("replanting:nursery_order", args=[line.order_id])).content.decode()
        assert "Girdling roots" in html
        assert (fresh(line).received, fresh(line).rejected) == (3, 1)

    def test_a_workbook_keeps_text_as_text(self, planner):
        line = line_of(1)
        NurseryOrder.objects.update(nursery="=1+1")
        OrderLine.objects.update(cultivar="=HYPERLINK(A1)")
        answer = planner.get(reverse("replanting:nursery_order_xlsx", args=[line.order_id]))
        sheet = openpyxl.load_workbook(io.BytesIO(b"".join(answer.streaming_content))).active
        cells = [cell for row in sheet.iter_rows(min_row=2) for cell in row]
        assert all(cell.data_type != "f" for cell in cells)
        assert [cell.value for cell in cells][:2] == ["Quercus rubra", "=HYPERLINK(A1)"]

    def test_pages_ask_the_database_the_same_however_long(self, planner, django_assert_max_num_queries):
        line = line_of(5)
        for _ in range(5):
            came(line, 1)
        for address in ("/replanting/nursery/", f"/replanting/nursery/{line.order_id}/"):
            with django_assert_max_num_queries(9):
                assert planner.get(address).status_code == 200
        for _ in range(5):
            chosen()
        with django_assert_max_num_queries(9):
            assert planner.get("/replanting/nursery/new/").status_code == 200
