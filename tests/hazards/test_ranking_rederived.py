"""The ranking of a made-up city, worked out a second time in pandas from what the inspectors recorded."""

from dataclasses import replace

import pandas as pd
import pytest

from hazards.city_policy import change_policy
from hazards.models import Assessment, Inspection, Standing
from hazards.policy import DEFAULT
from hazards.triage import Criterion
from inventory.models import Tree
from tests.hazards.random_city import random_city

pytestmark = pytest.mark.django_db
DAYS_TO_WORK = {"extreme": 1, "high": 28, "moderate": 365}
WORST = {
    "rating": ["extreme", "high", "moderate", "low"],
    "failure_and_impact": ["very likely", "likely", "somewhat likely", "unlikely"],
    "consequences": ["severe", "significant", "minor", "negligible"],
    "occupancy": ["constant", "frequent", "occasional", "rare"],
}

OWN_ORDER = ["failure_and_impact", "consequences", "occupancy", "decline", "since", "sturdy", "due"]


def looks_in_force() -> pd.DataFrame:
    """Rated looks that count: the last at level 2 or 3 and those at level 1 after it."""
    looks = pd.DataFrame(Inspection.objects.values())
    looks = looks[~looks["id"].isin(looks["supersedes_id"].dropna()) & ~looks["tree_was_removed"]]
    looks = looks[looks["id"].isin(Assessment.objects.values_list("inspection_id", flat=True))]
    looks["order"] = list(zip(looks["observed_at"], looks["id"], strict=True))
    looks = looks.sort_values("order")
    last_full = looks[looks["level"] >= 2].groupby("tree_id")["order"].last()
    after = looks["tree_id"].map(last_full)
    return looks[[pd.isna(full) or order >= full for order, full in zip(looks["order"], after, strict=True)]]


def declining() -> dict[int, int]:
    """Tree → day from which its last looks found it dying without a break, where the last one did."""
    looks = pd.DataFrame(Inspection.objects.values())
    looks = looks[~looks["id"].isin(looks["supersedes_id"].dropna()) & ~looks["tree_was_removed"]]
    looks = looks.assign(order=list(zip(looks["observed_at"], looks["id"], strict=True))).sort_values("order")
    looks["other"] = looks["condition"] != "dying"
    looks["others_after"] = looks[::-1].groupby("tree_id")["other"].cumsum()
    run = looks[looks["others_after"] == 0].groupby("tree_id")["observed_at"].first()
    return {int(tree): seen.toordinal() for tree, seen in run.items()}


def expected_ranking(order: list[str]) -> list[int]:
    rows = pd.DataFrame(Assessment.objects.values()).merge(
        looks_in_force()[["id", "tree_id", "observed_at"]], left_on="inspection_id", right_on="id"
    )
    for name, words in WORST.items():
        rows[name] = rows[name].map(words.index)
    rows["imminent"] = rows["failure"] == "imminent"
    days = rows["rating"].map(lambda rank: DAYS_TO_WORK.get(WORST["rating"][rank], 10**6))
    days = days.where(~rows["imminent"], 1)
    rows["due"] = [seen.toordinal() + int(n) for seen, n in zip(rows["observed_at"], days, strict=True)]
    trees = rows.sort_values(list(WORST)).groupby("tree_id").first()[list(WORST)]
    trees["calm"] = ~rows.groupby("tree_id")["imminent"].any()
    due = rows.groupby("tree_id")["due"].min()
    trees["due"] = due.where(due < 10**6, 10**7)
    facts = pd.DataFrame(
        Tree.objects.values("id", "tag", "status", "condition", "dead_since", "species__flag")
    ).set_index("id")
    trees = trees.join(facts)
    trees["decline"] = 2 - (trees["status"] == "dead standing") * 2 - (trees["condition"] == "dying") * 1
    dead = [day.toordinal() if day else 0 for day in trees["dead_since"]]
    dying = [seen.get(tree, 0) for seen in [declining()] for tree in trees.index]
    trees["since"] = pd.Series([10**7] * len(trees), index=trees.index)
    trees["since"] = trees["since"].mask(trees["decline"] == 1, dying).mask(trees["decline"] == 0, dead)
    trees["sturdy"] = ~trees["species__flag"].str.contains("weak wood")
    return list(trees.sort_values(["calm", "rating", *order, "tag"]).index)


def test_the_ranking_is_as_worked_out_a_second_time():
    random_city()
    expected = expected_ranking(OWN_ORDER)
    assert len(expected) > 20
    assert list(Standing.objects.ranked().values_list("tree_id", flat=True)) == expected


def test_so_is_the_ranking_in_an_order_of_the_citys_own(by_manager):
    random_city()
    order = (Criterion.DECLINE, Criterion.OCCUPANCY, Criterion.DUE, Criterion.CONSEQUENCES)
    change_policy(by=by_manager, policy=replace(DEFAULT, order=order), seen=0)
    expected = expected_ranking(["decline", "since", "occupancy", "due", "consequences"])
    assert list(Standing.objects.ranked().values_list("tree_id", flat=True)) == expected
    assert expected != expected_ranking(OWN_ORDER)
