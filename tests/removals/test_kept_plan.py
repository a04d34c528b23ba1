"""A plan goes into the database as plain data and comes back as the trade's own types."""

import json

import pytest

from removals import felling, kept_plan
from removals.felling_input import Health, Refusal, Wedges
from removals.felling_steps import steps
from removals.ground_steps import ground_steps
from tests.removals.builders import inputs

PLANS = {
    "with a line": inputs(),
    "with wedges": inputs(pull_n=None, wedges=Wedges(rated_n=50_000.0)),
    "outside the method": inputs(health=Health(genus="Fraxinus", refusals=(Refusal.CRACK, Refusal.SNOW))),
}


@pytest.fixture(params=PLANS.values(), ids=PLANS.keys())
def inp(request):
    return request.param


def through_json(inp):
    kept = kept_plan.computed(inp, ["Upright."], {"lean_deg": 0.0})
    return json.loads(json.dumps({"inputs": kept.inputs, "results": kept.results}))


def test_input_result_and_steps_come_back_as_they_were(inp):
    kept, result = through_json(inp), felling.plan(inp)
    assert kept_plan.read_input(kept["inputs"]) == inp
    assert kept_plan.read_result(kept["results"]) == result
    assert kept_plan.read_steps(kept["results"]) == (*steps(inp, result), *ground_steps(inp, result))


def test_what_was_entered_stays_beside_the_input(inp):
    assert through_json(inp)["inputs"]["entered"] == {"lean_deg": 0.0}


def test_the_digest_covers_input_assumptions_and_what_was_entered():
    def digest(inp=PLANS["with a line"], assumptions=(), entered=None):
        return kept_plan.computed(inp, assumptions, entered or {}).digest

    others = {digest(inputs(height_m=15.1)), digest(assumptions=["Upright."]), digest(entered={"lean_deg": 0.0})}
    assert digest() == digest()
    assert len(others | {digest()}) == 4
