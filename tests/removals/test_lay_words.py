from dataclasses import replace

from removals.lay_finder import FallingTree, LayStatus, find_lays, judge_lay
from removals.lay_words import blocked_words, rose_words, runs, why
from removals.place import point_m
from removals.things import FeatureKind, Thing

TREE = FallingTree(height_m=15.0, crown_radius_m=3.0)
REACH = TREE.swath.reach_m


def at(bearing_deg: float, distance_m: float, name: str = "T-1", kind: FeatureKind = FeatureKind.TREE) -> Thing:
    return Thing(kind=kind, name=name, points=(point_m(bearing_deg, distance_m),))


def found(tree: FallingTree, bearing_deg: float, *things: Thing, accepted=()):
    return next(lay for lay in find_lays(tree, things, accepted).lays if lay.bearing_deg == bearing_deg)


def test_a_clear_lay_says_what_speaks_for_it():
    tree = replace(TREE, lean_deg=3.0, lean_toward_deg=90.0, slope_pct=12.0, downhill_deg=180.0)
    assert why(found(tree, 90.0), REACH) == (
        "90°: nothing stands in its swath out to 16.5 m (54.1 ft); both ways out are free; the tree leans 3.0° this way; "
        "it lies across the slope; 180° of room to either side."
    )


def test_and_what_speaks_against_it():
    tree = replace(TREE, lean_deg=4.0, lean_toward_deg=60.0, slope_pct=12.0, downhill_deg=0.0)
    words = why(found(tree, 0.0, at(135.0, 5.0, "T-9"), at(26.0, 15.0)), REACH)
    assert words.endswith(
        "Against it: it leans 3.5° to the right; the ground falls 12 % this way; "
        "the way out at 135° is barred by T-9; only 0° of room to one side."
    )


def test_a_lay_against_lean_and_slope():
    tree = replace(TREE, lean_deg=4.0, lean_toward_deg=80.0, slope_pct=12.0, downhill_deg=90.0)
    words = why(found(tree, 270.0), REACH)
    assert "the tree leans back by 3.9°; it leans 0.7° to the right; the ground rises 12 % this way" in words
    assert "the tree leans over the way out at 45°" in words
    left = why(found(replace(tree, lean_toward_deg=170.0), 270.0), REACH)
    assert "it leans 3.9° to the left; the ground rises 12 % this way; the tree leans over the way out at 135°" in left


def test_an_accepted_lay_names_what_was_accepted():
    words = why(found(TREE, 0.0, at(0.0, 9.0, "bench"), accepted={"bench"}), REACH)
    assert words.startswith("0°: out to 16.5 m (54.1 ft) its swath holds only what was accepted (bench); both ways")


def test_a_blocked_lay_says_why():
    lay = judge_lay(replace(TREE, slope_pct=40.0), [at(0.0, 9.0, "Boathouse", FeatureKind.BUILDING)], 0.0)
    assert blocked_words(lay) == (
        "The slope is 40 %; the method covers 35 %.",
        "In the swath: Boathouse (building) at 0°, 9 m (29.5 ft).",
    )


def test_runs_go_round_through_north():
    lays = find_lays(TREE, [at(0.0, 12.0), at(180.0, 12.0)]).lays
    assert runs(lays) == (
        (LayStatus.CLEAR, 25.0, 155.0),
        (LayStatus.BLOCKED, 160.0, 200.0),
        (LayStatus.CLEAR, 205.0, 335.0),
        (LayStatus.BLOCKED, 340.0, 20.0),
    )


def test_one_run_when_all_are_alike():
    assert runs(find_lays(TREE, []).lays) == ((LayStatus.CLEAR, 0.0, 355.0),)


def test_the_rose_in_words():
    words = rose_words(find_lays(TREE, [at(180.0, 12.0)]))
    assert words.startswith("Clear: 205° to 155°. Accepted: none. Blocked: 160° to 200°. Proposal 1: ")
    assert "Proposal 3: " in words


def test_a_single_bearing_is_no_span():
    hedge = Thing(kind=FeatureKind.OBSTACLE, name="hedge", points=tuple(point_m(b, 14.0) for b in range(25, 336, 5)))
    findings = find_lays(TREE, [hedge])
    assert rose_words(findings).startswith("Clear: 0°. ")


def test_a_refused_rose_and_one_without_proposals():
    wire = Thing(kind=FeatureKind.WIRE, name="wire", points=(point_m(0.0, 10.0),))
    assert rose_words(find_lays(TREE, [wire])).startswith("All lays are blocked. A wire is 10 m (32.8 ft)")
    assert rose_words(find_lays(replace(TREE, slope_pct=40.0), [])).endswith("No lay can be proposed.")
