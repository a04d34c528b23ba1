"""The floor of a crew, and tickets to the exact day. Two people and three with a line are common practice, no source."""

import datetime as dt

import pytest

from removals.crew_rules import CLIMBER, OPERATOR, Member, crew_gaps, crew_notices, tickets_needed
from removals.methods import Method

DAY = dt.date(2026, 5, 4)
NEXT = DAY + dt.timedelta(days=1)


def member(name: str, role: str, **tickets: dt.date) -> Member:
    return Member(name, role, tickets, first_aid_until=DAY)


FELLER = member("Ada Larch", "feller", feller=NEXT)
PULLER = member("Bo Hazel", "puller")
SPOTTER = member("Cy Rowan", "spotter")


def test_two_are_a_crew_without_a_line_and_three_with_one():
    assert crew_gaps([FELLER, SPOTTER], DAY, pull_line=False) == ()
    assert crew_gaps([FELLER, PULLER, SPOTTER], DAY, pull_line=True) == ()
    assert crew_gaps([FELLER, PULLER], DAY, pull_line=True) == ("The crew counts 2, and a pull line needs 3.",)


@pytest.mark.parametrize(
    ("crew", "line", "sentence"),
    [
        ([], False, "No crew has been named for this order."),
        ([FELLER], False, "The crew counts 1, and nobody saws alone: it needs 2."),
        ([PULLER, SPOTTER], False, "Nobody in the crew is named as feller."),
        ([FELLER, SPOTTER, SPOTTER], True, "Nobody in the crew is named as puller, and the plan has a pull line."),
    ],
)
def test_what_a_crew_lacks_is_said_in_a_sentence(crew, line, sentence):
    assert crew_gaps(crew, DAY, pull_line=line) == (sentence,)


def test_a_ticket_holds_to_the_end_of_its_last_day():
    crew = [member("Ada Larch", "feller", feller=DAY), SPOTTER]
    assert crew_gaps(crew, DAY, pull_line=False) == ()
    assert crew_gaps(crew, NEXT, pull_line=False) == (
        "Ada Larch is named as feller, but the feller ticket ends on 4 May 2026, before the work on 5 May 2026.",
    )


def test_a_feller_without_a_ticket_is_named():
    gaps = crew_gaps([member("Ada Larch", "feller"), SPOTTER], DAY, pull_line=False)
    assert gaps == ("Ada Larch is named as feller, but has no feller ticket.",)


def test_each_of_two_fellers_needs_a_ticket():
    gaps = crew_gaps([FELLER, member("Di Elm", "feller")], DAY, pull_line=False)
    assert [gap.split(" is named")[0] for gap in gaps] == ["Di Elm"]


@pytest.mark.parametrize(
    ("method", "winch", "kinds"),
    [
        ("", False, set()),
        ("", True, {OPERATOR}),
        (Method.FELLED, False, set()),
        (Method.PULLED, True, {OPERATOR}),
        (Method.CLIMBED, False, {CLIMBER}),
        (Method.CLIMBED, True, {CLIMBER, OPERATOR}),
        (Method.LIFT, False, {OPERATOR}),
        (Method.CRANE, False, {OPERATOR}),
        (Method.MACHINE, False, {OPERATOR}),
    ],
)
def test_the_method_and_the_winch_say_which_tickets_are_needed(method, winch, kinds):
    assert set(tickets_needed(method, winch=winch)) == kinds


def test_somebody_must_hold_the_operator_ticket_on_the_day():
    needed = tickets_needed("", winch=True)
    operator = member("Bo Hazel", "puller", operator=DAY)
    crew = [FELLER, operator, SPOTTER]
    assert crew_gaps(crew, DAY, pull_line=True, needed=needed) == ()
    assert crew_gaps(crew, NEXT, pull_line=True, needed=needed) == (
        "Nobody in the crew holds an operator ticket on 5 May 2026, and the winch needs one (Bo Hazel: the operator "
        "ticket ends on 4 May 2026, before the work on 5 May 2026).",
    )
    assert crew_gaps([FELLER, PULLER, SPOTTER], DAY, pull_line=True, needed=needed) == (
        "Nobody in the crew holds an operator ticket on 4 May 2026, and the winch needs one.",
    )


def test_a_ticket_that_ends_soon_is_told_and_one_that_ends_later_is_not():
    last, later = DAY + dt.timedelta(days=60), DAY + dt.timedelta(days=61)
    crew = [member("Ada Larch", "feller", feller=last), member("Bo Hazel", "puller", operator=later)]
    assert crew_notices(crew, DAY) == ("Ada Larch: the feller ticket ends soon, on 3 Jul 2026.",)


def test_nobody_trained_in_first_aid_is_told():
    assert crew_notices([FELLER, PULLER], DAY) == ("Ada Larch: the feller ticket ends soon, on 5 May 2026.",)
    assert "Nobody in the crew has first-aid training that is valid on 5 May 2026." in crew_notices([FELLER], NEXT)
