"""How a felling went, as the crew tells and measures it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Went:
    """None is what nobody saw or measured; ``actual_lay_deg`` is the bearing of the stem on the ground, true north."""

    as_planned: bool = True
    hinge_held: bool | None = None
    actual_lay_deg: float | None = None
    hung_up: bool = False
    near_miss: str = ""
    diameter_cm: float | None = None
    height_m: float | None = None


def contradictions(went: Went, direction_error_deg: float | None, steering_error_deg: float) -> tuple[str, ...]:
    """What cannot be “as planned”: a hang-up, a hinge that broke early, or a fall beyond the plan's steering error."""
    if not went.as_planned:
        return ()
    said = (
        "It hung up" if went.hung_up else "",
        "The hinge did not hold" if went.hinge_held is False else "",
        f"It fell {abs(direction_error_deg):.0f}° off the lay"
        if direction_error_deg is not None and abs(direction_error_deg) > steering_error_deg
        else "",
    )
    return tuple(f"{each}: report it as gone otherwise than planned." for each in said if each)
