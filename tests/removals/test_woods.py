import pytest

from removals.woods import GENERIC, TABLE, Basis, is_conifer, strength_for, wood_for


def test_species_is_found_by_its_botanical_name() -> None:
    wood = wood_for("Fraxinus pennsylvanica")
    assert (wood.basis, wood.row.common, wood.row.dry_to_green) == (Basis.SPECIES, "Green ash", 1.589)


def test_cultivar_and_capitals_do_not_hide_the_species() -> None:
    assert wood_for("QUERCUS PALUSTRIS 'Green Pillar'").row.common == "Pin oak"


def test_unknown_species_of_a_known_genus_gets_the_mean_of_the_genus() -> None:
    wood = wood_for("Fraxinus excelsior")
    assert wood.basis is Basis.GENUS
    assert wood.row.sg_wood == pytest.approx((0.53 + 0.55 + 0.45) / 3)
    assert wood.row.mor_mpa == pytest.approx(66)


def test_mean_of_a_genus_without_known_strength_leaves_it_open() -> None:
    assert wood_for("Picea glauca").row.mor_mpa is None


@pytest.mark.parametrize("name", ["Ginkgo biloba", "", "  "])
def test_unknown_genus_gets_the_generic_row(name: str) -> None:
    assert wood_for(name).row is GENERIC
    assert wood_for(name).basis is Basis.GENERIC


def test_known_strength_ranges_thirty_percent() -> None:
    strength = strength_for("Quercus alba")
    assert (strength.mor_mpa, strength.basis) == (57, Basis.SPECIES)
    assert (strength.low_mpa, strength.high_mpa) == pytest.approx((39.9, 74.1))


def test_strength_of_a_genus_spans_its_weakest_and_strongest_species() -> None:
    strength = strength_for("Acer platanoides")
    assert strength.basis is Basis.GENUS
    assert strength.mor_mpa == pytest.approx((40 + 53 + 65) / 3)
    assert (strength.low_mpa, strength.high_mpa) == pytest.approx((0.7 * 40, 1.3 * 65))


def test_strength_of_a_stranger_spans_all_hardwoods() -> None:
    strength = strength_for("Ginkgo biloba")
    assert strength.basis is Basis.GENERIC
    assert (strength.low_mpa, strength.high_mpa) == pytest.approx((0.7 * 33, 1.3 * 95))


def test_strength_of_a_strange_conifer_spans_the_conifers() -> None:
    strength = strength_for("Picea abies")
    assert (strength.low_mpa, strength.high_mpa) == pytest.approx((0.7 * 34, 1.3 * 53))


def test_conifers_are_told_by_genus() -> None:
    assert is_conifer("Pinus nigra")
    assert not is_conifer("Acer rubrum")


def test_table_is_plausible_throughout() -> None:
    assert len({row.botanical for row in TABLE}) == len(TABLE) == 48
    for row in TABLE:
        assert 0.25 <= row.sg_wood <= 0.85
        assert 30 <= row.moisture_wood_pct <= 130
        assert row.dry_to_green == pytest.approx(1 + row.moisture_wood_pct / 100, rel=0.15)
