"""Workers, their tickets, and the crew of an order: what is kept, and what stops the day and the felling."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.access import Role
from inventory.errors import Refused
from inventory.record import Actor
from removals import crew_work, workflow
from removals.crew_work import TicketFacts
from removals.felling_input import Haul
from removals.lines import Tackle, line_by_winch
from removals.models import MethodChoice, Ticket, Worker
from tests.removals.builders import CREW, Story, inputs, workers

DAY = dt.timedelta(days=1)


@pytest.fixture
def story(cast) -> Story:
    return Story(cast)


def schedule(story: Story, on: dt.date):
    return workflow.schedule(by=story.manager, order=story.order, scheduled_for=on, crew_lead=story.lead.user)


def end_ticket(name: str, kind: str, on: dt.date) -> None:
    Ticket.objects.filter(worker__name=name, kind=kind).update(expires_on=on)


# ---- The crew of an order --------------------------------------------------------------------------------------------


def test_a_crew_is_named_whole_and_the_next_takes_its_place(story):
    story.prepared()
    crew_work.name_crew(by=story.lead, order=story.order, crew=workers((("Di Elm", "feller"), ("Cy Rowan", "spotter"))))
    assert [(member.name, member.role) for member in crew_work.crew_of(story.order)] == [
        ("Di Elm", "feller"),
        ("Cy Rowan", "spotter"),
    ]


@pytest.mark.parametrize(
    ("crew", "why"),
    [
        ((("Ada Larch", "feller"), ("Ada Larch", "spotter")), "named twice"),
        ((("Ada Larch", "owner"),), "no role in a crew"),
    ],
)
def test_each_has_one_place_in_a_role_that_is_known(story, crew, why):
    with pytest.raises(Refused, match=why):
        crew_work.name_crew(by=story.lead, order=story.order, crew=workers(crew))


def test_who_has_left_is_not_named(story):
    crew = workers()
    Worker.objects.update(active=False)
    crew = [(Worker.objects.get(pk=worker.pk), role) for worker, role in crew]
    with pytest.raises(Refused, match="does not work here any more"):
        crew_work.name_crew(by=story.lead, order=story.order, crew=crew)


@pytest.mark.parametrize("role", Role)
def test_who_may_name_a_crew_and_keep_workers(story, cast, role):
    by = Actor(cast[role])
    if role in {Role.CREW_LEAD, Role.MANAGER}:
        assert len(crew_work.name_crew(by=by, order=story.order, crew=workers())) == len(CREW)
    else:
        with pytest.raises(Refused, match="may not"):
            crew_work.name_crew(by=by, order=story.order, crew=workers())
    if role is Role.MANAGER:
        assert crew_work.save_worker(by=by, name="Di Elm").pk
    else:
        with pytest.raises(Refused, match="may not schedule"):
            crew_work.save_worker(by=by, name="Di Elm")


def test_the_crew_of_a_felled_tree_is_a_matter_of_record(story):
    story.felled()
    with pytest.raises(Refused, match="a matter of record"):
        crew_work.name_crew(by=story.lead, order=story.order, crew=workers())


# ---- Tickets, to the exact day ---------------------------------------------------------------------------------------


def test_a_ticket_that_ends_on_the_day_of_the_work_still_holds(story):
    story.prepared()
    end_ticket("Ada Larch", "feller", story.today + DAY)
    assert schedule(story, story.today + DAY).state == "scheduled"


def test_a_ticket_that_ends_the_day_before_stops_the_schedule(story):
    story.prepared()
    end_ticket("Ada Larch", "feller", story.today)
    with pytest.raises(Refused, match="Ada Larch is named as feller, but the feller ticket ends on"):
        schedule(story, story.today + DAY)


def test_a_ticket_that_has_ended_stops_the_felling(story):
    story.ready()
    end_ticket("Ada Larch", "feller", story.today - DAY)
    with pytest.raises(Refused, match="the feller ticket ends on"):
        story.fell()


def test_a_scheduled_order_takes_no_crew_that_may_not_do_the_work(story):
    story.scheduled()
    end_ticket("Ada Larch", "feller", story.today - DAY)
    with pytest.raises(Refused, match="the feller ticket ends on"):
        crew_work.name_crew(by=story.lead, order=story.order, crew=workers())


def test_a_day_may_be_fixed_before_the_crew_is_named_but_nobody_fells_without_one(story):
    story.prepared()
    story.order.crew.all().delete()
    schedule(story, story.today)
    story.briefed()
    with pytest.raises(Refused, match="No crew has been named"):
        story.fell()


def test_a_winch_asks_for_an_operator(story):
    story.prepared()
    line = line_by_winch(12_000, 10.0, 25.0, tackle=Tackle())
    assert line.haul is Haul.WINCH
    story.planned(inputs(line=line))
    Ticket.objects.filter(kind="operator").delete()
    with pytest.raises(Refused, match=r"Nobody in the crew holds an operator ticket on .* and the winch needs one"):
        schedule(story, story.today)


def test_a_climb_asks_for_a_climber(story):
    story.prepared()
    MethodChoice.objects.create(
        order=story.order, method="dismantled by a climber", reason="No room", comparison={}, chosen_at=timezone.now()
    )
    Ticket.objects.filter(kind="climber").delete()
    with pytest.raises(Refused, match=r"a climber ticket on .* and a tree dismantled by a climber needs one"):
        schedule(story, story.today)


# ---- Workers ---------------------------------------------------------------------------------------------------------


def test_a_worker_keeps_the_tickets_that_were_given_last(story):
    facts = {"feller": TicketFacts(story.today, "F-1"), "climber": TicketFacts(story.today)}
    worker = crew_work.save_worker(by=story.manager, name="Di  Elm", tickets=facts)
    crew_work.save_worker(by=story.manager, worker=worker, name="Di Elm", tickets={"feller": TicketFacts(story.today)})
    assert list(worker.tickets.values_list("kind", "number")) == [("feller", "")]


def test_a_name_is_kept_once_whatever_its_letters(story):
    crew_work.save_worker(by=story.manager, name="Di Elm")
    with pytest.raises(Refused, match="is a worker called di elm already"):
        crew_work.save_worker(by=story.manager, name="di elm")


def test_the_pages_add_change_and_list_workers(as_role, story):
    manager, page = as_role(Role.MANAGER), reverse("removals:workers")
    soon, gone = story.today + DAY, story.today - DAY
    sent = {"name": "Di Elm", "active": "on", "feller_until": soon.isoformat(), "first_aid_until": gone.isoformat()}
    assert manager.post(reverse("removals:add_worker"), sent).url == page
    shown = manager.get(page).content.decode()
    assert "ends soon" in shown
    assert "has ended" in shown
    manager.post(reverse("removals:worker", args=[Worker.objects.get().pk]), {"name": "Di Elm"})
    assert (Worker.objects.get().active, Ticket.objects.count()) == (False, 0)


def test_the_page_names_a_crew_and_shows_its_refusals(as_role, story):
    order, lead = story.scheduled().order, as_role(Role.CREW_LEAD)
    page = reverse("removals:crew", args=[order.pk])
    people = dict(Worker.objects.values_list("name", "pk"))

    def sent(*rows):
        fields = {f"form-{n}-{key}": value for n, row in enumerate(rows) for key, value in row.items()}
        return {"form-TOTAL_FORMS": len(rows), "form-INITIAL_FORMS": 0, **fields}

    feller = {"worker": people["Bo Hazel"], "role": "feller"}
    alone = lead.post(page, sent(feller))
    assert "nobody saws alone" in alone.content.decode()
    assert (
        lead.post(page, sent(feller, {"worker": people["Cy Rowan"], "role": "spotter"}, {"worker": ""})).status_code
        == 302
    )
    assert [member.name for member in crew_work.crew_of(order)] == ["Bo Hazel", "Cy Rowan"]
