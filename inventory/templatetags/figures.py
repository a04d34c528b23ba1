"""Figures in the reader's unit: ``{{ tree.dbh_cm|diameter:units }}``. An absent figure is a dash."""

from collections.abc import Callable

from django import template

from inventory import units as u

register = template.Library()
ABSENT = "–"


def _shown(show: Callable[[float, u.Units], str]) -> Callable[[float | None, u.Units], str]:
    def figure(value: float | None, units: u.Units) -> str:
        return ABSENT if value is None else show(float(value), units)

    return figure


for _name, _show in {
    "diameter": u.diameter,
    "small_length": u.small_length,
    "distance": u.distance,
    "mass": u.mass,
    "force": u.force,
    "speed": u.speed,
    "volume": u.volume,
    "area": u.area,
    "crown_area": u.crown_area,
}.items():
    register.filter(_name, _shown(_show))
