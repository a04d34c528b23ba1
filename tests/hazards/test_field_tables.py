"""The rules as data: what a tablet looks up is what the server works out."""

import json

from hazards.field.tables import rules
from hazards.matrix import Failure, Rating
from hazards.options import LEAVES_AS_IT_IS


def test_the_rules_are_plain_data_and_small() -> None:
    assert len(json.dumps(rules())) < 60_000


def test_words_stand_by_rank_so_that_a_cell_is_found_by_its_place() -> None:
    tables = rules()
    assert tables["failure"] == ["improbable", "possible", "probable", "imminent"]
    # Probable to fail and high to hit is likely; likely with severe consequences is high (the published tables).
    assert tables["likelihood"]["probable"][tables["impact"].index("high")] == "likely"
    assert tables["rating"]["likely"][tables["consequences"].index("severe")] == "high"


def test_a_mitigation_makes_nothing_worse() -> None:
    after = rules()["mitigation"]["after"]
    assert after["rating"][Rating.MODERATE.value] == ["low", "moderate"]
    assert after["failure"][Failure.IMPROBABLE.value] == ["improbable"]


def test_watching_a_tree_changes_none_of_its_picks() -> None:
    kinds = rules()["mitigation"]["kinds"]
    assert {kind["value"] for kind in kinds if not kind["changes"]} == set(LEAVES_AS_IT_IS)


def test_each_sentence_names_the_picks_that_call_for_it() -> None:
    said = rules()["advice"]
    assert said["urgent"]["words"] == ["imminent"]
    assert said["long_dead"]["words"] == ["improbable", "possible"]
    assert said["out_of_reach"]["words"] == ["low", "medium", "high"]


def test_the_walk_keeps_its_order_and_its_measures() -> None:
    chapters = rules()["defects"]
    assert [chapter["part"] for chapter in chapters] == ["roots", "root collar", "trunk", "union", "limb", "crown"]
    lean = next(kind for kind in chapters[2]["kinds"] if kind["name"] == "lean")
    assert lean["measure"] == {"unit": "°", "of": "from upright", "maximum": 90}
