import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from removals.weight import (
    GROUP_NAMES,
    OutsideSample,
    component_shares,
    dry_mass_kg,
    entered_mass,
    form_factor_mass_kg,
    green_density_kg_m3,
    group_named,
    long_green_mass_kg,
    mass_by_moisture,
    mass_by_species,
    short_green_mass_kg,
    usable,
)
from removals.woods import wood_for

MIXED = group_named("mixed hardwood")
PER_CUT = (0.8, 1 / 1.1, 1.0)


@pytest.mark.parametrize("name", GROUP_NAMES)
def test_every_group_is_found_whatever_the_case(name: str) -> None:
    assert group_named(f" {name.upper()} ").name == name


def test_unknown_group_is_refused_with_the_names() -> None:
    with pytest.raises(ValueError, match="true fir/hemlock"):
        group_named("bamboo")


@given(st.sampled_from(GROUP_NAMES), st.floats(5, 50), st.floats(1.01, 1.1))
def test_thicker_trees_are_heavier(name: str, dbh_cm: float, scale: float) -> None:
    group = group_named(name)
    assert dry_mass_kg(group, scale * dbh_cm) > dry_mass_kg(group, dbh_cm)


def test_mass_beyond_the_largest_stem_is_refused() -> None:
    assert dry_mass_kg(MIXED, 56.0) > 0
    with pytest.raises(OutsideSample, match="56 cm"):
        dry_mass_kg(MIXED, 56.01)


def test_no_diameter_no_mass() -> None:
    with pytest.raises(ValueError, match="more than 0"):
        dry_mass_kg(MIXED, 0.0)


@given(st.floats(10, 250), st.booleans())
def test_shares_add_up(dbh_cm: float, softwood: bool) -> None:
    shares = component_shares(dbh_cm, softwood=softwood)
    assert shares.foliage + shares.bark + shares.wood + shares.branches == pytest.approx(1)
    assert min(shares.foliage, shares.bark, shares.wood, shares.branches) > 0


def test_leafless_tree_lacks_twice_its_dry_foliage() -> None:
    ash = wood_for("Fraxinus pennsylvanica")
    full, bare = (long_green_mass_kg(MIXED, 40, ash, leafless=leafless) for leafless in (False, True))
    foliage = component_shares(40, softwood=False).foliage * dry_mass_kg(MIXED, 40)
    assert full - bare == pytest.approx(2 * foliage)


def test_short_form_is_dry_mass_times_the_factor() -> None:
    assert short_green_mass_kg(MIXED, 50, 1.589) == pytest.approx(1.589 * dry_mass_kg(MIXED, 50))


def test_green_density_of_water_soaked_wood() -> None:
    assert green_density_kg_m3(0.5, 100) == pytest.approx(1000)


def test_form_factor_is_a_share_of_a_cylinder() -> None:
    cylinder_m3 = math.pi * 0.25**2 * 20
    assert form_factor_mass_kg(50, 20, 0.5, 100) == pytest.approx(0.65 * cylinder_m3 * 1000)


def test_entered_mass_is_taken_plus_or_minus_thirty_percent() -> None:
    mass = entered_mass(1000)
    assert (mass.low_kg, mass.kg, mass.high_kg) == pytest.approx((700, 1000, 1300))


def test_entered_mass_keeps_its_own_range() -> None:
    mass = entered_mass(1000, 950, 1100)
    assert (mass.low_kg, mass.high_kg) == (950, 1100)


def test_weight_is_mass_times_standard_gravity() -> None:
    assert entered_mass(1100).weight_n == pytest.approx(10787.315)


def test_mass_by_moisture_takes_the_dbh_from_the_cut() -> None:
    mass = mass_by_moisture(MIXED, 44, 18, 80, PER_CUT)
    assert mass.kg == pytest.approx(1.8 * math.exp(-2.48 + 2.4835 * math.log(40)))
    assert mass.low_kg == pytest.approx(1.8 * dry_mass_kg(MIXED, 35.2) / 1.434)
    assert mass.high_kg == pytest.approx(1.8 * dry_mass_kg(MIXED, 44) * 1.434)


def test_range_may_pass_the_largest_stem_when_its_middle_does_not() -> None:
    mass = mass_by_moisture(MIXED, 60, 18, 80, PER_CUT)
    assert mass.basis.startswith("mixed hardwood")
    assert mass.high_kg > mass.kg


@pytest.mark.parametrize(("name", "diameter_cm"), [("mixed hardwood", 70.0), ("woodland", 30.0)])
def test_form_factor_stands_in_and_is_named(name: str, diameter_cm: float) -> None:
    mass = mass_by_moisture(group_named(name), diameter_cm, 18, 80, PER_CUT)
    assert "form-factor" in mass.basis
    assert mass.kg == pytest.approx(form_factor_mass_kg(diameter_cm / 1.1, 18, 0.52, 80))
    assert (mass.low_kg / mass.kg, mass.high_kg / mass.kg) == pytest.approx((0.6, 1.4))


def test_form_factor_takes_the_density_of_the_species() -> None:
    oak = wood_for("Quercus robur")
    mass = mass_by_species(group_named("hard maple/oak/hickory/beech"), 90, 22, oak)
    assert mass.kg == pytest.approx(form_factor_mass_kg(90, 22, 0.59, 75.3))


def test_known_species_ranges_by_the_one_sigma_of_its_group() -> None:
    mass = mass_by_species(MIXED, 50, 18, wood_for("Fraxinus pennsylvanica"))
    assert mass.high_kg / mass.kg == pytest.approx(1.434)
    assert mass.kg / mass.low_kg == pytest.approx(1.434)


def test_unknown_species_ranges_by_moisture_as_well() -> None:
    mass = mass_by_species(MIXED, 50, 18, wood_for("Ginkgo biloba"))
    dry_kg = dry_mass_kg(MIXED, 50)
    assert (mass.low_kg, mass.high_kg) == pytest.approx((1.5 * dry_kg / 1.434, 2.5 * dry_kg * 1.434))


def test_standing_dead_lies_between_dry_and_green() -> None:
    ash = wood_for("Fraxinus pennsylvanica")
    mass = mass_by_species(MIXED, 50, 18, ash, leafless=True, dead=True)
    dry_kg, green_kg = dry_mass_kg(MIXED, 50), long_green_mass_kg(MIXED, 50, ash, leafless=True)
    assert mass.kg == pytest.approx((dry_kg + green_kg) / 2)
    assert (mass.low_kg, mass.high_kg) == pytest.approx((dry_kg / 1.434, green_kg * 1.434))
    assert "standing dead" in mass.formula


def test_woodland_equation_wants_the_root_collar_and_is_not_used_with_dbh() -> None:
    assert not usable(group_named("woodland"), 30)
