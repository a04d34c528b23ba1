"""Recording inspections: what is stored, what follows for the tree, what is refused."""

import datetime as dt
from dataclasses import replace
from uuid import UUID

import pytest
from django.utils import timezone
from uuid_utils.compat import uuid7

from hazards.matrix import Consequences, Exposure, Failure, Impact, Occupancy
from hazards.models import Inspection, Standing, Target
from hazards.workflow import DefectFound, record_inspection
from inventory.errors import Refused
from inventory.models import RecordEntry, Tree, TreeStatus
from inventory.record import Actor
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory
from tests.hazards.factories import EXTREME, HIGH, LOW, MODERATE, MORNING, TargetFactory, inspect, pick, report

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture
def tree() -> Tree:
    return TreeFactory()


@pytest.fixture
def play_area(tree) -> Target:
    return TargetFactory(park=tree.park, name="play area")


def standing(tree: Tree) -> Standing:
    return Standing.objects.get(tree=tree)


class TestStoring:
    def test_stores_the_look_with_defects_and_rated_assessments(self, tree, play_area, by_manager):
        found = DefectFound("union", "included bark", 30, "cm", "two leaders")
        sent = report(tree, pick(play_area), pick(play_area, **LOW), defects=(found,), note=" windy ")
        inspection = record_inspection(by=by_manager, report=sent)
        assert inspection.inspector == by_manager.user
        assert inspection.note == "windy"
        assert sorted(inspection.assessments.values_list("failure_and_impact", "rating")) == [
            ("likely", "high"),
            ("unlikely", "low"),
        ]
        assert inspection.defects.values_list("part", "kind", "value", "unit", "note").get() == (
            "union",
            "included bark",
            30,
            "cm",
            "two leaders",
        )

    def test_keeps_the_use_of_the_target_as_it_was(self, tree, play_area):
        inspection = inspect(tree, pick(play_area))
        Target.objects.filter(pk=play_area.pk).update(occupancy="rare")
        assert inspection.assessments.get().occupancy == "constant"

    def test_writes_one_entry_that_says_what_was_found(self, tree, play_area, by_manager):
        record_inspection(by=by_manager, report=report(tree, pick(play_area), defects=(DefectFound("trunk", "crack"),)))
        entry = RecordEntry.objects.get(tree=tree)
        assert entry.actor == by_manager.user
        assert entry.summary == (
            "Inspected at level 2, condition fair: high, from the union (splitting at the included bark) over play area; "
            "1 defect noted."
        )

    def test_the_same_id_twice_stores_once(self, tree, play_area):
        sent = report(tree, pick(play_area), id=uuid7())
        first = record_inspection(by=Actor(), report=sent)
        again = record_inspection(by=Actor(), report=replace(sent, condition="poor"))
        assert again == first
        assert again.condition == "fair"
        assert RecordEntry.objects.filter(tree=tree).count() == 1

    def test_an_id_of_another_tree_is_refused(self, tree, play_area):
        first = inspect(tree, pick(play_area))
        with pytest.raises(Refused, match="stored for another tree"):
            inspect(TreeFactory(park=tree.park), id=first.pk)


class TestStanding:
    def test_the_rating_is_the_highest_row(self, tree, play_area):
        inspect(tree, pick(play_area, **LOW), pick(play_area, **HIGH), pick(play_area, **MODERATE))
        assert standing(tree).rating == "high"

    def test_carries_what_lists_read(self, tree, play_area):
        inspection = inspect(tree, pick(play_area))
        row = standing(tree)
        assert (row.inspection, row.assessment) == (inspection, inspection.assessments.get())
        assert row.inspected_on == MORNING.date()
        assert row.work_due == MORNING.date() + 28 * DAY
        assert row.inspect_due == MORNING.date() + 90 * DAY  # a high rating is looked at again before its round
        assert row.reason.startswith("High: the union (splitting at the included bark) is likely to fail")

    def test_an_imminent_failure_is_flagged_whatever_the_rating(self, tree, play_area):
        inspect(
            tree,
            pick(play_area, **HIGH),
            pick(play_area, failure=Failure.IMMINENT, consequences=Consequences.NEGLIGIBLE),
        )
        row = standing(tree)
        assert (row.rating, row.imminent) == ("high", True)
        assert row.work_due == MORNING.date() + DAY
        assert row.reason.startswith("Imminent failure of the union; the tree is rated high: the union")

    def test_an_imminent_failure_of_the_worst_row_leads_the_reason(self, tree, play_area):
        inspect(tree, pick(play_area, **EXTREME))
        assert standing(tree).reason.startswith("Imminent failure, rated extreme: the union")

    def test_a_later_full_look_governs(self, tree, play_area):
        inspect(tree, pick(play_area, **HIGH))
        inspect(tree, pick(play_area, **LOW), observed_at=MORNING + DAY)
        assert standing(tree).rating == "low"
        assert standing(tree).work_due is None

    def test_an_earlier_look_that_arrives_late_does_not_govern(self, tree, play_area):
        inspect(tree, pick(play_area, **LOW))
        inspect(tree, pick(play_area, **HIGH), observed_at=MORNING - DAY)
        assert standing(tree).rating == "low"
        assert standing(tree).inspected_on == MORNING.date()

    def test_a_later_limited_look_raises(self, tree, play_area):
        inspect(tree, pick(play_area, **LOW))
        inspect(tree, pick(play_area, **HIGH), observed_at=MORNING + DAY, level=1)
        assert standing(tree).rating == "high"
        assert standing(tree).work_due == (MORNING + 29 * DAY).date()

    def test_a_later_limited_look_never_lowers(self, tree, play_area):
        inspect(tree, pick(play_area, **HIGH))
        inspect(tree, pick(play_area, **LOW), observed_at=MORNING + DAY, level=1)
        assert standing(tree).rating == "high"

    def test_a_later_limited_look_never_pushes_a_day_back(self, tree, play_area):
        inspect(tree, pick(play_area, **MODERATE))
        before = standing(tree)
        inspect(tree, pick(play_area, **MODERATE), observed_at=MORNING + DAY, level=1)
        assert (standing(tree).work_due, standing(tree).inspect_due) == (before.work_due, before.inspect_due)

    def test_a_grave_rating_is_looked_at_again_after_the_last_look_of_any_kind(self, tree, play_area):
        inspect(tree, pick(play_area, **HIGH))
        inspect(tree, pick(play_area, **HIGH), observed_at=MORNING + DAY, level=1)
        assert standing(tree).inspect_due == MORNING.date() + 91 * DAY

    def test_a_tree_declines_since_the_first_of_the_last_looks_that_found_it_dying(self, tree, play_area):
        for days, condition in ((-30, "dying"), (-20, "poor"), (-10, "dying"), (0, "dying")):
            inspect(tree, pick(play_area, **HIGH), observed_at=MORNING + days * DAY, condition=condition)
        assert standing(tree).declining_since == (MORNING - 10 * DAY).date()
        assert f"the tree is dying since {MORNING - 10 * DAY:%-d %b %Y}" in standing(tree).reason
        inspect(tree, pick(play_area, **HIGH), observed_at=MORNING + DAY, condition="poor")
        assert standing(tree).declining_since is None

    def test_limited_looks_alone_keep_the_worst(self, tree, play_area):
        inspect(tree, pick(play_area, **HIGH), level=1)
        inspect(tree, pick(play_area, **LOW), observed_at=MORNING + DAY, level=1)
        assert standing(tree).rating == "high"

    def test_a_look_that_rates_nothing_leaves_the_rating(self, tree, play_area):
        inspect(tree, pick(play_area, **HIGH))
        inspect(tree, observed_at=MORNING + DAY)
        assert standing(tree).rating == "high"
        assert standing(tree).inspected_on == (MORNING + DAY).date()

    def test_the_round_is_that_of_the_most_used_target(self, tree):
        rare = TargetFactory(park=tree.park, occupancy="rare")
        often = TargetFactory(park=tree.park, occupancy="occasional")
        inspect(tree, pick(rare, impact=Impact.VERY_LOW), pick(often, impact=Impact.LOW))
        assert standing(tree).inspect_due == MORNING.date() + 1096 * DAY  # 36 months

    def test_weak_wood_and_decline_move_a_tree_up(self, play_area, tree):
        weak = TreeFactory(park=tree.park, species=SpeciesFactory(botanical="Acer saccharinum", flag="weak wood"))
        dying = TreeFactory(park=tree.park)
        inspect(tree, pick(play_area))
        inspect(weak, pick(play_area))
        inspect(dying, pick(play_area), condition="dying")
        ranked = [row.tree for row in Standing.objects.ranked()]
        assert ranked == [dying, weak, tree]


class TestCorrections:
    def test_what_was_corrected_no_longer_governs(self, tree, play_area):
        wrong = inspect(tree, pick(play_area, **EXTREME))
        inspect(tree, pick(play_area, **MODERATE), supersedes=wrong)
        assert standing(tree).rating == "moderate"
        assert not standing(tree).imminent

    def test_what_was_corrected_is_kept(self, tree, play_area):
        wrong = inspect(tree, pick(play_area, **EXTREME))
        right = inspect(tree, pick(play_area, **MODERATE), supersedes=wrong)
        assert Inspection.objects.get(pk=wrong.pk).superseded_by == right
        assert wrong.assessments.get().rating == "extreme"

    def test_is_corrected_once(self, tree, play_area):
        wrong = inspect(tree, pick(play_area))
        inspect(tree, pick(play_area), supersedes=wrong)
        with pytest.raises(Refused, match="corrected before"):
            inspect(tree, pick(play_area), supersedes=wrong)

    def test_belongs_to_the_same_tree(self, tree, play_area):
        wrong = inspect(tree, pick(play_area))
        with pytest.raises(Refused, match="belongs to the tree"):
            inspect(TreeFactory(park=tree.park), supersedes=wrong)

    def test_a_corrected_measure_is_taken_back(self, tree):
        inspect(tree, dbh_cm=41.0)
        wrong = inspect(tree, dbh_cm=410.0, observed_at=MORNING + DAY)
        inspect(tree, observed_at=MORNING + DAY, supersedes=wrong)
        tree.refresh_from_db()
        assert tree.dbh_cm == 41.0

    def test_a_death_reported_in_error_is_taken_back(self, tree):
        wrong = inspect(tree, condition="dead")
        inspect(tree, condition="poor", supersedes=wrong)
        tree.refresh_from_db()
        assert (tree.status, tree.dead_since) == (TreeStatus.STANDING, None)


class TestPresentFigures:
    def test_come_from_the_latest_observation(self, tree):
        inspect(tree, dbh_cm=52.0, height_m=18.0, crown_spread_m=11.0, condition="poor")
        tree.refresh_from_db()
        assert (tree.dbh_cm, tree.height_m, tree.crown_spread_m, tree.condition) == (52.0, 18.0, 11.0, "poor")

    def test_do_not_come_from_the_latest_arrival(self, tree):
        inspect(tree, dbh_cm=52.0, condition="poor")
        inspect(tree, dbh_cm=48.0, condition="good", observed_at=MORNING - DAY)
        tree.refresh_from_db()
        assert (tree.dbh_cm, tree.condition) == (52.0, "poor")

    def test_stay_where_nothing_was_measured(self, tree):
        inspect(tree)
        tree.refresh_from_db()
        assert tree.dbh_cm == 40.0

    def test_a_measured_diameter_is_no_longer_an_estimate(self):
        tree = TreeFactory(dbh_estimated=True)
        inspect(tree, height_m=9.0)
        tree.refresh_from_db()
        assert tree.dbh_estimated
        inspect(tree, dbh_cm=31.0, observed_at=MORNING + DAY)
        tree.refresh_from_db()
        assert not tree.dbh_estimated


class TestDeath:
    def test_marks_the_tree_dead_since_the_day_of_the_observation(self, tree, play_area):
        inspect(tree, pick(play_area), condition="dead")
        tree.refresh_from_db()
        assert (tree.status, tree.dead_since) == (TreeStatus.DEAD_STANDING, MORNING.date())
        assert "; the tree is dead since 4 May 2026;" in standing(tree).reason

    def test_a_dead_tree_is_due_again_within_90_days(self, tree, play_area):
        inspect(tree, pick(play_area), condition="dead")
        assert standing(tree).inspect_due == MORNING.date() + 90 * DAY
        inspect(tree, observed_at=MORNING + 80 * DAY, condition="dead", level=1)
        assert standing(tree).inspect_due == MORNING.date() + 170 * DAY

    def test_an_old_report_of_death_does_not_kill(self, tree):
        inspect(tree, condition="fair")
        inspect(tree, condition="dead", observed_at=MORNING - DAY)
        tree.refresh_from_db()
        assert tree.status == TreeStatus.STANDING

    def test_a_dead_tree_ranks_above_a_living_one_of_equal_rating(self, tree, play_area):
        dead = TreeFactory(park=tree.park)
        inspect(tree, pick(play_area))
        inspect(dead, pick(play_area), condition="dead")
        assert [row.tree for row in Standing.objects.ranked()] == [dead, tree]


class TestRemovedTree:
    def test_the_inspection_is_kept_and_flagged(self):
        gone = TreeFactory(removed=True)
        inspection = inspect(gone, pick(TargetFactory(park=gone.park)), dbh_cm=77.0)
        gone.refresh_from_db()
        assert inspection.tree_was_removed
        assert gone.dbh_cm == 40.0
        assert not Standing.objects.filter(tree=gone).exists()
        assert "had been removed" in RecordEntry.objects.filter(tree=gone).first().summary


REFUSALS = {
    "the future": ({"observed_at": MORNING.replace(year=2999)}, "in the future"),
    "long ago": ({"observed_at": MORNING.replace(year=206)}, "give a day since 1950"),
    "no such level": ({"level": 4}, "it is 1, 2 or 3"),
    "no such condition": ({"condition": "so-so"}, "it is one of good, fair"),
    "no diameter": ({"dbh_cm": 0.0}, "0.1 to 500 cm"),
    "diameter too large": ({"dbh_cm": 501.0}, "0.1 to 500 cm"),
    "diameter not a number": ({"dbh_cm": float("nan")}, "0.1 to 500 cm"),
    "height too large": ({"height_m": 121.0}, "0.1 to 120 m"),
    "spread too large": ({"crown_spread_m": 61.0}, "0 to 60 m"),
    "dieback": ({"dieback_pct": 101}, "between 0 and 100 %"),
    "defect of no part": ({"defects": (DefectFound("bench", "crack"),)}, "not a part of a tree"),
    "defect without a name": ({"defects": (DefectFound("trunk", " "),)}, "has no name"),
    "defect not measured": ({"defects": (DefectFound("trunk", "lean", float("inf")),)}, "not a number"),
}
PICK_REFUSALS = {
    "no such part": ({"part": "bench"}, "not a part of a tree"),
    "no failure mode": ({"failure_mode": " "}, "does not say how it would fail"),
    "override without a reason": ({"impact": Impact.LOW}, "differs from the suggested high; say why"),
    "time frame": ({"time_frame_years": 6}, "it is 1 to 5 years"),
    "far away": ({"distance_m": 201.0}, "0 to 200 m"),
    "no such mitigation": ({"mitigation": "hope"}, "is not a mitigation"),
    "no such residual": ({"mitigation": "prune", "residual_rating": "none"}, "is not a rating"),
    "residual of nothing": ({"residual_rating": "low"}, "needs the mitigation"),
    "residual above": ({"mitigation": "prune", "residual_rating": "extreme"}, "does not raise a rating"),
}


class TestRefusals:
    @pytest.mark.parametrize(("facts", "words"), REFUSALS.values(), ids=REFUSALS)
    def test_of_the_look(self, tree, facts, words):
        with pytest.raises(Refused, match=words):
            inspect(tree, **facts)

    @pytest.mark.parametrize(("picks", "words"), PICK_REFUSALS.values(), ids=PICK_REFUSALS)
    def test_of_an_assessment(self, tree, play_area, picks, words):
        with pytest.raises(Refused, match=words):
            inspect(tree, pick(play_area, **picks))

    def test_of_a_target_in_another_park(self, tree):
        elsewhere = TargetFactory(park=ParkFactory())
        with pytest.raises(Refused, match="in another park"):
            inspect(tree, pick(elsewhere))

    def test_nothing_is_half_stored(self, tree, play_area):
        with pytest.raises(Refused):
            inspect(tree, pick(play_area), pick(play_area, part="bench"))
        assert not Inspection.objects.exists()
        assert not RecordEntry.objects.exists()

    def test_an_override_with_a_reason_is_taken(self, tree, play_area):
        given = pick(play_area, impact=Impact.LOW, impact_reason="fenced off until the autumn")
        assert inspect(tree, given).assessments.get().impact == "low"

    def test_the_tablet_s_clock_may_run_a_little_ahead(self, tree):
        assert inspect(tree, observed_at=timezone.now() + dt.timedelta(minutes=5)).pk

    def test_another_use_on_the_day_changes_the_suggestion(self, tree, play_area):
        shut = pick(play_area, occupancy=Occupancy.RARE, exposure=Exposure.FULLY_EXPOSED, impact=Impact.VERY_LOW)
        assert inspect(tree, shut).assessments.get().occupancy == "rare"


def test_an_inspection_costs_few_queries(tree, play_area, by_manager, django_assert_max_num_queries):
    for days in range(5):
        inspect(tree, pick(play_area), observed_at=MORNING + days * DAY)
    sent = report(tree, *[pick(play_area)] * 3, id=UUID(int=1), observed_at=MORNING + 9 * DAY, dbh_cm=44.0)
    with django_assert_max_num_queries(15):
        record_inspection(by=by_manager, report=sent)
