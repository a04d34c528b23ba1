"""What a rule says of a removed tree, and where it is silent."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.units import CM_PER_IN
from replanting.owed import CLASSES, FORMS, ONE, PRINTED, TABLE, Removed, Row, Rule, Silent, count, faults

BY_CLASS = Rule(CLASSES, PRINTED[CLASSES], section="§ 1")


def test_one_for_one_asks_for_no_diameter():
    assert count(Rule(), Removed(None)).trees == 1


def test_below_the_smallest_class_one_is_owed_all_the_same():
    found = count(BY_CLASS, Removed(10.0))
    assert found.trees == 1
    assert "below the city’s smallest class" in found.words


@pytest.mark.parametrize(("what", "counted"), [("dead", "dead_counted"), ("diseased", "diseased_counted")])
def test_what_a_city_does_not_count_is_owed_one_for_one(what, counted):
    big = Removed(90.0, **{what: True})
    assert count(BY_CLASS, big).trees == 4
    spared = count(Rule(CLASSES, PRINTED[CLASSES], **{counted: False}), big)
    assert (spared.trees, spared.words) == (1, f"{what} trees are not counted: one for one")


def test_the_section_is_that_of_the_row_or_of_the_rule():
    rows = (Row(10, 1, "§ 1.2"), Row(30, 2))
    rule = Rule(CLASSES, rows, section="§ 1")
    assert [count(rule, Removed(cm)).section for cm in (15.0, 40.0)] == ["§ 1.2", "§ 1"]


def test_a_tree_that_nobody_measured_is_not_guessed():
    with pytest.raises(Silent, match="never measured"):
        count(BY_CLASS, Removed(None))


def test_beyond_its_end_the_table_is_silent_and_not_stretched():
    with pytest.raises(Silent, match="beyond the end of the city’s table"):
        count(Rule(TABLE, PRINTED[TABLE]), Removed(61 * CM_PER_IN))


@given(form=st.sampled_from(FORMS), inches=st.floats(0.5, 60))
def test_at_least_one_is_owed_and_the_trees_make_up_the_inches(form, inches):
    rule = Rule(form, PRINTED[form])
    found = count(rule, Removed(inches * CM_PER_IN))
    assert found.trees >= 1
    assert found.trees * rule.stock_cm >= found.cm - 1e-6


@pytest.mark.parametrize("form", FORMS)
def test_the_rows_in_print_are_a_rule(form):
    assert faults(Rule(form, PRINTED[form])) == []


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        (Rule("by hope"), "no way of counting"),
        (Rule(ONE, (Row(0, 1),)), "needs no rows"),
        (Rule(CLASSES), "needs a row"),
        (Rule(CLASSES, (Row(10, 1.5),)), "counted whole"),
        (Rule(CLASSES, (Row(10, 51),)), "out of bounds"),
        (Rule(CLASSES, (Row(10, 1), Row(10, 2))), "Two rows begin at"),
        (Rule(CLASSES, (Row(10, 0), Row(20, 2))), "The table ends at"),
        (Rule(stock_cm=0), "caliper"),
    ],
)
def test_a_rule_that_cannot_be_is_said(rule, said):
    assert said in faults(rule)[0]
