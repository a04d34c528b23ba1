"""Map cells: a position as one integer, by interleaving the bits of longitude and latitude (Morton order).

A map window is then a few ranges of that integer, and a coarser grid is the same number with its low bits dropped.
31 bits an axis: about 2 cm at the equator. Source: G. M. Morton, "A computer oriented geodetic data base", IBM, 1966.
"""

BITS = 31
_SIZE = 1 << BITS
_MASKS = (
    (16, 0x0000FFFF0000FFFF),
    (8, 0x00FF00FF00FF00FF),
    (4, 0x0F0F0F0F0F0F0F0F),
    (2, 0x3333333333333333),
    (1, 0x5555555555555555),
)


def _spread(value: int) -> int:
    """The bits of a 31-bit number, each followed by an empty one."""
    for shift, mask in _MASKS:
        value = (value | (value << shift)) & mask
    return value


def _step(value: float, low: float, high: float) -> int:
    return min(_SIZE - 1, int((value - low) / (high - low) * _SIZE))


def cell(lon: float, lat: float) -> int:
    """The cell of a position in degrees; 0 <= cell < 2**62.

    Raises ValueError outside -180..180 and -90..90.
    """
    if not (-180 <= lon <= 180 and -90 <= lat <= 90):
        raise ValueError(f"longitude {lon}, latitude {lat} is not a position on Earth")
    return _spread(_step(lon, -180, 180)) | (_spread(_step(lat, -90, 90)) << 1)


def window(west: float, south: float, east: float, north: float) -> tuple[tuple[int, int], ...]:
    """Ranges of cells (first and last) that cover a window in degrees: at most four, and somewhat more than the window.

    The coarser cells that it takes are as large as the window, so it touches two of them a side at most. `west` may not
    lie east of `east`: a window across the 180th meridian is two. Raises ValueError.
    """
    if west > east or south > north:
        raise ValueError("a window runs from west to east and from south to north")
    for lon, lat in ((west, south), (east, north)):
        cell(lon, lat)
    left, right = _step(west, -180, 180), _step(east, -180, 180)
    bottom, top = _step(south, -90, 90), _step(north, -90, 90)
    bits = max(right - left, top - bottom).bit_length()
    corners = (
        _spread(x) | (_spread(y) << 1)
        for y in range(bottom >> bits, (top >> bits) + 1)
        for x in range(left >> bits, (right >> bits) + 1)
    )
    return tuple((corner << 2 * bits, ((corner + 1) << 2 * bits) - 1) for corner in corners)
