"""What one more tree does to a stand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from replanting.diversity import Taxon, diversity, mix

RED_OAK = Taxon("Quercus rubra", "Quercus", "Fagaceae")
SWAMP_OAK = Taxon("Quercus bicolor", "Quercus", "Fagaceae")
BEECH = Taxon("Fagus grandifolia", "Fagus", "Fagaceae")
ELM = Taxon("Ulmus americana", "Ulmus", "Ulmaceae")
STAND = {RED_OAK: 5, BEECH: 3, ELM: 91}


def shares(stand, candidate):
    return {share.rank: share for share in mix(stand).effect(candidate)}


def test_one_more_tree_counts_at_each_rank():
    found = shares(STAND, SWAMP_OAK)
    assert [(found[rank].before, found[rank].total_before) for rank in ("species", "genus", "family")] == [
        (0, 99),
        (5, 99),
        (8, 99),
    ]
    assert [found[rank].after_pct for rank in ("species", "genus", "family")] == pytest.approx([1, 6, 9])


def test_a_share_above_the_guide_says_so():
    found = shares(STAND, ELM)
    assert found["species"].after_pct == pytest.approx(92)
    assert all(share.above_guide for share in found.values())
    assert not any(share.above_guide for share in shares(STAND, BEECH).values())


def test_the_first_tree_of_a_stand_is_all_of_it():
    assert [(share.before_pct, share.after_pct) for share in shares({}, ELM).values()] == [(0, 100)] * 3


def test_a_rank_that_is_not_known_is_left_out():
    assert set(shares(STAND, Taxon("Ulmus", "Ulmus", ""))) == {"species", "genus"}


def test_a_stand_without_trees_has_no_diversity():
    with pytest.raises(ValueError, match="at least one"):
        diversity([0, 0])


TAXA = st.sampled_from([RED_OAK, SWAMP_OAK, BEECH, ELM])


@given(stand=st.dictionaries(TAXA, st.integers(0, 500)), candidate=TAXA)
def test_planting_never_lowers_the_share_of_what_is_planted(stand, candidate):
    for share in mix(stand).effect(candidate):
        assert share.after_pct >= share.before_pct
        assert share.after_pct <= 100
