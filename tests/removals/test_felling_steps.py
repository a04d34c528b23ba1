"""Every figure opens: the numbers in a step lead to the value that the plan prints."""

import re

import pytest

from removals.cut import NotchKind
from removals.felling import plan
from removals.felling_input import FellingInput, Refusal, Site, Wedges
from removals.felling_json import result_to_json
from removals.felling_steps import Step, steps
from tests.removals.felling_cases import STRAIGHT, tree, tree_with_health, tree_with_line

SITED = tree(site=Site(lay_deg=90.0))
UNITS = {"stem_behind_hinge_m": 0.01}


def opened(inp: FellingInput) -> dict[str, Step]:
    return {step.key: step for step in steps(inp, plan(inp))}


def last_number(text: str) -> float:
    return float(re.findall(r"= (−?[\d.]+)", text)[-1].replace("−", "-"))


FIGURES = [
    *("notch_depth_cm", "hinge_thickness_cm", "hinge_length_cm", "back_cut_cm", "back_cut_height_cm"),
    *("stem_behind_hinge_m", "green_mass_kg", "weight_n", "weight_moment_nm", "wind_force_n", "wind_moment_nm"),
    *("hinge_moment_nm", "line_angle_deg", "lever_arm_m", "needed_n", "stop_wind_ms", "drop_zone_m"),
]


@pytest.mark.parametrize("key", FIGURES)
def test_step_ends_in_the_printed_figure(key: str) -> None:
    printed = result_to_json(plan(SITED))[key]
    assert last_number(opened(SITED)[key].numbers) * UNITS.get(key, 1.0) == pytest.approx(printed, rel=6e-4)


def test_numbers_of_the_needed_tension_lead_to_it() -> None:
    numbers = opened(STRAIGHT)["needed_n"].numbers
    k, weight, wind, hinge, arm, needed = (float(each) for each in re.findall(r"\d+\.?\d*", numbers)[1:])
    assert k * (weight + wind + hinge) / arm == pytest.approx(needed, rel=1e-4)


def test_forward_lean_shows_what_helps() -> None:
    numbers = opened(tree(back_lean_m=-0.5))["needed_n"].numbers
    assert "− 4940.59" in numbers


def test_printed_stop_wind_is_opened_when_there_is_one() -> None:
    assert "stop_wind_printed_ms" not in opened(STRAIGHT)
    assert "/ 1.5" in opened(tree_with_line(6000.0))["stop_wind_printed_ms"].numbers


def test_no_stop_wind_is_opened_when_still_air_is_too_much() -> None:
    assert "stop_wind_ms" not in opened(tree(back_lean_m=0.9))


def test_retreat_bearings_are_opened_with_a_lay() -> None:
    assert "= 225°" in opened(SITED)["retreat_bearings_deg"].numbers
    assert "retreat_bearings_deg" not in opened(STRAIGHT)


def test_wedges_open_without_a_line() -> None:
    keys = opened(tree(line=None, wedges=Wedges(rated_n=1e5)))
    assert "line_angle_deg" not in keys
    assert "wedge" in keys["needed_n"].label


def test_open_face_says_why_its_back_cut_is_level() -> None:
    step = opened(tree(notch=NotchKind.OPEN_FACE, opening_deg=90.0))["back_cut_height_cm"]
    assert "level with the apex" in step.numbers


def test_refused_plan_opens_only_what_holds() -> None:
    keys = opened(tree(diameter_m=1.5, site=Site(zone_multiple=0.5)))
    assert list(keys) == ["green_mass_kg", "weight_n"]


def test_refused_weight_is_not_opened() -> None:
    palm = tree_with_health(refusals=(Refusal.PALM,))
    assert "green_mass_kg" not in opened(palm)
    assert "notch_depth_cm" in opened(palm)
