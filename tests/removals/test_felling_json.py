import io
import json
import math
from typing import Any

import pytest
from django.core.management import call_command

from removals.felling import plan
from removals.felling_input import FellingInput
from removals.felling_json import input_from_json, result_to_json
from tests.removals.felling_cases import json_tree, json_without

OUT_KEYS = [
    "notch_depth_cm",
    "hinge_thickness_cm",
    "hinge_length_cm",
    "back_cut_cm",
    "back_cut_height_cm",
    "green_mass_kg",
    "weight_n",
    "stem_behind_hinge_m",
    "weight_moment_nm",
    "wind_force_n",
    "wind_moment_nm",
    "hinge_moment_nm",
    "line_angle_deg",
    "lever_arm_m",
    "needed_n",
    "available_n",
    "stop_wind_ms",
    "stop_wind_printed_ms",
    "verdict",
    "reasons",
    "drop_zone_m",
    "retreat_bearings_deg",
]
FORCE_KEYS = OUT_KEYS[8:15]
CUT_KEYS = [*OUT_KEYS[:5], "stem_behind_hinge_m"]
OPTIONAL = ("green_mass_kg", "lay_deg")


def errors_of(data: object) -> list[str]:
    errors = input_from_json(data)
    assert isinstance(errors, list)
    return errors


def figures(data: dict[str, Any]) -> dict[str, Any]:
    inp = input_from_json(data)
    assert isinstance(inp, FellingInput), inp
    return json.loads(json.dumps(result_to_json(plan(inp)), allow_nan=False))


def test_keys_are_exactly_the_named_ones() -> None:
    assert list(figures(json_tree())) == OUT_KEYS


def test_figures_of_the_invented_tree() -> None:
    result = figures(json_tree())
    assert result["notch_depth_cm"] == pytest.approx(12.0)
    assert result["hinge_thickness_cm"] == pytest.approx(3.6)
    assert result["back_cut_cm"] == pytest.approx(20.4)
    assert result["back_cut_height_cm"] == pytest.approx(3.6)
    assert result["available_n"] == 2000.0
    assert result["drop_zone_m"] == 30.0
    assert result["retreat_bearings_deg"] == [225.0, 315.0]
    assert result["verdict"] == "marginal"


@pytest.mark.parametrize("key", [key for key in json_tree() if key not in OPTIONAL])
def test_every_missing_field_is_named(key: str) -> None:
    (error,) = errors_of(json_without(key))
    assert error.startswith(f"{key} is missing")


@pytest.mark.parametrize("key", [key for key in json_tree() if key != "notch"])
@pytest.mark.parametrize("value", ["36", True, [36], float("nan"), float("inf"), 10**400])
def test_what_is_no_number_is_named(key: str, value: object) -> None:
    (error,) = errors_of(json_tree(**{key: value}))
    assert error.startswith(f"{key} must be a number")


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("diameter_cm", 0),
        ("height_m", -1),
        ("height_m", 131),
        ("crown_spread_m", -1),
        ("crown_base_m", -1),
        ("crown_base_m", 15),
        ("green_mass_kg", 0),
        ("moisture_pct", -1),
        ("notch_share", 0),
        ("opening_deg", 0),
        ("opening_deg", 181),
        ("hinge_share", 0),
        ("cut_height_m", -0.1),
        ("mor_mpa", 0),
        ("wind_ms", -1),
        ("crown_area_m2", -1),
        ("drag", -0.1),
        ("crown_centre_m", 15.1),
        ("crown_centre_m", 0.8),
        ("anchor_height_m", 15.1),
        ("anchor_height_m", 0.8),
        ("anchor_distance_m", 0),
        ("pull_n", -1),
        ("design_factor", 0.9),
        ("com_height_m", 0.7),
        ("com_height_m", 15),
        ("puller_height_m", 200),
        ("lay_deg", 361),
        ("zone_multiple", 0),
        ("notch", "v-cut"),
        ("notch", 3),
        ("species_group", "bamboo"),
        ("species_group", 7),
        ("height_cm", 1500),
    ],
)
def test_what_is_impossible_is_named_once(key: str, value: object) -> None:
    (error,) = errors_of(json_tree(**{key: value}))
    assert error.startswith(f"{key} is ")
    assert error.endswith(".")


def test_notch_and_hinge_must_leave_a_back_cut() -> None:
    assert errors_of(json_tree(notch_share=0.6, hinge_share=0.4)) == [
        "notch_share and hinge_share leave nothing for the back cut."
    ]


def test_cut_above_the_tree_is_impossible() -> None:
    assert any(error.startswith("cut_height_m") for error in errors_of(json_tree(cut_height_m=15)))


@pytest.mark.parametrize("data", [[], "tree", 3, None])
def test_anything_but_an_object_is_refused(data: object) -> None:
    assert errors_of(data) == ["The input must be one JSON object."]


def test_without_a_mass_the_group_and_moisture_are_needed() -> None:
    keys = [error.split()[0] for error in errors_of(json_without("green_mass_kg"))]
    assert keys == ["species_group", "moisture_pct"]


def test_mass_from_the_species_group_and_moisture() -> None:
    result = figures({**json_without("green_mass_kg"), "species_group": "Mixed hardwood", "moisture_pct": 60})
    expected_kg = 1.6 * math.exp(-2.48) * 36**2.4835
    assert result["green_mass_kg"] == pytest.approx(expected_kg)


def test_entered_mass_wins_over_the_group() -> None:
    assert figures(json_tree(species_group="pine", moisture_pct=90))["green_mass_kg"] == 1100.0


def test_beyond_the_largest_stem_the_estimate_is_named() -> None:
    big = {**json_without("green_mass_kg"), "species_group": "mixed hardwood", "moisture_pct": 75, "diameter_cm": 80}
    assert any("form-factor" in reason for reason in figures({**big, "pull_n": 9000})["reasons"])


@pytest.mark.parametrize(
    ("changes", "null_too"),
    [
        ({"diameter_cm": 14}, CUT_KEYS),
        ({"height_m": 41, "anchor_distance_m": 60}, []),
        ({"notch_share": 0.35}, CUT_KEYS),
        ({"opening_deg": 44}, CUT_KEYS),
        ({"wind_ms": 9.5}, []),
        ({"back_lean_m": 1.1}, []),
        ({"side_lean_m": 1.1}, []),
        ({"anchor_distance_m": 8}, []),
        ({"zone_multiple": 0.8}, ["drop_zone_m"]),
    ],
)
def test_outside_the_bounds_the_figures_that_do_not_hold_are_null(changes: dict[str, Any], null_too: list[str]) -> None:
    result = figures(json_tree(**changes))
    assert result["verdict"] == "outside the method"
    assert result["reasons"]
    expected = {*FORCE_KEYS, "stop_wind_ms", "stop_wind_printed_ms", *null_too}
    assert {key for key, value in result.items() if value is None} == expected


def test_no_lay_no_retreat_bearings() -> None:
    assert figures(json_without("lay_deg"))["retreat_bearings_deg"] is None


def test_wider_zone_and_lower_puller() -> None:
    result = figures(json_tree(zone_multiple=2.5, puller_height_m=-2))
    assert result["drop_zone_m"] == 37.5
    assert result["line_angle_deg"] > figures(json_tree())["line_angle_deg"]


def test_no_line_is_null_for_both_ends_and_no_pull() -> None:
    result = figures(json_tree(anchor_height_m=None, anchor_distance_m=None, pull_n=0))
    assert result["verdict"] == "not adequate"
    assert (result["line_angle_deg"], result["lever_arm_m"], result["needed_n"]) == (None, None, None)
    assert result["weight_moment_nm"] == pytest.approx(453.067, rel=1e-5)


def test_a_pull_without_a_line_is_incomplete() -> None:
    errors = errors_of(json_tree(anchor_height_m=None, anchor_distance_m=None))
    assert [error.split()[0] for error in errors] == ["anchor_height_m", "anchor_distance_m"]


def test_half_a_line_is_incomplete() -> None:
    (error,) = errors_of(json_tree(anchor_height_m=None, pull_n=0))
    assert error == "anchor_height_m is missing."


def test_no_pull_on_a_line_is_not_adequate() -> None:
    result = figures(json_tree(pull_n=0))
    assert (result["verdict"], result["available_n"], result["stop_wind_ms"]) == ("not adequate", 0.0, None)


@pytest.mark.parametrize("drag", [0.4, 0.18, 0.95])
def test_entered_drag_lies_within_its_range(drag: float) -> None:
    inp = input_from_json(json_tree(drag=drag))
    assert isinstance(inp, FellingInput)
    assert inp.drag_low <= drag <= inp.drag_high


def run(text: str, monkeypatch: pytest.MonkeyPatch) -> tuple[str, str, int]:
    out, err = io.StringIO(), io.StringIO()
    monkeypatch.setattr("sys.stdin", io.StringIO(text))
    try:
        call_command("felling_plan", "--json", stdout=out, stderr=err)
    except SystemExit as end:
        return out.getvalue(), err.getvalue(), int(str(end.code))
    return out.getvalue(), err.getvalue(), 0


def test_command_prints_the_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    out, err, status = run(json.dumps(json_tree()), monkeypatch)
    assert (json.loads(out)["needed_n"], err, status) == (pytest.approx(1544.92, rel=1e-5), "", 0)


def test_command_ends_well_outside_the_method(monkeypatch: pytest.MonkeyPatch) -> None:
    out, _, status = run(json.dumps(json_tree(height_m=60)), monkeypatch)
    assert (json.loads(out)["verdict"], status) == ("outside the method", 0)


def test_command_names_each_field_on_standard_error_and_exits_with_2(monkeypatch: pytest.MonkeyPatch) -> None:
    out, err, status = run(json.dumps({**json_without("drag"), "height_m": "tall"}), monkeypatch)
    assert (out, status) == ("", 2)
    assert err.splitlines() == ["height_m must be a number, not 'tall'.", "drag is missing."]


def test_command_refuses_what_is_no_json(monkeypatch: pytest.MonkeyPatch) -> None:
    _, err, status = run("diameter 36", monkeypatch)
    assert status == 2
    assert err.startswith("Standard input is not JSON")


def test_command_refuses_what_is_nested_beyond_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    _, err, status = run("[" * 100_000, monkeypatch)
    assert status == 2
    assert err.startswith("Standard input is not JSON")
