"""The felling plan as a form: what was measured and what is chosen, turned into the trade's own types."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils import timezone

from hazards.models import Inspection
from inventory.models import Porosity, Tree
from removals.cut import NotchKind
from removals.felling_input import COM_SHARE_OF_HEIGHT, PullLine, Refusal, Site, Wedges
from removals.learning import steering_default
from removals.lines import Tackle, line_by_people, line_by_winch
from removals.measured import InAllUnits
from removals.models import FellingPlan
from removals.plan_fields import (
    CHAPTERS,
    PEOPLE,
    SHOWN_WITH,
    WEDGES,
    WINCH,
    CutFields,
    LeanFields,
    PlaceFields,
    PullFields,
    TreeFields,
)
from removals.pull import SHEAVE_EFFICIENCY
from removals.tree_plan import (
    Choices,
    Lean,
    PlumbPoint,
    StandingTree,
    default_anchor_height_m,
    default_line_distance_m,
)
from removals.weight import GROUP_NAMES

DAYS_A_MONTH = 365.25 / 12
USUAL_OPENING_DEG = {NotchKind.OPEN_FACE: 90.0, NotchKind.CONVENTIONAL: 60.0, NotchKind.HUMBOLDT: 60.0}
ASSUMED_PERSON_KG = 80.0
NEEDED = {PEOPLE: "people", WINCH: "winch_n", WEDGES: "wedge_n"}


@dataclass(frozen=True)
class ShownField:
    field: forms.BoundField
    shown_with: str


@dataclass(frozen=True)
class ShownChapter:
    """A chapter on the page; ``unfolded``: something in its fold is filled in or to be mended."""

    heading: str
    first: tuple[ShownField, ...]
    more: tuple[ShownField, ...]
    unfolded: bool


class FellingPlanForm(InAllUnits, PullFields, PlaceFields, CutFields, LeanFields, TreeFields):
    """The whole of it. `standing_tree` and `choices` are what `tree_plan.plan_for_tree` takes; `entered` is kept."""

    def __init__(self, *args: Any, tree: Tree, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.tree = tree
        if self.is_bound:
            self._ask_only_for(self.data.get(self.add_prefix("means"), ""))

    def _ask_only_for(self, means: str) -> None:
        """Of the fields that a means needs, those of the others may stay empty."""
        for of_means, name in NEEDED.items():
            self.fields[name].required = of_means == means

    def chapters(self) -> list[ShownChapter]:
        return [
            ShownChapter(
                each.heading, self._fields(each.first), self._fields(each.more), any(map(self._speaks, each.more))
            )
            for each in CHAPTERS
        ]

    def _fields(self, names: tuple[str, ...]) -> tuple[ShownField, ...]:
        return tuple(ShownField(self[name], SHOWN_WITH.get(name, "")) for name in names)

    def _speaks(self, name: str) -> bool:
        """A field with an error, or with another value than an empty form has."""
        return name in self.errors or str(self[name].value() or "") not in ("", str(_untouched(self.fields[name])))

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        self._clean_heights(data)
        self._clean_lean(data)
        if data.get("dead_since") and data["dead_since"] > timezone.localdate():
            self.add_error("dead_since", "That day lies in the future.")
        return data

    def _clean_heights(self, data: dict[str, Any]) -> None:
        height_m, cut_m = data.get("height_m"), data.get("cut_height_m")
        if height_m is None or cut_m is None:
            return
        if cut_m >= COM_SHARE_OF_HEIGHT * height_m:
            self.add_error("cut_height_m", "The cut must be below the tree's centre of mass, 0.45 of its height.")
        if (data.get("crown_base_m") or 0) >= height_m:
            self.add_error("crown_base_m", "The crown begins below the top of the tree.")
        anchor_m = data.get("anchor_height_m")
        if anchor_m is not None and not cut_m < anchor_m <= height_m:
            self.add_error("anchor_height_m", "The line is tied above the cut and below the top of the tree.")

    def _clean_lean(self, data: dict[str, Any]) -> None:
        offset_m, at_m = data.get("plumb_offset_m"), data.get("plumb_height_m")
        if offset_m is None:
            return
        if data.get("lean_deg") is not None:
            self.add_error("plumb_offset_m", "Give the lean by clinometer or by plumb line, not both.")
        if at_m is None or at_m <= (data.get("cut_height_m") or 0):
            self.add_error("plumb_height_m", "Give the height of the plumbed point, above the cut.")

    def standing_tree(self) -> StandingTree:
        data = self.cleaned_data
        return StandingTree(
            dbh_cm=data["dbh_cm"],
            height_m=data["height_m"],
            botanical=self.tree.species.botanical if self.tree.species else "",
            species_group=data["species_group"] or None,
            crown_spread_m=data["crown_spread_m"],
            crown_base_m=data["crown_base_m"],
            diameter_at_cut_cm=data["diameter_at_cut_cm"],
            green_mass_kg=data["green_mass_kg"],
            lean=self._lean(),
            leafless=data["leafless"],
            dead=data["dead"],
            months_dead=self._months_dead(),
            dieback_share=None if data["dieback_pct"] is None else data["dieback_pct"] / 100,
            sound_shell_share=self._sound_shell_share(),
            hinge_decayed=data["hinge_decayed"],
            frozen=data["frozen"],
            refusals=tuple(Refusal(each) for each in data["refusals"]),
        )

    def choices(self) -> Choices:
        data = self.cleaned_data
        notch = NotchKind(data["notch"])
        return Choices(
            notch=notch,
            notch_share=data["notch_share"],
            opening_deg=USUAL_OPENING_DEG[notch] if data["opening_deg"] is None else data["opening_deg"],
            hinge_share=data["hinge_pct"] / 100,
            cut_height_m=data["cut_height_m"],
            bored_back_cut=data["bored_back_cut"],
            gust_ms=data["gust_ms"],
            wind_from_deg=data["wind_from_deg"],
            line=self._line(),
            wedges=Wedges(rated_n=data["wedge_n"], stacked=data["stacked"]) if data["means"] == WEDGES else None,
            site=self._site(),
        )

    def entered(self) -> dict[str, Any]:
        """What was typed, for the record and for the next plan's form: only what was filled in, as JSON can hold it."""
        filled = {name: value for name, value in self.cleaned_data.items() if value not in (None, "", [])}
        return {name: value.isoformat() if isinstance(value, dt.date) else value for name, value in filled.items()}

    def _lean(self) -> Lean | None:
        data = self.cleaned_data
        if data["lean_deg"] is not None:
            return Lean(toward_deg=data["lean_toward_deg"], degrees=data["lean_deg"])
        if data["plumb_offset_m"] is None:
            return None
        return Lean(
            toward_deg=data["lean_toward_deg"],
            plumb_offset_m=data["plumb_offset_m"],
            plumb_height_m=data["plumb_height_m"],
            plumb_point=PlumbPoint(data["plumb_point"] or PlumbPoint.OTHER),
        )

    def _months_dead(self) -> float | None:
        since = self.cleaned_data["dead_since"]
        return None if since is None else (timezone.localdate() - since).days / DAYS_A_MONTH

    def _sound_shell_share(self) -> float | None:
        data = self.cleaned_data
        if data["sound_shell_cm"] is None:
            return None
        radius_cm = (data["diameter_at_cut_cm"] or data["dbh_cm"]) / 2
        return float(min(1.0, data["sound_shell_cm"] / radius_cm))

    def _line(self) -> PullLine | None:
        data = self.cleaned_data
        if data["means"] not in (PEOPLE, WINCH):
            return None
        tackle = Tackle(parts=data["parts"], efficiency=SHEAVE_EFFICIENCY[data["sheave"]], redirects=data["redirects"])
        height_m, level_m = data["height_m"], data["puller_level_m"] or 0.0
        where: dict[str, Any] = {
            "anchor_height_m": data["anchor_height_m"] or default_anchor_height_m(height_m),
            "distance_m": data["line_distance_m"] or default_line_distance_m(height_m),
            "puller_height_m": level_m if data["puller_side"] == "higher" else -level_m,
            "bearing_deg": data["line_bearing_deg"],
            "redirect_legs_deg": data["redirect_legs_deg"],
            "working_load_limit_n": data["working_load_limit_n"],
            "tackle": tackle,
        }
        if data["means"] == WINCH:
            return line_by_winch(data["winch_n"], **where)
        return line_by_people([data["person_kg"] or ASSUMED_PERSON_KG] * data["people"], **where)

    def _site(self) -> Site:
        names = (
            *("lay_deg", "zone_multiple", "declination_deg", "slope_pct", "downhill_deg"),
            *("clear_length_m", "wire_distance_m", "wire_gap_m", "wire_kv"),
        )
        return Site(steering_error_deg=steering_default(), **{name: self.cleaned_data[name] for name in names})


def _untouched(field: forms.Field) -> Any:
    """What a field holds that nobody has touched: a list of choices its first one."""
    if field.initial is None and isinstance(field, forms.ChoiceField):
        choices: Any = field.choices
        return next(iter(choices))[0]
    return field.initial


def prefilled(tree: Tree, earlier: FellingPlan | None) -> dict[str, Any]:
    """What the inventory knows of the tree, and over it what was entered for the plan before."""
    species = tree.species
    known = {
        "dbh_cm": tree.dbh_cm,
        "height_m": tree.height_m,
        "crown_spread_m": tree.crown_spread_m,
        "species_group": species.jenkins_group if species and species.jenkins_group in GROUP_NAMES else "",
        "dead": tree.is_dead,
        "dead_since": tree.dead_since,
        "dieback_pct": _latest_dieback(tree),
        "refusals": _known_refusals(tree),
    }
    return {**known, **(earlier.inputs.get("entered", {}) if earlier else {})}


def _known_refusals(tree: Tree) -> list[str]:
    several = [Refusal.SEVERAL_STEMS.value] if len(tree.stems_cm) > 1 else []
    palm = [Refusal.PALM.value] if tree.species and tree.species.porosity == Porosity.NONE else []
    return several + palm


def _latest_dieback(tree: Tree) -> int | None:
    return Inspection.objects.filter(tree=tree).order_by("-observed_at").values_list("dieback_pct", flat=True).first()
