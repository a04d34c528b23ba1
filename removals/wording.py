"""Figures as words, each length, force and mass in both units, for the sentences of a plan."""

from inventory.units import CM_PER_IN, M_PER_FT, Units
from inventory.units import force as force_in
from inventory.units import mass as mass_in
from inventory.units import speed as speed_in


def length(metres: float) -> str:
    if abs(metres) < 1:
        return f"{metres * 100:.3g} cm ({metres * 100 / CM_PER_IN:.3g} in)"
    return f"{metres:.3g} m ({metres / M_PER_FT:.3g} ft)"


def force(newtons: float) -> str:
    return f"{force_in(newtons, Units.METRIC)} ({force_in(newtons, Units.US)})"


def mass(kilograms: float) -> str:
    return f"{mass_in(kilograms, Units.METRIC)} ({mass_in(kilograms, Units.US)})"


def speed(metres_per_second: float) -> str:
    return f"{speed_in(metres_per_second, Units.METRIC)} ({speed_in(metres_per_second, Units.US)})"


def degrees(angle_deg: float) -> str:
    return f"{angle_deg:.3g}°"


def percent(share: float) -> str:
    return f"{share * 100:.3g} %"


def off_lay(off_deg: float) -> str:
    """How far a bearing lies from the lay; a positive angle is to its right."""
    return f"{abs(off_deg):.3g}° to the {'right' if off_deg > 0 else 'left'} of the lay"
