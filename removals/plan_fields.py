"""The fields of the felling plan's form, by chapter, and which of them are rarely needed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django import forms

from inventory.bounds import DBH_MAX_CM, HEIGHT_MAX_M, SPREAD_MAX_M
from inventory.fields import LengthField
from removals.cut import NotchKind
from removals.felling_input import Refusal
from removals.measured import FORCE, MASS, SPEED, MeasuredField
from removals.pull import SHEAVE_EFFICIENCY
from removals.tree_plan import PlumbPoint
from removals.weight import GROUP_NAMES

NOTCH_SHARES = ((0.20, "1/5 of the diameter"), (0.25, "1/4"), (1 / 3, "1/3"))
ZONES = ((2.0, "2 tree heights"), (2.5, "2.5 tree heights"), (3.0, "3 tree heights"))
PEOPLE, WINCH, WEDGES, NOTHING = "people", "winch", "wedges", "nothing"
MEANS = (
    (PEOPLE, "Pull line, people"),
    (WINCH, "Pull line, winch with progress capture"),
    (WEDGES, "Wedges or a jack"),
    (NOTHING, "Nothing: the tree leans the way it is to fall"),
)


def bearing(label: str, **kwargs: Any) -> forms.FloatField:
    widget = forms.NumberInput(attrs={"min": 0, "max": 360, "step": "any", "inputmode": "decimal"})
    kwargs.setdefault("help_text", "Degrees from true north; east is 90.")
    return forms.FloatField(label=label, min_value=0, max_value=360, widget=widget, **kwargs)


def number(label: str, low: float, high: float, **kwargs: Any) -> forms.FloatField:
    widget = forms.NumberInput(attrs={"min": low, "max": high, "step": "any", "inputmode": "decimal"})
    return forms.FloatField(label=label, min_value=low, max_value=high, widget=widget, **kwargs)


def length(label: str, store: str, maximum: float, **kwargs: Any) -> LengthField:
    return LengthField(label=label, store=store, maximum=maximum, required=kwargs.pop("required", False), **kwargs)


class TreeFields(forms.Form):
    """The tree as it stands."""

    dbh_cm = length("Diameter at breast height", "cm", DBH_MAX_CM, minimum=1, required=True)
    diameter_at_cut_cm = length(
        "Diameter at the cut, inside bark", "cm", DBH_MAX_CM, minimum=1, help_text="Empty: taken from breast height."
    )
    height_m = length("Height", "m", HEIGHT_MAX_M, minimum=3, required=True)
    crown_spread_m = length("Crown spread", "m", SPREAD_MAX_M, help_text="Empty: half of the height.")
    crown_base_m = length("Lowest branches of the crown", "m", HEIGHT_MAX_M, help_text="Empty: 0.3 of the height.")
    species_group = forms.ChoiceField(
        label="Species group for the weight",
        choices=[("", "not known"), *((name, name) for name in GROUP_NAMES)],
        required=False,
    )
    green_mass_kg = MeasuredField(
        MASS,
        maximum=200_000,
        minimum=1,
        required=False,
        label="Green weight, if known",
        help_text="Wins over the group.",
    )
    leafless = forms.BooleanField(label="Without leaves", required=False)
    frozen = forms.BooleanField(label="The wood is frozen", required=False)
    dead = forms.BooleanField(label="The tree is dead", required=False)
    dead_since = forms.DateField(
        label="Dead since",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text="Unknown counts as too long.",
    )
    dieback_pct = number("Crown dieback, %", 0, 100, required=False)
    sound_shell_cm = length(
        "Sound shell at the cut, thinnest",
        "cm",
        DBH_MAX_CM / 2,
        help_text="Empty: taken as sound; sound it before work.",
    )
    hinge_decayed = forms.BooleanField(label="There is decay where the hinge will be", required=False)
    refusals = forms.MultipleChoiceField(
        label="Seen on this tree or over it",
        choices=[(each.value, each.value.capitalize()) for each in Refusal],
        required=False,
        widget=forms.CheckboxSelectMultiple(attrs={"class": "choices--across"}),
        help_text="Each of these takes the tree out of the method.",
    )


class LeanFields(forms.Form):
    """By clinometer or by plumb line."""

    lean_deg = number("Lean by clinometer, degrees", 0, 45, required=False, help_text="0: measured, and upright.")
    lean_toward_deg = bearing("Leans towards", required=False)
    plumb_offset_m = length("Or plumbed: offset from the stem at the cut", "m", 30)
    plumb_height_m = length("Height of the plumbed point", "m", HEIGHT_MAX_M)
    plumb_point = forms.ChoiceField(
        label="Which point was plumbed", choices=[(point.value, point.value) for point in PlumbPoint], required=False
    )


class CutFields(forms.Form):
    """Notch, hinge and where the cut is made."""

    notch = forms.ChoiceField(
        label="Notch",
        choices=[(kind.value, kind.value.capitalize()) for kind in NotchKind],
        initial=NotchKind.OPEN_FACE.value,
        widget=forms.RadioSelect(attrs={"class": "choices--across"}),
    )
    notch_share = forms.TypedChoiceField(label="Notch depth", coerce=float, choices=NOTCH_SHARES, initial=0.25)
    opening_deg = number(
        "Opening, degrees", 1, 120, required=False, help_text="Empty: 90 for an open face, 60 for the others."
    )
    hinge_pct = number(
        "Hinge thickness, % of the diameter", 1, 40, initial=10, help_text="A thicker hinge needs more pull."
    )
    cut_height_m = length("Height of the cut", "m", 3, minimum=0.05, required=True, initial=0.8)
    bored_back_cut = forms.BooleanField(label="Bored back cut with a holding strap", required=False)


class PlaceFields(forms.Form):
    """The lay, the ground, the wires and the wind."""

    lay_deg = bearing("Lay: the bearing it is to fall on")
    declination_deg = number(
        "Magnetic declination, degrees east", -180, 180, required=False, help_text="To print the compass bearing too."
    )
    zone_multiple = forms.TypedChoiceField(label="Drop zone for people", coerce=float, choices=ZONES, initial=2.0)
    clear_length_m = length("Clear length along the lay", "m", 500)
    slope_pct = number("Slope, %", 0, 200, initial=0)
    downhill_deg = bearing("Downhill is towards", required=False)
    wire_distance_m = length("Nearest wire, from the stump", "m", 1000, help_text="Empty: none in sight.")
    wire_gap_m = length("Nearest wire, from crown, line or tools", "m", 1000)
    wire_kv = number("Its voltage, kV", 0, 1500, required=False)
    gust_ms = MeasuredField(
        SPEED, maximum=60, required=False, label="Gust planned for", help_text="Empty: 5 m/s (11 mph) is planned for."
    )
    wind_from_deg = bearing(
        "Wind comes from", required=False, help_text="Degrees from true north. Empty: counted fully against and across."
    )


class PullFields(forms.Form):
    """What brings the tree over."""

    means = forms.ChoiceField(label="Brought over by", choices=MEANS, initial=PEOPLE, widget=forms.RadioSelect())
    anchor_height_m = length("Line tied at", "m", HEIGHT_MAX_M, help_text="Empty: two thirds of the height.")
    line_distance_m = length(
        "From the stump to the pullers or the block", "m", 500, minimum=1, help_text="Empty: 1.5 tree heights."
    )
    line_bearing_deg = bearing(
        "Bearing of the pullers or the block",
        required=False,
        help_text="Degrees from true north, seen from the stump. Empty: along the lay.",
    )
    puller_level_m = length("Pullers stand higher or lower than the stump by", "m", 50, help_text="Empty: level.")
    puller_side = forms.ChoiceField(label="Which", choices=[("lower", "lower"), ("higher", "higher")], required=False)
    people = forms.IntegerField(label="People on the line", min_value=1, max_value=20)
    person_kg = MeasuredField(
        MASS,
        maximum=200,
        minimum=30,
        required=False,
        label="Weight of one, on average",
        help_text="Empty: 80 kg (176 lb).",
    )
    winch_n = MeasuredField(FORCE, maximum=500_000, minimum=100, label="Winch stalls at")
    parts = forms.IntegerField(label="Mechanical advantage of the tackle", min_value=1, max_value=9, initial=1)
    sheave = forms.ChoiceField(label="Sheaves", choices=[(name, name) for name in SHEAVE_EFFICIENCY])
    redirects = forms.IntegerField(label="Redirect blocks", min_value=0, max_value=5, initial=0)
    redirect_legs_deg = number("Angle between the legs at the redirect, degrees", 0, 180, required=False)
    working_load_limit_n = MeasuredField(
        FORCE, maximum=1_000_000, minimum=100, required=False, label="Working load limit of line and gear"
    )
    wedge_n = MeasuredField(FORCE, maximum=2_000_000, minimum=100, label="Wedges or jack rated for")
    stacked = forms.BooleanField(label="Wedges are stacked", required=False)


@dataclass(frozen=True)
class Chapter:
    """Fields under one heading; ``more`` folds away what is rarely needed."""

    heading: str
    first: tuple[str, ...]
    more: tuple[str, ...]


CHAPTERS = (
    Chapter(
        "The tree",
        (
            *("dbh_cm", "diameter_at_cut_cm", "height_m", "crown_spread_m", "species_group"),
            *("sound_shell_cm", "dieback_pct", "dead_since", "leafless", "dead", "hinge_decayed", "refusals"),
        ),
        ("crown_base_m", "green_mass_kg", "frozen"),
    ),
    Chapter("Its lean", ("lean_deg", "lean_toward_deg"), ("plumb_offset_m", "plumb_height_m", "plumb_point")),
    Chapter("The cut", ("notch", "notch_share", "hinge_pct", "cut_height_m"), ("opening_deg", "bored_back_cut")),
    Chapter(
        "The place and the wind",
        ("lay_deg", "zone_multiple", "wire_distance_m", "gust_ms", "wind_from_deg", "slope_pct", "downhill_deg"),
        ("declination_deg", "clear_length_m", "wire_gap_m", "wire_kv"),
    ),
    Chapter(
        "What brings it over",
        (
            *("means", "people", "person_kg", "winch_n", "wedge_n", "stacked"),
            *("anchor_height_m", "line_distance_m", "line_bearing_deg", "working_load_limit_n"),
        ),
        ("parts", "sheave", "redirects", "redirect_legs_deg", "puller_level_m", "puller_side"),
    ),
)
LINE = "means--people means--winch"
# Which fields belong to which means; the style sheet hides those of the others.
SHOWN_WITH = {
    **dict.fromkeys(("people", "person_kg"), "means--people"),
    "winch_n": "means--winch",
    **dict.fromkeys(("wedge_n", "stacked"), "means--wedges"),
    **dict.fromkeys(("anchor_height_m", "line_distance_m", "line_bearing_deg", "working_load_limit_n"), LINE),
    **dict.fromkeys(("parts", "sheave", "redirects", "redirect_legs_deg", "puller_level_m", "puller_side"), LINE),
}
