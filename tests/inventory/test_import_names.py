"""Names of trees as files write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.importing import names
from inventory.importing.names import Name


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Acer rubrum", Name("Acer rubrum")),
        ("ACER RUBRUM", Name("Acer rubrum")),
        ("acer Rubrum", Name("Acer rubrum")),
        ("Ulmus", Name("Ulmus")),
        ("Quercus sp.", Name("Quercus")),
        ("Quercus spp", Name("Quercus")),
        ("Acer platanoides 'Crimson King'", Name("Acer platanoides", "Crimson King")),
        ("Acer platanoides ‘Crimson King’", Name("Acer platanoides", "Crimson King")),
        ("ACER PLATANOIDES CRIMSON KING", Name("Acer platanoides", "Crimson King")),
        ("GLEDITSIA TRIACANTHOS INERMIS", Name("Gleditsia triacanthos inermis")),
        ("Acer rubrum October Glory", Name("Acer rubrum", "October Glory")),
        ("Betula pendula cv. Youngii", Name("Betula pendula", "Youngii")),
        ("Malus 'Prairifire'", Name("Malus", "Prairifire")),
        ("Platanus x acerifolia", Name("Platanus ×acerifolia")),
        ("PLATANUS X ACERIFOLIA", Name("Platanus ×acerifolia")),
        ("Platanus × acerifolia", Name("Platanus ×acerifolia")),
        ("x Cupressocyparis leylandii", Name("×Cupressocyparis leylandii")),
        ("Gleditsia triacanthos var. inermis", Name("Gleditsia triacanthos var. inermis")),
        ("Acer tataricum ssp ginnala", Name("Acer tataricum subsp. ginnala")),
        ("Tilia cordata Mill.", Name("Tilia cordata")),
        ("Zelkova serrata (Thunb.) Makino", Name("Zelkova serrata")),
        ("Acer rubrum :: red maple", Name("Acer rubrum", "", "red maple")),
        (
            "Acer platanoides 'Crimson King' :: crimson king maple",
            Name("Acer platanoides", "Crimson King", "crimson king maple"),
        ),
        ("Acer rubrum (red maple)", Name("Acer rubrum", "", "red maple")),
        ("red maple (Acer rubrum)", Name("Acer rubrum", "", "red maple")),
        ("Quercus robur - English oak", Name("Quercus robur", "", "English oak")),
        (":: red maple", Name("", "", "red maple")),
        ("Maple, Red", Name("", "", "Maple, Red")),
    ],
)
def test_names(text, name):
    assert names.parse(text) == name


@pytest.mark.parametrize("text", ["", "NA", "Unknown", "unknown tree", "Unidentified species", "Tree(s) ::", "Other"])
def test_no_name(text):
    assert names.parse(text) is None


@pytest.mark.parametrize(
    ("text", "genus"),
    [
        ("Acer rubrum", "Acer"),
        ("×Cupressocyparis leylandii", "Cupressocyparis"),
        ("Ulmus", "Ulmus"),
        ("Maple, Red", ""),
    ],
)
def test_the_genus_is_derived(text, genus):
    assert names.parse(text).genus == genus


@pytest.mark.parametrize("text", ["Platanus x acerifolia", "PLATANUS × ACERIFOLIA", "Platanus ×acerifolia"])
def test_names_are_compared_without_case_and_hybrid_sign(text):
    assert names.parse(text).key == "platanus acerifolia"


LATIN = st.from_regex(r"[a-z]{4,9}(us|a|um|is)", fullmatch=True)
CULTIVAR = st.from_regex(r"[A-Z][a-z]{2,8}( [A-Z][a-z]{2,8})?", fullmatch=True)
COMMON = st.from_regex(r"[a-z]{3,9} [a-z]{3,9}", fullmatch=True).filter(lambda text: not names.is_latin(text))


@given(genus=LATIN, epithet=LATIN, cultivar=st.just("") | CULTIVAR, common=st.just("") | COMMON)
def test_a_name_written_out_is_read_back(genus, epithet, cultivar, common):
    name = Name(f"{genus.capitalize()} {epithet}", cultivar, common)
    assert names.parse(str(name)) == name


@given(text=st.text(max_size=40))
def test_any_text_is_a_name_or_none(text):
    found = names.parse(text)
    assert found is None or found.botanical or found.common
