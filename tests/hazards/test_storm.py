"""The order of danger to people after a storm, and what a record for reimbursement asks for."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hazards.matrix import Occupancy
from hazards.storm import (
    ENERGISED,
    PEOPLE_FIRST,
    SIZE_MAX_CM,
    Claim,
    Find,
    FindKind,
    Group,
    cautions,
    danger_key,
    group_of,
    reimbursement,
    why,
)

K, O = FindKind, Occupancy  # noqa: E741 - the two are in every line below

kinds = st.sampled_from(FindKind)
uses = st.sampled_from(Occupancy)
sizes = st.none() | st.floats(0.1, SIZE_MAX_CM)
finds = st.builds(Find, kind=kinds, occupancy=uses, wires=st.booleans(), emergency_way=st.booleans(), size_cm=sizes)

IN_ORDER = [
    Find(K.PEOPLE_TRAPPED, O.RARE, size_cm=5),
    Find(K.WIRES_DOWN, O.CONSTANT, size_cm=40),
    Find(K.UPROOTED, O.RARE, wires=True, size_cm=3),
    Find(K.BLOCKED_WAY, O.OCCASIONAL, emergency_way=True, size_cm=10),
    Find(K.HANGING_LIMB, O.CONSTANT, size_cm=8),
    Find(K.SPLIT, O.FREQUENT, size_cm=60),
    Find(K.NEW_LEAN, O.RARE, size_cm=10),
    Find(K.ON_STRUCTURE, O.CONSTANT, size_cm=30),
    Find(K.UPROOTED, O.FREQUENT, size_cm=90),
    Find(K.HANGING_LIMB, O.OCCASIONAL, size_cm=30),
    Find(K.HANGING_LIMB, O.OCCASIONAL, size_cm=12),
    Find(K.BLOCKED_WAY, O.RARE, size_cm=80),
]


class TestOrder:
    def test_is_the_documented_one(self):
        assert sorted(IN_ORDER[7:] + IN_ORDER[:7], key=danger_key) == IN_ORDER

    @given(finds)
    def test_fits_a_column_of_the_database(self, find):
        assert 0 <= danger_key(find) < 2**31

    @given(finds, uses)
    def test_more_use_never_comes_later(self, find, use):
        other = Find(find.kind, use, find.wires, find.emergency_way, find.size_cm)
        more, less = sorted((find, other), key=lambda each: each.occupancy.rank, reverse=True)
        assert danger_key(more) <= danger_key(less)

    @given(finds, st.floats(0.1, SIZE_MAX_CM), st.floats(0.1, SIZE_MAX_CM))
    def test_a_larger_one_never_comes_later(self, find, one, other):
        large, small = max(one, other), min(one, other)
        sized = [Find(find.kind, find.occupancy, find.wires, find.emergency_way, size) for size in (large, small)]
        assert danger_key(sized[0]) <= danger_key(sized[1])

    @given(finds)
    def test_what_is_not_measured_never_comes_later(self, find):
        unmeasured = Find(find.kind, find.occupancy, find.wires, find.emergency_way)
        assert danger_key(unmeasured) <= danger_key(find)

    @given(finds)
    def test_wires_and_a_blocked_way_never_put_it_later(self, find):
        assert danger_key(Find(find.kind, find.occupancy, True, find.emergency_way, find.size_cm)) <= danger_key(find)
        assert danger_key(Find(find.kind, find.occupancy, find.wires, True, find.size_cm)) <= danger_key(find)

    @given(finds, finds)
    def test_a_graver_group_comes_first_whatever_the_rest(self, one, other):
        if group_of(one).rank < group_of(other).rank:
            assert danger_key(one) < danger_key(other)

    @given(finds)
    def test_says_why_from_the_same_inputs(self, find):
        said = why(find)
        assert find.occupancy.value in said
        assert ("not measured" in said) == (find.size_cm is None)
        assert (group_of(find) is Group.REST) == ("after what hangs" in said)
        assert said.count(".") >= 1
        assert len(said) <= 300

    @pytest.mark.parametrize("size_cm", [0, -1, SIZE_MAX_CM + 1])
    def test_a_size_out_of_bounds_is_refused(self, size_cm):
        with pytest.raises(ValueError, match="out of bounds"):
            Find(K.SPLIT, O.RARE, size_cm=size_cm)


@given(finds)
def test_wires_carry_their_caution_wherever_they_are(find):
    assert (ENERGISED in cautions(find)) == (find.wires or find.kind is K.WIRES_DOWN)
    assert (PEOPLE_FIRST in cautions(find)) == (find.kind is K.PEOPLE_TRAPPED)


class TestReimbursement:
    """FEMA's public assistance programme and policy guide: hazardous limbs from 2 in at the break over a used area (read in
    part); hazardous trees from 6 in at 4.5 ft with half of the crown lost, a split trunk, uprooted, or leaning more than 30
    degrees with disturbed ground (the last two lines from memory)."""

    @pytest.mark.parametrize(
        ("claim", "reached"),
        [
            (Claim(K.HANGING_LIMB, size_cm=5.08, much_used=True), 1),
            (Claim(K.HANGING_LIMB, size_cm=5.07, much_used=True), 0),
            (Claim(K.HANGING_LIMB, size_cm=20, much_used=False), 0),
            (Claim(K.HANGING_LIMB, much_used=True), 0),
            (Claim(K.UPROOTED, dbh_cm=15.24), 1),
            (Claim(K.UPROOTED, dbh_cm=15.2), 0),
            (Claim(K.SPLIT, dbh_cm=30), 1),
            (Claim(K.NEW_LEAN, dbh_cm=30, lean_deg=31), 1),
            (Claim(K.NEW_LEAN, dbh_cm=30, lean_deg=30), 0),
            (Claim(K.BLOCKED_WAY, dbh_cm=30, crown_lost_pct=50), 1),
            (Claim(K.BLOCKED_WAY, dbh_cm=30, crown_lost_pct=49), 0),
        ],
    )
    def test_lines(self, claim, reached):
        assert len(reimbursement(claim).meets) == reached

    def test_says_what_the_record_lacks(self):
        lacks = reimbursement(Claim(K.UPROOTED)).missing
        assert lacks == (
            "its position",
            "a photo",
            "whether it stands on public ground",
            "the diameter at breast height, 4.5 ft (1.37 m)",
            "the stump's diameter at 2 ft (0.6 m)",
        )

    def test_a_whole_record_lacks_nothing(self):
        claim = Claim(K.UPROOTED, dbh_cm=40, stump_cm=45, located=True, photographed=True, public_property=False)
        assert reimbursement(claim).missing == ()
