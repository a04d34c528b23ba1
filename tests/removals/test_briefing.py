"""What a job briefing covers and who signs it."""

import pytest

from removals.briefing import ITEMS, checklist, crew_gaps, not_covered

# The subjects of a job briefing in 29 CFR 1910.269(c), from memory: hazards, procedures, precautions, energy sources,
# protective equipment.
REQUIRED_SUBJECTS = {"hazards", "procedure", "precautions", "wires", "ppe"}
# Common practice: what felling adds to them.
FELLING_SUBJECTS = {"roles", "signals", "drop_zone", "retreat", "saw", "weather", "emergency_card"}


def test_the_subjects_of_the_standard_and_of_felling_are_all_there():
    assert {item.key for item in ITEMS} >= REQUIRED_SUBJECTS | FELLING_SUBJECTS


def test_every_item_says_where_it_comes_from_and_is_named_once():
    assert all(item.source for item in ITEMS)
    assert len({item.key for item in ITEMS}) == len(ITEMS)


def test_the_line_is_on_the_list_only_when_there_is_one():
    with_line = {item.key for item in checklist(pull_line=True)}
    assert with_line - {item.key for item in checklist(pull_line=False)} == {"line"}


@pytest.mark.parametrize("left_out", checklist(pull_line=True), ids=lambda item: item.key)
def test_each_item_left_out_is_missed(left_out):
    checked = [item.key for item in checklist(pull_line=True) if item is not left_out]
    assert not_covered(checked, pull_line=True) == (left_out,)


@pytest.mark.parametrize(
    ("roles", "pull_line"),
    [
        (["feller", "spotter"], False),
        (["crew lead", "feller"], False),
        (["feller", "puller", "spotter"], True),
        (["crew lead", "feller", "puller"], True),
    ],
)
def test_a_whole_crew(roles, pull_line):
    assert crew_gaps(roles, pull_line=pull_line) == ()


@pytest.mark.parametrize(
    ("roles", "pull_line", "gap"),
    [
        ([], False, "2 people must sign because nobody saws alone; nobody did."),
        (["feller"], False, "2 people must sign because nobody saws alone; 1 did."),
        (["spotter", "crew lead"], False, "Nobody signed as feller."),
        (["feller", "puller"], True, "3 people must sign with a pull line; 2 did."),
        (["feller", "spotter", "crew lead"], True, "Nobody signed as puller, and the plan has a pull line."),
    ],
)
def test_what_a_crew_lacks(roles, pull_line, gap):
    assert gap in crew_gaps(roles, pull_line=pull_line)
