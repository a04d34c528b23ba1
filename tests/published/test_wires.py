"""Heights near overhead lines against the cut-offs as they stand in print, each read there."""

import math

import pytest

from replanting.wires import FORESTRY, HEIGHT_WITHIN_DISTANCE, THREE_SIZES, UTILITY

FT = 0.3048
ANY = math.inf


@pytest.mark.parametrize(
    ("rule", "limits_ft"),
    [
        # Vermont community forestry: up to 25 ft under lines, up to 45 ft at 20 to 40 ft, taller beyond.
        (FORESTRY, {0: 25, 19: 25, 20: 45, 40: 45, 41: ANY}),
        # A utility's planting guide: up to 20 ft within 15 ft, up to 40 ft beyond, taller at 65 ft.
        (UTILITY, {0: 20, 15: 20, 16: 40, 64: 40, 65: ANY}),
        # Another utility's: a tree no higher than the line is away.
        (HEIGHT_WITHIN_DISTANCE, {0: 0, 12: 12, 80: 80}),
        # The default, common practice: small to 25 ft, medium to 40 ft up to 40 ft from the line, large beyond.
        (THREE_SIZES, {0: 25, 19: 25, 20: 40, 40: 40, 41: ANY}),
    ],
)
def test_the_greatest_height_by_distance(rule, limits_ft):
    for distance_ft, limit_ft in limits_ft.items():
        assert rule.limit_m(distance_ft * FT) == pytest.approx(limit_ft * FT), f"{distance_ft} ft by {rule.key}"
