"""Which taxa of the palette a place may have, as a table that a reviewer can read, and how they are scored."""

import math
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.palette_file import read_palette
from replanting.diversity import mix
from replanting.fit import Grade, Rules, Site, Traits
from replanting.palette import Request, Verdict, Wishes, judge, suggest
from replanting.pests import NAMES, codes_of
from replanting.site import traits_from
from replanting.site_json import stand
from replanting.wires import UTILITY

FILE = Path(__file__).resolve().parents[2] / "fixtures" / "species.csv"
EMPTY = mix({})


@cache
def palette() -> dict[str, Traits]:
    with FILE.open(encoding="utf-8", newline="") as file:
        return {row["botanical"]: traits_from(row) for row in read_palette(file)}


SWAMP_OAK, LINDEN, HAWTHORN, DOGWOOD, HORNBEAM, WILLOW, ASH, PEAR = TAXA = tuple(
    palette()[name]
    for name in (
        "Quercus bicolor",
        "Tilia cordata",
        "Crataegus crus-galli",
        "Cornus alternifolia",
        "Carpinus caroliniana",
        "Salix nigra",
        "Fraxinus americana",
        "Pyrus calleryana",
    )
)
NO_WIRES = math.inf
EAB = codes_of("EAB")
IN = ""

# Why a taxon is out, by the first word of its first reason; IN: it may stand there. The ash is out everywhere for the watched
# borer and the pear for its flag, unless the place speaks first.
TABLE = {
    # swamp white oak, small-leaved lime, cockspur hawthorn, pagoda dogwood, American hornbeam, black willow, white ash, pear
    "a lawn in zone 6": (
        Site(6, 3.0, NO_WIRES, "full", ("medium",)),
        (IN, IN, IN, IN, IN, IN, "watched", "invasive"),
    ),
    "a tree lawn under wires": (
        Site(6, 1.83, 0.0, "full", ("medium",)),
        ("growing", "growing", "overhead", IN, "overhead", "growing", "growing", "growing"),
    ),
    "30 ft beside the wires": (
        Site(6, 3.0, 9.14, "full", ("medium",)),
        ("overhead", "overhead", IN, IN, IN, "overhead", "overhead", "overhead"),
    ),
    "beyond the reach of the wires": (
        Site(6, 3.0, 13.0, "full", ("medium",)),
        (IN, IN, IN, IN, IN, IN, "watched", "invasive"),
    ),
    "a wet meadow": (
        Site(6, 5.0, NO_WIRES, "full", ("wet",)),
        (IN, "soil", "soil", "soil", IN, IN, "watched", "invasive"),
    ),
    "a dry bank": (
        Site(6, 5.0, NO_WIRES, "full", ("dry",)),
        (IN, IN, IN, "soil", "soil", "soil", "watched", "invasive"),
    ),
    "deep shade": (
        Site(6, 5.0, NO_WIRES, "shade", ("medium",)),
        ("light", "light", "light", IN, IN, "light", "light", "light"),
    ),
    "the far north": (
        Site(2, 5.0, NO_WIRES, "full", ("medium",)),
        ("hardiness",) * 8,
    ),
    "chalk": (
        Site(6, 5.0, NO_WIRES, "full", ("medium",), ph=8.0),
        ("soil", IN, IN, "soil", "soil", IN, "watched", "invasive"),
    ),
    "before a view": (
        Site(6, 5.0, NO_WIRES, "full", ("medium",), view_m=9.2),
        ("view", "view", IN, IN, "view", "view", "view", "view"),
    ),
}


def first_word(verdict: Verdict) -> str:
    return verdict.against[0].split()[0].rstrip(":") if verdict.against else IN


@pytest.mark.parametrize(("site", "expected"), TABLE.values(), ids=TABLE.keys())
def test_a_place_and_eight_taxa(site, expected):
    """The limits of `replanting.wires` and `replanting.fit`, which name their sources; figures of the palette file."""
    request = Request(site, EMPTY, watched=EAB)
    assert [first_word(judge(request, taxon)) for taxon in TAXA] == list(expected)


def accepted(request: Request) -> dict[str, float]:
    return {verdict.taxon.botanical: verdict.score for verdict in suggest(request, palette().values()).accepted}


LAWN = Site(6, 3.0, NO_WIRES, "full", ("medium",))


def part(request: Request, taxon: Traits, what: str) -> float:
    (points,) = [part.points for part in judge(request, taxon).parts if part.what == what]
    return points


class TestScore:
    def test_is_the_sum_of_its_parts(self):
        verdict = judge(Request(LAWN, EMPTY), SWAMP_OAK)
        assert verdict.score == pytest.approx(sum(part.points for part in verdict.parts))
        assert verdict.score <= verdict.most

    def test_a_fair_fit_scores_half_of_a_good_one(self):
        half_shade = Request(Site(6, 3.0, NO_WIRES, "part", ("medium",)), EMPTY)
        assert judge(half_shade, SWAMP_OAK).facts[3].grade is Grade.FAIR
        assert part(half_shade, SWAMP_OAK, "light") == 4
        assert part(Request(LAWN, EMPTY), SWAMP_OAK, "light") == 8

    def test_a_share_at_half_of_the_guide_gains_half_of_the_points(self):
        """(4 + 1) of (99 + 1) trees are 5 %, half of Santamour's 10 %."""
        city = stand({"Quercus bicolor": 4, "Acer rubrum": 95}, palette().values())
        assert part(Request(LAWN, city), SWAMP_OAK, "species in the city") == 5

    def test_a_share_above_the_guide_gains_nothing_and_shuts_nothing_out(self):
        city = stand({"Quercus bicolor": 60, "Acer rubrum": 40}, palette().values())
        verdict = judge(Request(LAWN, city), SWAMP_OAK)
        assert not verdict.against
        assert [part.points for part in verdict.parts if part.what.endswith("city")] == [0, 0, 0]

    def test_the_park_counts_beside_the_city(self):
        park = stand({"Quercus bicolor": 10}, palette().values())
        city = stand({"Quercus bicolor": 10, "Acer rubrum": 990}, palette().values())
        assert part(Request(LAWN, city, park), SWAMP_OAK, "species in the park") == 0
        assert part(Request(LAWN, city, park), SWAMP_OAK, "species in the city") > 8

    @pytest.mark.parametrize(("wanted", "points"), [("large", 10), ("medium", 5), ("small", 0)])
    def test_the_size_wanted(self, wanted, points):
        assert part(Request(LAWN, EMPTY, wishes=Wishes(size=wanted)), SWAMP_OAK, "size wanted") == points

    def test_shade_wanted_prefers_the_wider_crown(self):
        wish = Request(LAWN, EMPTY, wishes=Wishes(shade=True))
        assert part(wish, SWAMP_OAK, "shade") == 10
        assert part(wish, DOGWOOD, "shade") == 7.5

    def test_each_listed_pest_costs_two_points(self):
        assert LINDEN.pests == ("JB", "SPM")
        assert part(Request(LAWN, EMPTY), LINDEN, "pests") == 6

    def test_an_empty_figure_of_the_place_is_no_part_of_it(self):
        parts = [part.what for part in judge(Request(Site(zone=6), EMPTY), SWAMP_OAK).parts]
        assert parts[:2] == ["hardiness zone", "species in the city"]


class TestStock:
    def test_what_stands_in_the_yard_gains_a_little_with_its_count(self):
        verdict = judge(Request(LAWN, EMPTY, stock={"Quercus bicolor": 4}), SWAMP_OAK)
        assert verdict.score == judge(Request(LAWN, EMPTY), SWAMP_OAK).score + 3
        assert str(verdict.parts[-1]) == "stock on hand 3 of 3: 4 in the yard that nobody waits for"

    def test_what_does_not_stand_there_gains_nothing(self):
        assert part(Request(LAWN, EMPTY, stock={"Quercus bicolor": 4}), LINDEN, "stock on hand") == 0

    def test_where_it_is_not_told_it_is_no_part_of_the_score(self):
        assert "stock on hand" not in [part.what for part in judge(Request(LAWN, EMPTY), SWAMP_OAK).parts]

    def test_it_weighs_less_than_the_step_from_a_good_to_a_fair_fit(self):
        half_shade = Site(6, 3.0, NO_WIRES, "part", ("medium",))
        there = judge(Request(half_shade, EMPTY, stock={"Quercus bicolor": 100}), SWAMP_OAK)
        assert there.score < judge(Request(LAWN, EMPTY), SWAMP_OAK).score


class TestOut:
    def test_hosts_of_a_watched_pest_in_all_their_kinds(self):
        hosts = {name for name, taxon in palette().items() if {"OW", "OWw"} & set(taxon.pests)}
        out = {
            verdict.taxon.botanical
            for verdict in suggest(Request(Site(), EMPTY, watched=codes_of("oak wilt")), palette().values()).excluded
        }
        assert len(hosts) > 20
        assert hosts <= out

    def test_all_that_the_palette_flags_invasive(self):
        flagged = {name for name, taxon in palette().items() if "invasive" in taxon.flag}
        out = {verdict.taxon.botanical for verdict in suggest(Request(Site(), EMPTY), palette().values()).excluded}
        assert out == flagged

    def test_with_the_maximum_height_redbud_and_tree_lilac_drop_out_under_lines_with_the_typical_they_stay(self):
        under = Site(zone=6, wires_m=0.0)
        assert not {"Cercis canadensis", "Syringa reticulata"} & accepted(Request(under, EMPTY)).keys()
        typical = accepted(Request(under, EMPTY, rules=Rules(height="typical")))
        assert {"Cercis canadensis", "Syringa reticulata"} <= typical.keys()

    def test_a_stricter_rule_for_wires_leaves_fewer(self):
        near = Site(zone=6, wires_m=4.0)
        assert accepted(Request(near, EMPTY, rules=Rules(wires=UTILITY))).keys() < accepted(Request(near, EMPTY)).keys()


COUNTS = st.dictionaries(st.sampled_from(sorted(palette())), st.integers(0, 400), max_size=12)
SITES = st.builds(
    Site,
    zone=st.none() | st.integers(1, 13),
    space_m=st.none() | st.floats(0, 10),
    wires_m=st.none() | st.just(NO_WIRES) | st.floats(0, 30),
    light=st.sampled_from(["", "full", "part", "shade"]),
    moisture=st.sampled_from([(), ("dry",), ("medium",), ("wet",), ("dry", "wet")]),
    ph=st.none() | st.floats(4, 9),
    salt=st.sampled_from(["", "low", "medium", "high"]),
)
PESTS = st.sets(st.sampled_from(sorted(NAMES)), max_size=3).map(frozenset)


@given(site=SITES, counts=COUNTS, watched=PESTS)
def test_every_taxon_is_exactly_once_in_or_out(site, counts, watched):
    found = suggest(Request(site, stand(counts, palette().values()), watched=watched), palette().values())
    names = [verdict.taxon.botanical for verdict in (*found.accepted, *found.excluded)]
    assert sorted(names) == sorted(palette())
    assert [verdict.score for verdict in found.accepted] == sorted((v.score for v in found.accepted), reverse=True)
    assert all(verdict.against for verdict in found.excluded)


@given(counts=COUNTS, name=st.sampled_from(sorted(palette())), more=st.integers(1, 5000))
def test_more_trees_of_a_species_never_raise_its_score(counts, name, more):
    taxon = palette()[name]
    grown = {**counts, name: counts.get(name, 0) + more}
    before, after = (judge(Request(LAWN, stand(trees, palette().values())), taxon).score for trees in (counts, grown))
    assert after <= before


@given(site=SITES, stock=COUNTS, name=st.sampled_from(sorted(palette())), more=st.integers(1, 50))
def test_stock_never_lowers_a_score_and_shuts_nothing_out(site, stock, name, more):
    taxon = palette()[name]
    told = (None, stock, {**stock, name: stock.get(name, 0) + more})
    without, some, grown = (judge(Request(site, EMPTY, stock=trees), taxon) for trees in told)
    assert without.score <= some.score <= grown.score
    assert without.against == some.against == grown.against
