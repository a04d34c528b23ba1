"""`manage.py suggest_species --json`: a place in, the taxa that may stand there out. The palette's file is all it reads."""

import io
import json

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from replanting.companions import companions
from replanting.fit import LIGHTS, MOISTURES
from replanting.pests import NAMES, codes_of
from tests.replanting.test_palette import FILE, palette

SITE = {
    "zone": 6,
    "space_m": 3.0,
    "overhead_distance_m": None,
    "light": "full",
    "moisture": "medium",
    "city_counts": {},
    "watch": [],
}


@pytest.fixture
def ask(monkeypatch):
    """The answer to a site, or the code and the sentences of a refusal."""

    def asked(text=None, **changes):
        monkeypatch.setattr("sys.stdin", io.StringIO(text if text is not None else json.dumps({**SITE, **changes})))
        out, err = io.StringIO(), io.StringIO()
        try:
            call_command("suggest_species", "--json", stdout=out, stderr=err)
        except SystemExit as stopped:
            return stopped.code, err.getvalue().splitlines() if not out.getvalue() else "both printed and refused"
        return json.loads(out.getvalue())

    return asked


def names(rows):
    return [row["botanical"] for row in rows]


def score(found, name):
    return {row["botanical"]: row["score"] for row in found["accepted"]}[name]


def test_every_taxon_comes_back_once(ask):
    found = ask()
    assert sorted(names(found["accepted"]) + names(found["excluded"])) == sorted(palette())
    assert set(found) == {"accepted", "excluded"}


def test_the_best_score_stands_first_with_its_reasons(ask):
    found = ask(city_counts={"Quercus bicolor": 3})
    assert [row["score"] for row in found["accepted"]] == sorted((r["score"] for r in found["accepted"]), reverse=True)
    oak = next(row for row in found["accepted"] if row["botanical"] == "Quercus bicolor")
    assert "species in the city 0 of 10: Quercus bicolor would be 100.0 % of its trees; guide 10 %" in oak["reasons"]


def test_hosts_of_the_watched_pest_are_out_with_its_name(ask):
    out = {row["botanical"]: row["reason"] for row in ask(watch=["eab"])["excluded"]}
    assert out["Fraxinus americana"] == "watched pest: a host of emerald ash borer"


def test_under_wires_nothing_high_is_left(ask):
    found = ask(overhead_distance_m=0)
    assert found["accepted"]
    assert all(palette()[name].height_max_m <= 25 * 0.3048 + 0.05 for name in names(found["accepted"]))


def test_a_name_is_counted_however_it_is_written(ask):
    plain = ask(city_counts={"Acer ×freemanii": 5, "Quercus rubra": 200})
    assert ask(city_counts={"ACER X FREEMANII": 5, "Quercus rubra": 200}) == plain


def test_a_taxon_outside_the_palette_counts_in_every_share(ask):
    crowded = ask(city_counts={"Quercus bicolor": 9, "Quercus lobata": 11})
    alone = ask(city_counts={"Quercus bicolor": 9, "Nomen nudum": 11})
    words = "; ".join(next(r for r in alone["accepted"] if r["botanical"] == "Quercus bicolor")["reasons"])
    assert "Quercus bicolor would be 47.6 % of its trees" in words
    assert "Quercus would be 47.6 % of its trees" in words
    assert score(crowded, "Quercus rubra") == score(alone, "Quercus rubra")
    genus = next(r for r in crowded["accepted"] if r["botanical"] == "Quercus rubra")["reasons"]
    assert any("Quercus would be 100.0 % of its trees" in reason for reason in genus)


def test_stock_on_hand_adds_a_little_with_its_reason(ask):
    plain, stocked = ask(), ask(stock={"QUERCUS BICOLOR": 2, "Nomen nudum": 9})
    assert score(stocked, "Quercus bicolor") == score(plain, "Quercus bicolor") + 3
    assert score(stocked, "Quercus rubra") == score(plain, "Quercus rubra")
    oak = next(row for row in stocked["accepted"] if row["botanical"] == "Quercus bicolor")
    assert "stock on hand 3 of 3: 2 in the yard that nobody waits for" in oak["reasons"]
    assert "stock on hand" not in str(plain)


def test_where_no_tree_may_stand_it_names_what_grows_lower(ask):
    found = ask(space_m=0.3, light="shade", moisture="dry")
    assert found["accepted"] == []
    assert "Carex pensylvanica" in found["companions"]


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"zone": 14}, "zone: write the USDA hardiness zone, 1 to 13"),
        ({"zone": None}, "zone: write the USDA hardiness zone"),
        ({"space_m": -1}, "space_m: write metres as a number from 0 to 1000; this is “-1”."),
        ({"space_m": "wide"}, "space_m: write metres"),
        ({"space_m": True}, "space_m: write metres"),
        ({"overhead_distance_m": "near"}, "overhead_distance_m: write metres, or null"),
        ({"light": "sun"}, "light: write one of full, part, shade; this is “sun”."),
        ({"moisture": ["dry"]}, "moisture: write one of dry, medium, wet"),
        ({"city_counts": []}, "city_counts: write an object"),
        ({"city_counts": {"Acer rubrum": -3}}, "city_counts: “Acer rubrum” needs a whole number"),
        ({"stock": ["Acer rubrum"]}, "stock: write an object"),
        ({"watch": "EAB"}, "watch: write a list of pests"),
        ({"watch": ["locusts"]}, "watch: “locusts” is not a pest of the palette"),
        ({"ph": 20}, "ph: write the pH as a number from 0 to 14"),
        ({"wires_rule": "none"}, "wires_rule: write one of 25-40, 25-45, 20-40, height"),
        ({"colour": "red"}, "colour: is not a field of a site"),
    ],
)
def test_a_field_that_cannot_be_is_said(ask, changes, sentence):
    code, (said,) = ask(**changes)
    assert code == 2
    assert said.startswith(sentence)


def test_each_wrong_field_has_its_sentence(ask):
    _, said = ask(text='{"zone": "x", "space_m": 2}')
    assert [line.split(":")[0] for line in said] == [
        "light",
        "moisture",
        "overhead_distance_m",
        "zone",
    ]


@pytest.mark.parametrize("text", ["", "{", "[1]", "NaN", "[" * 100_000])
def test_what_is_no_site_at_all_is_said(ask, text):
    code, said = ask(text=text)
    assert (code, len(said)) == (2, 1)


def test_a_palette_that_is_not_there_is_said(monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO("{}"))
    with pytest.raises(CommandError, match="nowhere"):
        call_command("suggest_species", "--json", "--palette", "nowhere.csv")


def test_the_names_of_pests_are_those_of_the_palette_file():
    lines = [line[1:].strip() for line in FILE.read_text(encoding="utf-8").splitlines() if line.startswith("#   ")]
    listed = dict(line.split(" = ", 1) for line in lines if " = " in line and line.split(" = ")[0] in NAMES)
    assert listed.keys() == NAMES.keys()
    assert all(text.startswith(NAMES[code]) for code, text in listed.items())
    assert {pest for taxon in palette().values() for pest in taxon.pests} <= NAMES.keys()


def test_a_pest_is_watched_with_all_its_kinds_of_host():
    assert codes_of("EAB") == codes_of("Emerald Ash Borer") == {"EAB", "EAB2"}


@pytest.mark.parametrize("light", LIGHTS)
@pytest.mark.parametrize("moisture", MOISTURES)
def test_every_light_and_moisture_has_companions(light, moisture):
    (found,) = companions(light, [moisture])
    assert len(set(found.plants)) == 4
