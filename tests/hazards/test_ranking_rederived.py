"""The ranking of a made-up city, worked out a second time in pandas from what the inspectors recorded."""

import pandas as pd
import pytest

from hazards.models import Assessment, Inspection, Standing
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


def expected_ranking() -> list[int]:
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
    facts = pd.DataFrame(Tree.objects.values("id", "status", "condition", "dead_since", "species__flag")).set_index(
        "id"
    )
    trees = trees.join(facts)
    trees["decline"] = 2 - (trees["status"] == "dead standing") * 2 - (trees["condition"] == "dying") * 1
    trees["since"] = [day.toordinal() if day else 10**7 for day in trees["dead_since"]]
    trees["sturdy"] = ~trees["species__flag"].str.contains("weak wood")
    trees["tree"] = trees.index
    return list(trees.sort_values(["calm", *WORST, "decline", "since", "sturdy", "due", "tree"]).index)


def test_the_ranking_is_as_worked_out_a_second_time():
    random_city()
    expected = expected_ranking()
    assert len(expected) > 20
    assert list(Standing.objects.ranked().values_list("tree_id", flat=True)) == expected
