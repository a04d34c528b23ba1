"""The place of a choice as a form in the address: it starts from what is stored of the spot, and can be told more."""

from __future__ import annotations

import math
from functools import partial
from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.http import HttpRequest

from inventory.context import units_of
from inventory.fields import InUnits, LengthField
from inventory.units import Units, distance
from replanting.diversity import mix
from replanting.filters import words
from replanting.fit import DEGREES, HEIGHTS, LIGHTS, MOISTURES, SPACE_RULES, Rules, Site
from replanting.models import ReplacementTask
from replanting.palette import SIZES, Request, Wishes
from replanting.pests import codes_of
from replanting.site import site_of_task
from replanting.stand import living_and_promised
from replanting.stock_work import stock_on_hand
from replanting.wires import WIRE_RULES

NOT_KNOWN = ("", "Not known")
NO_LINES, LINES = "none", "near"
SWING = "dry/wet"


def choice(label: str, choices: list[tuple[str, str]], **kwargs: Any) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=choices, required=False, **kwargs)


def length(label: str, **kwargs: Any) -> LengthField:
    return LengthField(label=label, store="m", maximum=1000, required=False, **kwargs)


class SiteForm(InUnits, forms.Form):
    """An empty field is a figure that is not known; the named rules are the city's choice among the published ones."""

    zone = forms.IntegerField(label="Hardiness zone", min_value=1, max_value=13, required=False)
    space = length("Growing space")
    lines = choice("Overhead lines", [NOT_KNOWN, (NO_LINES, "None"), (LINES, "There are lines")])
    lines_away = length("Distance to the lines")
    light = choice("Light", [NOT_KNOWN, *words(list(LIGHTS))])
    moisture = choice("Soil moisture", [NOT_KNOWN, *words(list(MOISTURES)), (SWING, "Swings from wet to dry")])
    ph = forms.FloatField(label="Soil pH", min_value=0, max_value=14, required=False)
    salt = choice("Salt from the road", [NOT_KNOWN, *words(list(DEGREES))])
    view = length("View: nothing higher than")
    watch = forms.CharField(label="Pests watched", required=False, max_length=400)
    size = choice("Size wanted", [("", "Any size"), *words(list(SIZES))])
    shade = forms.BooleanField(label="Shade wanted", required=False)
    wires_rule = choice("Rule for lines", [(rule.key, rule.name) for rule in WIRE_RULES.values()])
    space_rule = choice(
        "Rule for growing space",
        [(rule.key, f"{' / '.join(f'{ft:g}' for ft in rule.feet)} ft by size") for rule in SPACE_RULES.values()],
    )
    height = choice("Height compared", words(list(HEIGHTS)))
    q = forms.CharField(label="Name holds", max_length=80, required=False)

    def clean_watch(self) -> frozenset[str]:
        pests = [pest for pest in self.cleaned_data["watch"].split(",") if pest.strip()]
        try:
            return frozenset().union(*map(codes_of, pests))
        except ValueError as problem:
            raise ValidationError(str(problem)) from problem

    def site(self) -> Site:
        facts = self.cleaned_data
        away = {NO_LINES: math.inf, LINES: facts["lines_away"] or 0.0}.get(facts["lines"])
        return Site(
            zone=facts["zone"],
            space_m=facts["space"],
            wires_m=away,
            light=facts["light"],
            moisture=tuple(facts["moisture"].split("/")) if facts["moisture"] else (),
            ph=facts["ph"],
            salt=facts["salt"],
            view_m=facts["view"],
        )

    def rules(self) -> Rules:
        facts = self.cleaned_data
        return Rules(WIRE_RULES[facts["wires_rule"]], SPACE_RULES[facts["space_rule"]], facts["height"])


def stored(task: ReplacementTask) -> dict[str, Any]:
    """The form's first values: the spot as the removed tree left it, the city's watched pests, the default rules."""
    site, rules = site_of_task(task), Rules()
    return {
        "zone": site.zone,
        "space": site.space_m,
        "lines": "" if site.wires_m is None else NO_LINES if math.isinf(site.wires_m) else LINES,
        "light": site.light,
        "moisture": "/".join(site.moisture),
        "watch": ", ".join(settings.WATCHED_PESTS),
        "wires_rule": rules.wires.key,
        "space_rule": rules.space.key,
        "height": rules.height,
    }


def site_form(request: HttpRequest, task: ReplacementTask) -> SiteForm:
    """Bound: what is stored, and over it what the address says."""
    units = units_of(request)
    shown = SiteForm(initial=stored(task), units=units)
    return SiteForm({**{name: shown[name].value() for name in shown.fields}, **request.GET.dict()}, units=units)


def request_of(task: ReplacementTask, form: SiteForm, units: Units) -> Request:
    """What the palette is asked, from a valid form and the stands of today."""
    return Request(
        site=form.site(),
        city=mix(living_and_promised()),
        park=mix(living_and_promised(task.site_park)),
        watched=form.cleaned_data["watch"],
        wishes=Wishes(form.cleaned_data["size"], form.cleaned_data["shade"]),
        rules=form.rules(),
        length=partial(distance, units=units),
        stock=stock_on_hand(),
    )
