"""Crown areas against a published rule for soil volume."""

import pytest

from replanting.canopy import crown_m2

FT = 0.3048


@pytest.mark.parametrize(("spread_ft", "soil_ft3"), [(20, 628), (30, 1414), (40, 2513), (60, 5655)])
def test_two_cubic_feet_of_soil_for_each_square_foot_of_crown(spread_ft, soil_ft3):
    """Lindsey and Bassuk (1991), Journal of Arboriculture 17: 2 ft³ of soil per ft² of crown projection; rule read, volumes
    computed from it by hand."""
    assert 2 * crown_m2(spread_ft * FT) / FT**2 == pytest.approx(soil_ft3, abs=0.5)
