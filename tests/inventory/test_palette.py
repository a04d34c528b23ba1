"""The species palette: the file is sound, and loading it brings the species up to date.

Wood porosity of the named genera: wood anatomy texts (for ash: Tulik 2010; Hoadley, Identifying Wood, 1990; Record 1914).
Size classes by maximum height, small to 25 ft and medium to 40 ft: the default of the replanting rules, common practice.
"""

import csv
import io
from pathlib import Path

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from inventory.models import RecordEntry, Species
from inventory.palette_file import COLUMNS, PaletteProblem, read_palette

FILE = Path(__file__).resolve().parents[2] / "fixtures" / "species.csv"
FT_M = 0.3048
JENKINS_GROUPS = {
    "aspen/alder/cottonwood/willow",
    "soft maple/birch",
    "mixed hardwood",
    "hard maple/oak/hickory/beech",
    "cedar/larch",
    "Douglas-fir",
    "true fir/hemlock",
    "pine",
    "spruce",
}
RING_POROUS = (
    "Fraxinus",
    "Ulmus",
    "Castanea",
    "Celtis",
    "Robinia",
    "Gleditsia",
    "Gymnocladus",
    "Morus",
    "Maclura",
    "Catalpa",
)
DIFFUSE_POROUS = ("Acer", "Betula", "Populus", "Tilia", "Platanus", "Aesculus", "Fagus", "Carpinus", "Alnus", "Salix")


@pytest.fixture(scope="module")
def lines() -> list[str]:
    return FILE.read_text(encoding="utf-8").splitlines(keepends=True)


@pytest.fixture(scope="module")
def taxa(lines):
    return {taxon["botanical"]: taxon for taxon in read_palette(lines)}


@pytest.fixture(scope="module")
def raw(lines):
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def test_at_least_150_taxa_each_named_once(taxa, raw):
    assert len(taxa) >= 150
    assert len(taxa) == len(raw)


def test_rows_stand_in_order_of_genus_and_name(raw):
    keys = [(row["genus"], row["botanical"].replace("×", "")) for row in raw]
    assert keys == sorted(keys)


def test_the_header_says_where_the_figures_come_from(lines):
    header = "".join(line for line in lines if line.startswith("#"))
    for source in ("FIA", "PLANTS", "from memory", "APG IV", "Jenkins, Chojnacky, Heath and Birdsey (2003)"):
        assert source in header


def test_every_row_says_how_far_it_was_checked(raw):
    assert {mark for row in raw for mark in row["checked"].split()} == {"FIA", "PLANTS", "EXT"}


def test_every_pest_is_spelled_out_in_the_legend(lines, taxa):
    legend = {line[1:].split("=")[0].strip() for line in lines if line.startswith("#") and " = " in line}
    used = {pest for taxon in taxa.values() for pest in taxon["pests"]}
    assert used <= legend


def test_ranges_run_from_low_to_high(taxa):
    for name, taxon in taxa.items():
        assert 1 <= taxon["zone_min"] <= taxon["zone_max"] <= 11, name
        assert 2 <= taxon["height_min_m"] <= taxon["height_max_m"] <= 35, name
        assert 1 <= taxon["spread_min_m"] <= taxon["spread_max_m"] <= 31, name
        assert 3 <= taxon["ph_min"] < taxon["ph_max"] <= 8.5, name


def test_metres_are_whole_feet_as_published(taxa):
    for name, taxon in taxa.items():
        for column in ("height_min_m", "height_max_m", "spread_min_m", "spread_max_m"):
            feet = taxon[column] / FT_M
            assert feet == pytest.approx(round(feet), abs=0.02), (name, column)


def test_size_class_follows_the_maximum_height(taxa):
    for name, taxon in taxa.items():
        feet = round(taxon["height_max_m"] / FT_M)
        assert taxon["size_class"] == ("small" if feet <= 25 else "medium" if feet <= 40 else "large"), name


def test_genus_is_the_first_word_of_the_name(taxa):
    for name, taxon in taxa.items():
        assert name.split()[0] == taxon["genus"]


def test_one_genus_has_one_family(taxa):
    families = {}
    for taxon in taxa.values():
        assert families.setdefault(taxon["genus"], taxon["family"]) == taxon["family"]


@pytest.mark.parametrize(
    ("genus", "family"),
    [
        ("Tilia", "Malvaceae"),
        ("Acer", "Sapindaceae"),
        ("Aesculus", "Sapindaceae"),
        ("Celtis", "Cannabaceae"),
        ("Nyssa", "Nyssaceae"),
        ("Liquidambar", "Altingiaceae"),
        ("Paulownia", "Paulowniaceae"),
        ("Taxodium", "Cupressaceae"),
    ],
)
def test_families_follow_apg_iv_where_older_books_differ(taxa, genus, family):
    """APG IV, Botanical Journal of the Linnean Society 181 (2016): 1-20; conifers Christenhusz et al. 2011 (from memory)."""
    found = {taxon["family"] for taxon in taxa.values() if taxon["genus"] == genus}
    assert found == {family}


def test_ash_is_ring_porous(taxa):
    ashes = [taxon for taxon in taxa.values() if taxon["genus"] == "Fraxinus"]
    assert len(ashes) >= 5
    assert {ash["porosity"] for ash in ashes} == {"ring"}


@pytest.mark.parametrize("genus", RING_POROUS)
def test_ring_porous_genera(taxa, genus):
    assert {taxon["porosity"] for taxon in taxa.values() if taxon["genus"] == genus} == {"ring"}


@pytest.mark.parametrize("genus", DIFFUSE_POROUS)
def test_diffuse_porous_genera(taxa, genus):
    assert {taxon["porosity"] for taxon in taxa.values() if taxon["genus"] == genus} == {"diffuse"}


def test_deciduous_oaks_are_ring_porous(taxa):
    oaks = [taxon for taxon in taxa.values() if taxon["genus"] == "Quercus" and taxon["leaf"] == "deciduous"]
    assert len(oaks) >= 20
    assert {oak["porosity"] for oak in oaks} == {"ring"}


def test_wood_without_vessels_is_of_the_conifers_and_ginkgo(taxa):
    families = {"Pinaceae", "Cupressaceae", "Taxaceae", "Araucariaceae", "Sciadopityaceae", "Ginkgoaceae"}
    assert {taxon["family"] for taxon in taxa.values() if taxon["porosity"] == "conifer"} == families
    assert all(taxon["porosity"] == "conifer" for taxon in taxa.values() if taxon["family"] in families)


def test_jenkins_groups_are_those_of_the_paper(taxa):
    """Jenkins, Chojnacky, Heath and Birdsey 2003, Forest Science 49:12-35."""
    assert {taxon["jenkins_group"] for taxon in taxa.values()} == JENKINS_GROUPS


def test_one_genus_has_one_jenkins_group_but_for_the_maples(taxa):
    groups = {}
    for taxon in taxa.values():
        groups.setdefault(taxon["genus"], set()).add(taxon["jenkins_group"])
    assert {genus for genus, found in groups.items() if len(found) > 1} == {"Acer"}


def test_every_ash_hosts_the_emerald_ash_borer(taxa):
    assert all("EAB" in taxon["pests"] for taxon in taxa.values() if taxon["genus"] == "Fraxinus")


def test_the_worst_invaders_are_flagged(taxa):
    for name in ("Ailanthus altissima", "Acer platanoides", "Pyrus calleryana", "Paulownia tomentosa", "Ulmus pumila"):
        assert taxa[name]["flag"].startswith("invasive")


@pytest.mark.parametrize(
    "name",
    [
        "Tilia cordata",
        "Tilia ×europaea",
        "Fagus sylvatica",
        "Carpinus betulus",
        "Quercus petraea",
        "Quercus cerris",
        "Acer campestre",
        "Sorbus aucuparia",
        "Sorbus aria",
        "Prunus avium",
        "Betula pendula",
        "Alnus glutinosa",
        "Populus nigra",
        "Aesculus hippocastanum",
        "Platanus ×acerifolia",
        "Taxus baccata",
        "Pinus sylvestris",
        "Larix decidua",
        "Acer saccharum",
        "Quercus macrocarpa",
        "Liriodendron tulipifera",
    ],
)
def test_common_trees_of_both_continents_are_there(taxa, name):
    assert name in taxa


def test_a_wrong_word_is_refused_with_taxon_column_and_remedy(lines):
    text = "".join(lines).replace(",ring,", ",rings,", 1)
    with pytest.raises(PaletteProblem, match=r"porosity “rings”: write one of ring, semi-ring"):
        read_palette(io.StringIO(text))


def test_a_missing_column_is_named():
    with pytest.raises(PaletteProblem, match=r"lacks the columns .*zone_max"):
        read_palette(["botanical,common\n", "Quercus rubra,red oak\n"])


@pytest.mark.django_db
def test_loading_stores_each_field(taxa):
    call_command("load_palette", verbosity=0)
    stored = Species.objects.get(botanical="Fraxinus excelsior")
    assert stored.palette
    assert {name: getattr(stored, name) for name in COLUMNS} == taxa["Fraxinus excelsior"]


@pytest.mark.django_db
def test_loading_twice_changes_nothing(taxa):
    call_command("load_palette", verbosity=0)
    entries = RecordEntry.objects.count()
    out = io.StringIO()
    call_command("load_palette", stdout=out)
    assert "0 new or changed" in out.getvalue()
    assert Species.objects.count() == len(taxa)
    assert RecordEntry.objects.count() == entries


@pytest.mark.django_db
def test_a_name_met_in_an_import_becomes_a_palette_taxon():
    met = Species.objects.create(botanical="Tilia cordata", genus="Tilia")
    call_command("load_palette", verbosity=0)
    met.refresh_from_db()
    assert met.palette
    assert met.family == "Malvaceae"


@pytest.mark.django_db
def test_a_file_that_is_not_there_is_an_error_not_a_traceback(tmp_path):
    with pytest.raises(CommandError, match=r"none\.csv"):
        call_command("load_palette", tmp_path / "none.csv")
