"""Lines in the tree: what people, a winch or a known tension make of the pull and of its range."""

from collections.abc import Sequence
from dataclasses import dataclass

from removals.felling_input import Haul, PullLine
from removals.pull import DEFAULT_EFFORT, EFFORT_CAP, hand_pull_n, tackle_advantage

EFFORT_SPREAD = 0.20


@dataclass(frozen=True, slots=True, kw_only=True)
class Tackle:
    """What multiplies the pull on its way to the tree, each sheave with its efficiency."""

    parts: int = 1
    efficiency: float = 0.9
    redirects: int = 0

    @property
    def advantage(self) -> float:
        return tackle_advantage(self.parts, self.efficiency, self.redirects)


def line_by_force(pull_n: float, anchor_height_m: float, distance_m: float, puller_height_m: float = 0.0) -> PullLine:
    """A line of which only the tension at the tree is known: taken plus or minus 20 %, as for people."""
    return PullLine(
        anchor_height_m=anchor_height_m,
        distance_m=distance_m,
        puller_height_m=puller_height_m,
        pull_n=pull_n,
        pull_low_n=(1 - EFFORT_SPREAD) * pull_n,
        pull_high_n=(1 + EFFORT_SPREAD) * pull_n,
        largest_n=(1 + EFFORT_SPREAD) * pull_n,
    )


def line_by_people(
    body_masses_kg: Sequence[float],
    anchor_height_m: float,
    distance_m: float,
    *,
    tackle: Tackle,
    effort: float = DEFAULT_EFFORT,
    puller_height_m: float = 0.0,
    bearing_deg: float | None = None,
    redirect_legs_deg: float | None = None,
    working_load_limit_n: float | None = None,
) -> PullLine:
    """A line pulled by people; the largest tension is what they make at the cap of effort."""
    pull_n = hand_pull_n(body_masses_kg, effort) * tackle.advantage
    return PullLine(
        anchor_height_m=anchor_height_m,
        distance_m=distance_m,
        puller_height_m=puller_height_m,
        bearing_deg=bearing_deg,
        pull_n=pull_n,
        pull_low_n=(1 - EFFORT_SPREAD) * pull_n,
        pull_high_n=(1 + EFFORT_SPREAD) * pull_n,
        largest_n=hand_pull_n(body_masses_kg, EFFORT_CAP) * tackle.advantage,
        haul=Haul.HANDS,
        redirected=tackle.redirects > 0,
        redirect_legs_deg=redirect_legs_deg,
        working_load_limit_n=working_load_limit_n,
    )


def line_by_winch(
    stall_n: float,
    anchor_height_m: float,
    distance_m: float,
    *,
    tackle: Tackle,
    puller_height_m: float = 0.0,
    bearing_deg: float | None = None,
    redirect_legs_deg: float | None = None,
    working_load_limit_n: float | None = None,
) -> PullLine:
    """A line pulled by a winch with progress capture; `stall_n` is its pull where it stalls."""
    pull_n = stall_n * tackle.advantage
    return PullLine(
        anchor_height_m=anchor_height_m,
        distance_m=distance_m,
        puller_height_m=puller_height_m,
        bearing_deg=bearing_deg,
        pull_n=pull_n,
        pull_low_n=pull_n,
        pull_high_n=pull_n,
        largest_n=pull_n,
        haul=Haul.WINCH,
        redirected=tackle.redirects > 0,
        redirect_legs_deg=redirect_legs_deg,
        working_load_limit_n=working_load_limit_n,
    )
