"""How many trees, and how many inches of caliper, a city owes for a removed tree: the forms in print, by the city's own rows.

The forms (general wording of municipal codes): one for one; trees by diameter class; trees by a table of inches; inches by a
ratio for each class; inch for inch; half of the inches; units of basal area, a unit being 1 ft² (a stem of 13.54 in). Every
number is a row of the city's table with its section; `PRINTED` holds rows to begin with. A diameter is that at breast height,
of one tree at a time; several stems count as the one stem of equal area.

A row holds from its diameter up to the next row's, and an amount of 0 ends the table: of what is larger it does not speak.
A tree below the first row, and a dead or diseased one that the city does not count, is owed one for one: that is this
program's promise, and to let it go takes a waiver. A part of a tree is owed as a whole one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from inventory.units import CM_PER_IN, M_PER_FT

ONE = "one for one"
CLASSES = "trees by diameter class"
TABLE = "trees by a table of inches"
RATIO = "inches by diameter class"
INCH = "inch for inch"
HALF = "half of the inches"
BASAL = "units of basal area"
FORMS = (ONE, CLASSES, TABLE, RATIO, INCH, HALF, BASAL)
IN_TREES, IN_INCHES = (CLASSES, TABLE), (RATIO, INCH, HALF)

CALIPER_2_IN_CM = 2 * CM_PER_IN
UNIT_CM2 = (100 * M_PER_FT) ** 2
AMOUNT_MOST, CALIPER_MOST_CM = 50.0, 30.0


class Silent(ValueError):
    """The rule does not speak of the tree; the sentence says why, and a person fixes the number."""


@dataclass(frozen=True)
class Row:
    """From this diameter on: trees, inches for each inch, or trees for each unit of basal area, by the form."""

    from_cm: float
    amount: float
    section: str = ""


@dataclass(frozen=True)
class Rule:
    """``counted_cm``: caliper of the trees that the rows count; ``stock_cm``: of those that the city plants."""

    form: str = ONE
    rows: tuple[Row, ...] = ()
    section: str = ""
    counted_cm: float = CALIPER_2_IN_CM
    stock_cm: float = CALIPER_2_IN_CM
    dead_counted: bool = True
    diseased_counted: bool = True


@dataclass(frozen=True)
class Removed:
    """What was removed; ``dbh_cm`` None: nobody measured it."""

    dbh_cm: float | None
    dead: bool = False
    diseased: bool = False


@dataclass(frozen=True)
class Count:
    """``trees`` owed, one or more; ``cm`` the same as a sum of calipers; ``words`` how it was counted."""

    trees: int
    cm: float
    section: str
    words: str


def count(rule: Rule, removed: Removed) -> Count:
    """What is owed for one tree; Silent when the rule cannot say."""
    if rule.form == ONE:
        return Count(1, rule.stock_cm, rule.section, "one for one")
    if spared := _spared(rule, removed):
        return Count(1, rule.stock_cm, rule.section, f"{spared}: one for one")
    if removed.dbh_cm is None:
        raise Silent("Its diameter was never measured, and the city counts by diameter.")
    row = _row(rule.rows, removed.dbh_cm)
    if row is None:
        words = (
            f"{_size(removed.dbh_cm)}, below the city’s smallest class of {_size(rule.rows[0].from_cm)}: one for one"
        )
        return Count(1, rule.stock_cm, rule.section, words)
    if not row.amount:
        raise Silent(f"Its {_size(removed.dbh_cm)} lie beyond the end of the city’s table at {_size(row.from_cm)}.")
    return _by_row(rule, row, removed.dbh_cm)


def _spared(rule: Rule, removed: Removed) -> str:
    """What the city does not count, in a word."""
    if removed.dead and not rule.dead_counted:
        return "dead trees are not counted"
    return "diseased trees are not counted" if removed.diseased and not rule.diseased_counted else ""


def _row(rows: Sequence[Row], dbh_cm: float) -> Row | None:
    return next((row for row in reversed(rows) if row.from_cm <= dbh_cm), None)


def _by_row(rule: Rule, row: Row, dbh_cm: float) -> Count:
    section = row.section or rule.section
    if rule.form in IN_INCHES:
        cm = dbh_cm * row.amount
        return Count(_whole(cm / rule.stock_cm), cm, section, f"{row.amount:g} in for each inch of {_size(dbh_cm)}")
    if rule.form in IN_TREES:
        counted, words = _whole(row.amount), f"{_size(dbh_cm)}, the class from {_size(row.from_cm)}"
    else:
        units = basal_units(dbh_cm)
        counted, words = _whole(units * row.amount), f"{units:.2f} units of 1 ft² basal area at {row.amount:g} a unit"
    cm = counted * rule.counted_cm
    said = f"{words}: {counted} of {_size(rule.counted_cm)}"
    return Count(_whole(cm / rule.stock_cm), cm, section, said)


def basal_units(dbh_cm: float) -> float:
    """Units of 1 ft² of basal area, π/4 dbh²."""
    return math.pi / 4 * dbh_cm**2 / UNIT_CM2


def _whole(number: float) -> int:
    """A part of a tree is a whole one; the rounding keeps 3.0000000001 from being four."""
    return max(1, math.ceil(round(number, 6)))


def _size(cm: float) -> str:
    return f"{cm:.1f} cm ({cm / CM_PER_IN:.1f} in)"


def faults(rule: Rule) -> list[str]:
    """Everything that keeps a city from taking the rule, a sentence each."""
    return [*_faults_of_rule(rule), *_faults_of_rows(rule)]


def _faults_of_rule(rule: Rule) -> Iterator[str]:
    if rule.form not in FORMS:
        yield f"“{rule.form}” is no way of counting; use {', '.join(FORMS)}."
    for caliper_cm in (rule.counted_cm, rule.stock_cm):
        if not 0 < caliper_cm <= CALIPER_MOST_CM:
            yield f"A caliper of {_size(caliper_cm)} is out of bounds; it is above 0 and up to {_size(CALIPER_MOST_CM)}."


def _faults_of_rows(rule: Rule) -> Iterator[str]:
    rows = rule.rows
    if rule.form == ONE and rows:
        yield "One for one needs no rows; leave them empty."
    if rule.form != ONE and not any(row.amount for row in rows):
        yield "This way of counting needs a row with an amount; enter from which diameter on how much is owed."
    for row in rows:
        if not 0 <= row.amount <= AMOUNT_MOST:
            yield f"An amount of {row.amount:g} is out of bounds; it is 0 to {AMOUNT_MOST:g}."
        if rule.form in IN_TREES and row.amount != round(row.amount):
            yield f"Trees are counted whole; {row.amount:g} from {_size(row.from_cm)} on is no number of trees."
    for one, following in pairwise(rows):
        if one.from_cm >= following.from_cm:
            yield f"Two rows begin at {_size(following.from_cm)}; give each its own diameter."
        if not one.amount:
            yield f"The table ends at {_size(one.from_cm)}; remove the rows behind it, or give that row an amount."


def _inches(*rows: tuple[float, float]) -> tuple[Row, ...]:
    return tuple(Row(inches * CM_PER_IN, amount) for inches, amount in rows)


# To begin with; the code of the city comes first. Edges of the ratio's classes are this program's example.
PRINTED: dict[str, tuple[Row, ...]] = {
    ONE: (),
    CLASSES: _inches((6, 1), (13, 2), (23, 3), (33, 4)),
    TABLE: _inches(
        *((2, 1), (4, 2), (7, 4), (13, 6), (19, 8), (25, 10), (31, 12), (37, 14), (43, 16), (49, 20)),
        (61, 0),
    ),
    RATIO: _inches((2.5, 0.5), (13, 1), (23, 2)),
    INCH: _inches((0, 1)),
    HALF: _inches((0, 0.5)),
    BASAL: _inches((0, 1)),
}
