"""Rough geography: enough to say which units a file without any is likely to use."""

# North edge of the contiguous United States by longitude: (up to this longitude, latitude). Within about half a degree.
_NORTH = (
    (-95.0, 49.0), (-89.0, 48.0), (-84.5, 46.6), (-82.4, 45.8), (-79.0, 42.4), (-76.5, 43.4), (-74.7, 44.9), (-71.5, 45.0),
    (-70.3, 45.5), (-66.9, 47.4),
)  # fmt: skip
# South edge: the border with Mexico, then the Gulf.
_SOUTH = ((-114.5, 32.5), (-106.5, 31.3), (-103.0, 29.0), (-99.5, 27.5), (-66.9, 24.5))
_ALASKA, _HAWAII = (-170.0, 54.0, -130.0, 72.0), (-161.0, 18.5, -154.5, 22.5)


def likely_in_us(lon: float, lat: float) -> bool:
    if any(west <= lon <= east and south <= lat <= north for west, south, east, north in (_ALASKA, _HAWAII)):
        return True
    if not -125.0 <= lon <= -66.9:
        return False
    south = next(limit for edge, limit in _SOUTH if lon <= edge)
    north = next(limit for edge, limit in _NORTH if lon <= edge)
    return south <= lat <= north
