"""Ways to lower a rating: what the tables make of them, which are refused, and that they are kept with the assessment."""

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction
from hypothesis import given
from hypothesis import strategies as st

from hazards.matrix import Consequences, Failure, Impact, Rating, rate
from hazards.models import Assessment, MitigationOption, Standing
from hazards.options import LEAVES_AS_IT_IS, MITIGATIONS, OptionPick, faults_of_options, residual_of
from inventory.errors import Refused
from tests.factories import TreeFactory
from tests.hazards.factories import EXTREME, TargetFactory, inspect, pick

PRUNED = OptionPick("prune", failure=Failure.POSSIBLE, chosen=True)
GONE = OptionPick("remove", residual_rating="low", note="Twelve metres from the road")


class Now:
    def __init__(self, failure: Failure, impact: Impact, consequences: Consequences):
        self.failure, self.impact, self.consequences = failure, impact, consequences
        self.rated = rate(failure, impact, consequences)


NOW = st.builds(Now, st.sampled_from(Failure), st.sampled_from(Impact), st.sampled_from(Consequences))
PICKS = {
    "failure": st.none() | st.sampled_from(Failure),
    "impact": st.none() | st.sampled_from(Impact),
    "consequences": st.none() | st.sampled_from(Consequences),
}
OPTIONS = st.builds(
    OptionPick,
    st.sampled_from(MITIGATIONS),
    residual_rating=st.sampled_from(["", *(rating.value for rating in Rating)]),
    chosen=st.just(True),
    **PICKS,
)


class TestRule:
    @given(now=NOW, option=OPTIONS)
    def test_what_is_taken_never_leaves_more_than_there_is_now(self, now, option):
        after = residual_of(option, now)
        left = after.rated.rating if after else Rating(option.residual_rating or "low")
        assert list(faults_of_options([option], now)) != [] or left.rank <= now.rated.rating.rank

    @given(now=NOW, option=OPTIONS)
    def test_to_look_again_lowers_no_pick(self, now, option):
        after = residual_of(option, now)
        if after and option.mitigation in LEAVES_AS_IT_IS and not list(faults_of_options([option], now)):
            assert after.rated == now.rated

    @given(now=NOW, mitigation=st.sampled_from(MITIGATIONS))
    def test_where_nothing_was_said_to_change_the_tables_say_nothing(self, now, mitigation):
        assert residual_of(OptionPick(mitigation), now) is None

    @pytest.mark.parametrize(
        ("options", "sentence"),
        [
            ((OptionPick("prune"),), "No option is advised; advise one of them."),
            ((OptionPick("prune", chosen=True),) * 2, "More than one option is advised"),
            ((OptionPick("hope", chosen=True),), "“hope” is not a mitigation"),
            ((OptionPick("prune", "low", failure=Failure.POSSIBLE, chosen=True),), "lead to moderate, not low"),
            ((OptionPick("prune", failure=Failure.IMMINENT, chosen=True),), "a mitigation makes nothing worse"),
            ((OptionPick("monitor", failure=Failure.POSSIBLE, chosen=True),), "“Monitor” changes nothing by itself"),
            ((OptionPick("prune", note="x" * 201, chosen=True),), "keep it to 200"),
            ((OptionPick("prune", chosen=True), *[OptionPick("prune")] * 6), "7 options are too many"),
        ],
    )
    def test_says_what_is_wrong(self, options, sentence):
        now = Now(Failure.PROBABLE, Impact.HIGH, Consequences.SEVERE)
        assert any(sentence in fault for fault in faults_of_options(options, now))


@pytest.mark.django_db
class TestKept:
    @pytest.fixture
    def tree(self):
        return TreeFactory()

    @pytest.fixture
    def target(self, tree):
        return TargetFactory(park=tree.park)

    def test_several_with_the_advised_one_first(self, tree, target):
        assessment = inspect(tree, pick(target, options=(GONE, PRUNED))).assessments.get()
        kept = assessment.options.values_list("mitigation", "residual_rating", "failure", "chosen", "note")
        assert list(kept) == [
            ("prune", "moderate", "possible", True, ""),
            ("remove", "low", "", False, "Twelve metres from the road"),
        ]
        assert (assessment.mitigation, assessment.residual_rating) == ("prune", "moderate")

    def test_one_said_in_short_is_the_advised_one(self, tree, target):
        assessment = inspect(tree, pick(target, mitigation="remove", residual_rating="low")).assessments.get()
        assert assessment.options.get().chosen

    def test_not_said_twice(self, tree, target):
        with pytest.raises(Refused, match="given twice"):
            inspect(tree, pick(target, options=(PRUNED,), mitigation="prune"))

    def test_an_option_changes_nothing_of_the_rating_of_today(self, tree, target):
        inspect(tree, pick(target, options=(PRUNED,)))
        assert Standing.objects.get(tree=tree).rating == "high"

    def test_the_trees_rating_is_its_highest_row(self, tree, target):
        inspect(tree, pick(target, failure=Failure.POSSIBLE), pick(target, part="limb", **EXTREME), pick(target))
        assert Standing.objects.get(tree=tree).rating == "extreme"

    def test_the_database_lets_none_be_changed(self, tree, target):
        option = inspect(tree, pick(target, options=(PRUNED,))).assessments.get().options.get()
        with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("UPDATE hazards_mitigationoption SET note = 'other' WHERE id = %s", [option.pk])
        option.refresh_from_db()
        assert option.note == ""

    @pytest.mark.parametrize(
        "facts",
        [
            {"mitigation": "prune", "chosen": True},
            {"mitigation": "prune", "failure": "possible", "impact": "high", "consequences": "severe"},
            {"mitigation": ""},
        ],
        ids=["a second advised one", "not what the tables say", "nothing to do"],
    )
    def test_the_database_holds_them_to_the_rules(self, tree, target, facts):
        inspect(tree, pick(target, options=(PRUNED,)))
        assessment = Assessment.objects.get()
        with pytest.raises(IntegrityError), transaction.atomic():
            MitigationOption.objects.create(assessment=assessment, residual_rating="low", **facts)
