"""What the inventory knows around a tree, placed in metres."""

import pytest
from django.db import connection

from inventory.models import Tree, TreeStatus
from removals.around import UNMEASURED_CROWN_RADIUS_M, things_around, trees_in
from removals.surroundings import box_around, position_at
from removals.things import FeatureKind
from tests.factories import ParkFactory, SpeciesFactory, TreeFactory
from tests.hazards.factories import TargetFactory

pytestmark = pytest.mark.django_db
STUMP = (-40.223, 45.4023)


def planted(east_m: float, north_m: float, **changes) -> Tree:
    tree = TreeFactory.build(park=changes.pop("park", None) or ParkFactory(code="ALB"), **changes)
    tree.species = SpeciesFactory()
    tree.place(*position_at(STUMP, (east_m, north_m)))
    tree.save()
    return tree


@pytest.fixture
def tree():
    return planted(0.0, 0.0, tag="stump")


def target(name: str, east_m: float, north_m: float, kind: str = "playground"):
    lon, lat = position_at(STUMP, (east_m, north_m))
    return TargetFactory(park=ParkFactory(code="ALB"), name=name, kind=kind, lon=lon, lat=lat)


def test_trees_stand_in_metres_with_crown_and_trunk(tree):
    planted(12.0, -5.0, tag="near", crown_spread_m=8.0, dbh_cm=50.0)
    (near,) = things_around(tree, 15.0).things
    assert (near.kind, near.name, near.radius_m, near.foot_radius_m) == (FeatureKind.TREE, "near", 4.0, 0.25)
    assert near.points[0] == pytest.approx((12.0, -5.0), abs=1e-3)


@pytest.mark.parametrize(
    ("height_m", "spread_m", "radius_m"), [(12.0, None, 3.0), (None, 5.0, 2.5), (None, None, UNMEASURED_CROWN_RADIUS_M)]
)
def test_a_crown_nobody_measured_is_assumed(tree, height_m, spread_m, radius_m):
    planted(9.0, 0.0, height_m=height_m, crown_spread_m=spread_m, dbh_cm=None)
    (near,) = things_around(tree, 15.0).things
    assert (near.radius_m, near.foot_radius_m) == (radius_m, 0.0)


def test_nearest_first_within_two_and_a_half_heights(tree):
    planted(37.0, 0.0, tag="far")
    planted(0.0, 9.0, tag="near")
    planted(27.0, 27.0, tag="in the corner of the window")
    planted(38.0, 0.0, tag="out")
    assert [each.name for each in things_around(tree, 15.0).things] == ["near", "far"]


def test_a_neighbouring_park_s_tree_counts_and_a_removed_one_does_not(tree):
    planted(9.0, 0.0, tag="next door", park=ParkFactory(code="HOL"))
    planted(0.0, 8.0, tag="dead", status=TreeStatus.DEAD_STANDING)
    gone = TreeFactory(removed=True, tag="gone")
    gone.place(*position_at(STUMP, (5.0, 5.0)))
    gone.save()
    assert {each.name for each in things_around(tree, 15.0).things} == {"next door", "dead"}


@pytest.mark.parametrize(
    ("kind", "feature"),
    [
        ("path", FeatureKind.PATH),
        ("road", FeatureKind.PATH),
        ("building", FeatureKind.BUILDING),
        ("shelter", FeatureKind.BUILDING),
        ("playground", FeatureKind.TARGET),
    ],
)
def test_targets_by_their_kind(tree, kind, feature):
    target("it", 10.0, 20.0, kind)
    target("out", 30.0, 30.0, kind)
    (it,) = things_around(tree, 15.0).things
    assert (it.kind, it.name) == (feature, "it")
    assert it.points[0] == pytest.approx((10.0, 20.0), abs=1e-3)


def test_what_the_picture_cannot_show_is_said(tree):
    TreeFactory(park=tree.park, tag="lost")
    TargetFactory(park=tree.park, name="Weir Street", kind="road")
    target("substation", 5.0, 20.0, "utility")
    target("far pump", 500.0, 20.0, "utility")
    assert things_around(tree, 15.0).cautions == (
        "A target is one point of a path or a place: look on site how far it reaches.",
        "Trees of this park without a position, not shown: 1.",
        "Not shown, without a position: Weir Street.",
        "Look for the wires and pipes of substation.",
    )


def test_nothing_to_say_but_how_targets_are_placed(tree):
    assert len(things_around(tree, 15.0).cautions) == 1


def test_a_tree_without_a_position_is_refused():
    with pytest.raises(ValueError, match="T-1 has no position: locate it"):
        things_around(TreeFactory(tag="T-1"), 15.0)


def test_across_the_180th_meridian():
    stump, other = TreeFactory.build(tag="east"), TreeFactory.build(tag="west")
    for each, lon in ((stump, 179.9999), (other, -179.9999)):
        each.park, each.species = ParkFactory(code="DATE"), SpeciesFactory()
        each.place(lon, 10.0)
        each.save()
    (thing,) = things_around(stump, 15.0).things
    assert thing.points[0] == pytest.approx((21.93, 0.0), abs=0.01)


def test_as_many_queries_whatever_stands_there(tree, django_assert_num_queries):
    for step in range(6):
        planted(5.0 + step, 4.0)
        target(f"bench {step}", 6.0 + step, -4.0)
    with django_assert_num_queries(4):
        assert len(things_around(tree, 15.0).things) == 12


def test_trees_are_found_by_the_index_of_map_cells(tree):
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO inventory_tree (tag, park_id, status, condition, cultivar, dbh_estimated, size_as_given,"
            " stems_cm, planted_precision, light, soil_moisture, note, source_digest, created_at, updated_at,"
            " lon, lat, cell)"
            " SELECT 'C-' || n, %s, 'standing', '', '', false, '', '{}', '', '', '', '', '', now(), now(),"
            " n / 1000.0, 10, n::bigint << 40 FROM generate_series(1, 20000) AS n",
            [tree.park_id],
        )
        cursor.execute("ANALYZE inventory_tree")
    plan = Tree.objects.standing().filter(trees_in(box_around(STUMP, 40.0))).explain()
    assert "tree_cell" in plan
    assert "Seq Scan" not in plan
